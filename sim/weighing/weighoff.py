"""Weigh-off as the shop does it: masses on the key front, wind on and wind off, by statics and by laying them on.

Down-weight: the smallest load that takes the key from rest through the pluck, until the pallet stands open by half a
millimetre at the eye; of several pallets that the key opens, until the last one does, and the large piece of a relief
pallet at its joint. Hold weight: the smallest load that keeps the pressed key on its bottom felt. Up-weight: the
largest load that the key lifts from the bottom until every pallet seats; from there on it hangs in its play. A pallet
that never opens has neither down-weight nor up-weight, and so has one that stands open unplayed.
"""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from keyaction.cases.action.case import Case
from keyaction.cases.action.strokes import Strokes, usual_strokes
from keyaction.models.algebra.names import Name
from keyaction.models.fields.values import Given
from keyaction.models.notes import is_sharp
from keyaction.models.parts.common import GRAVITY
from keyaction.models.train.train import PartProblem, Train, TrainProblem, build_train
from keyaction.models.units.quantity import format_value
from keyaction.sim.figures.play import NotPlayed, press_note, reason_of
from keyaction.sim.figures.record import Pressed
from keyaction.sim.figures.verdict import UNASKED, Fate, Verdict, verdict
from keyaction.sim.motion.drives import Drive, Piece, laid_mass, quintic
from keyaction.sim.motion.integrate import Motion
from keyaction.sim.motion.note import Model, NoteModel
from keyaction.sim.processes.tasks import TWICE, in_processes
from keyaction.sim.statics.balance import NoEquilibrium, OpenAtRest, RunsOff
from keyaction.sim.statics.press import DIP_FORCE, STIFFNESS, Course, StaticPress, press

OPENED, SEATED = 0.5e-3, 1e-9
"""m of gap at the eye: from which on the key is through the pluck, and below which the pallet has met its seat."""
LAYING, SLOWLY = 2.0, 8.0
"""s in which a mass is laid on or let go, and the same where it gathered speed."""
STAYS, AT_REST, LOOKED = (1.0, 4.0, 16.0), 2e-4, 0.2
"""s that a mass stays until it rests; m/s below which the key rests; s over which that is looked at."""
HEAVIEST = 5000
"""g at which the search for a mass ends."""
WORTH = 6
"""Notes for each process that is worth starting."""
CONTACT = 1e5
"""N/m between a mass and the key."""


@dataclass(frozen=True)
class Weights:
    """Down-weight, hold weight and up-weight, N at the key front.

    The first is NaN where no load opens the pallet, and where it stands open unplayed. The last is NaN where the pallet
    is on its seat with the key down, and where it is off it with the key at rest. Otherwise the last two are 0 where
    the key stays down by itself.
    """

    down: float
    hold: float
    up: float


NO_WEIGHTS = Weights(math.nan, math.nan, math.nan)


@dataclass(frozen=True)
class WeighOff:
    """The weigh-off of one note.

    Attributes
    ----------
    note : int
    on, off : Weights
        Wind on, wind off, by statics.
    laid_on, laid_off : Weights or None
        The same by laying masses on, to the gram.
    closing : float
        Closing margin of the pallet at zero wind, N at the eye.
    reasons : tuple of str
        Where the two differ by more than a gram, and why; why there are none with the wind off.
    failed : str
        Why the note could not be weighed; its weights are then NaN.
    verdict : Verdict
        What becomes of the note with the wind on; why weights that it does not have are NaN.
    stages : bool
        Whether the key opens several pallets, or pieces of one, so that down and up are read at different places.
    """

    note: int
    on: Weights
    off: Weights
    closing: float
    laid_on: Weights | None = None
    laid_off: Weights | None = None
    reasons: tuple[str, ...] = ()
    failed: str = ""
    verdict: Verdict = UNASKED
    stages: bool = False

    @property
    def friction(self) -> float:
        """(Down - up) / 2 with the wind off, N: both are read where the pallet leaves and meets its seat.

        NaN where the key stays down, as no load tells how far below nothing the up-weight lies, and where it opens one
        pallet after the other, as that between the two is then no friction.
        """
        return (self.off.down - self._lifted) / 2

    @property
    def spring_and_balance(self) -> float:
        """(Down + up) / 2 with the wind off, N: the spring and all weights of the train, without friction.

        NaN where the friction is.
        """
        return (self.off.down + self._lifted) / 2

    @property
    def _lifted(self) -> float:
        """The up-weight with the wind off where there is one, at the place of the down-weight."""
        return self.off.up if self.off.up > 0.0 and not self.stages else math.nan

    @property
    def wind(self) -> float:
        """Down-weight with the wind less that without, N: the wind and the friction that its load adds."""
        return self.on.down - self.off.down


def wind_off(train: Train) -> Train:
    """The same train, regulated as it is, in a box without wind."""
    for box in (part for part in train.parts if part.role == "box"):
        train = train.with_parameter(Name(box.name, "p_box"), 0.0, "wind off")
    return train


def closing_margin(train: Train) -> float:
    """What closes the pallet at zero wind, N at the eye: spring less weight less the break-away of its hinge."""
    pallet, spring = train.role("pallet").values.derived, train.role("spring").values.derived
    return (spring["M0"].value - pallet["B"].value - pallet["tau0"].value) / pallet["r_eye"].value


def by_statics(model: NoteModel) -> Weights:
    """The three weights from the note's equilibria.

    Raises
    ------
    keyaction.sim.statics.balance.NoEquilibrium
        When a path of equilibria breaks off.
    """
    return weights_of(press(model), opening_gaps(model))


def weights_of(found: StaticPress, names: Sequence[str]) -> Weights:
    """The three weights of a press that is known; `names` as of `opening_gaps`."""
    return Weights(_down(found, names), *_up(found, names))


def opening_gaps(model: Model) -> tuple[str, ...]:
    """Observables of all that opens under a key: the gap of every pallet, and of the large piece of one in two."""
    layout = model.kernel()
    return tuple(
        layout.seen_of(part.name, place)
        for part in model.train.parts
        if part.role == "pallet"
        for place, _ in part.part.stages
    )


def _gaps_of(course: Course | Motion, names: Sequence[str]) -> NDArray[np.float64]:
    """Some gaps of a course (gaps, N), m."""
    return np.stack([course[name] for name in names])


def _opened_by(found: StaticPress, names: Sequence[str]) -> list[str]:
    """Those of the gaps that the pressed key opens at all."""
    return [name for name in names if np.max(found.down[name]) >= OPENED]


def _down(found: StaticPress, names: Sequence[str]) -> float:
    names = _opened_by(found, names)
    if not names:  # it never opens
        return math.nan
    gaps, force = _gaps_of(found.down, names), found.down.force
    if np.max(gaps[:, 0]) >= OPENED:  # it stands open unplayed
        return math.nan
    gap = np.min(gaps, axis=0)
    through = np.flatnonzero(gap >= OPENED)
    if not len(through):
        return math.nan
    i = int(through[0])
    return float(max(np.max(force[:i]), np.interp(OPENED, gap[i - 1 : i + 1], force[i - 1 : i + 1])))


def _up(found: StaticPress, names: Sequence[str]) -> tuple[float, float]:
    """Hold weight and up-weight."""
    left = np.flatnonzero(found.up[found.bottom] <= SEATED)
    return float(found.up.force[left[0]]) if len(left) else 0.0, _lifted(found, left, names)


def _lifted(found: StaticPress, left: NDArray[np.int64], names: Sequence[str]) -> float:
    """The up-weight of a key that has left its bottom felt at these places of the way up."""
    gap = np.max(_gaps_of(found.up, names), axis=0)
    if gap[0] <= SEATED or np.max(_gaps_of(found.down, names)[:, 0]) > SEATED:  # there is no way from open to shut
        return math.nan
    seats = np.flatnonzero(gap <= SEATED)
    if not len(left) or not len(seats):
        return 0.0
    return float(np.min(found.up.force[min(left[0], seats[0]) : seats[0] + 1]))


# -- masses laid on ----------------------------------------------------------------------------------------
def let_go(mass: float, letting: float, stay: float = 1.0, down: float = 0.3, load: float = DIP_FORCE) -> Drive:
    """A mass (kg) on a key that is pressed to the bottom by `load` (N) and let go over `letting` seconds."""
    weight, held = mass * GRAVITY, 2 * down
    pressed = quintic(0.0, down, 0.0, weight + load)
    freed = quintic(held, held + letting, weight + load, weight)
    pieces = (
        Piece(0.0, down, force=pressed.way),
        Piece(down, held, force=(weight + load,)),
        Piece(held, freed.end, force=freed.way),
        Piece(freed.end, freed.end + stay, force=(weight,)),
    )
    return Drive("mass", pieces, CONTACT, mass=mass, marks=(("press", 0.0), ("lift", held), ("free", freed.end)))


def smallest(passes: Callable[[int], bool], near: int, most: int = HEAVIEST) -> int:
    """Smallest whole number from 1 to `most` that passes, sought from `near`; `most` + 1 where none does."""
    low, high, step = 0, most + 1, 1
    at = min(max(near, 1), most)
    while high - low > 1:
        good = passes(at)
        low, high = (low, at) if good else (at, high)
        if low > 0 and high <= most:
            at = (low + high) // 2
        else:
            at = min(max(at - step if good else at + step, low + 1), high - 1)
            step *= 2
    return high


def by_masses(model: NoteModel, near: Weights, laying: float = LAYING) -> Weights:
    """The three weights by laying masses on the key, to the gram, sought from `near`."""
    bottom, names = model.kernel().element(model.train.key.name, "bottom").stretch, opening_gaps(model)

    def gaps(drive: Callable[[float], Drive], of: Sequence[str]) -> NDArray[np.float64]:
        return _gaps_of(_rested(model, drive), of)[:, -1]

    def opens(grams: int) -> bool:
        return bool(np.min(gaps(lambda stay: laid_mass(grams / 1000, laying, stay), opened)) >= OPENED)

    def stays_down(grams: int) -> bool:
        return bool(_rested(model, lambda stay: let_go(grams / 1000, laying, stay))[bottom][-1] > 0.0)

    def stays_open(grams: int) -> bool:
        return bool(np.max(gaps(lambda stay: let_go(grams / 1000, laying, stay), names)) > 0.0)

    unplayed, pressed = _gaps(model, names)
    opened = [name for name, gap in zip(names, pressed, strict=True) if gap >= OPENED] or list(names)
    down, up = math.nan, math.nan
    if np.max(unplayed) < OPENED and (grams := smallest(opens, _grams(near.down))) <= HEAVIEST:
        down = _newtons(grams)
    if np.max(unplayed) <= SEATED < np.max(pressed):
        up = _newtons(smallest(stays_open, _grams(near.up)) - 1)
    return Weights(down, _newtons(smallest(stays_down, _grams(near.hold))), up)


def _gaps(model: NoteModel, names: Sequence[str]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Gaps (gaps,) with the key at rest, and with the load that presses it before it is let go, m."""
    drive = let_go(1e-3, 0.01, 0.01)
    motion = model.play(drive)
    found = _gaps_of(motion, names)
    lift = drive.mark("lift")
    return found[:, 0], np.array([np.interp(lift, motion.t, gap) for gap in found])


def _rested(model: NoteModel, drive: Callable[[float], Drive]) -> Motion:
    """The motion with the mass staying until the key rests, or for the longest stay."""
    for stay in STAYS:
        motion = model.play(drive(stay))
        if np.max(np.abs(motion["key_speed"][motion.t > motion.t[-1] - LOOKED])) < AT_REST:
            break
    return motion


def _newtons(grams: int) -> float:
    return grams / 1000 * GRAVITY


def _grams(force: float) -> int:
    """Smallest whole number of grams that weighs at least this."""
    return math.ceil(force / GRAVITY * 1000 - 1e-9) if math.isfinite(force) else HEAVIEST


def apart(static: Weights, laid: Weights) -> dict[str, int]:
    """Whole grams by which the masses differ from the statics."""
    found = {}
    for name in ("down", "hold", "up"):
        one, other = getattr(static, name), getattr(laid, name)
        if math.isnan(one) != math.isnan(other):
            found[name] = HEAVIEST
        elif not math.isnan(one):
            whole = _grams(one) - (name == "up" and one > 0.0)
            found[name] = _grams(other) - whole
    return found


def _explained(model: NoteModel, static: Weights, laid: Weights, wind: str) -> list[str]:
    """Why the two ways differ, found by laying the masses on more slowly."""
    wide = {name: by for name, by in apart(static, laid).items() if abs(by) > 1}
    if not wide:
        return []
    slowly = apart(static, by_masses(model, laid, SLOWLY))
    lines = []
    for name, by in wide.items():
        head = f"{name}-weight, {wind}: "
        pair = getattr(static, name), getattr(laid, name)
        if any(math.isnan(one) for one in pair):
            lines.append(f"{head}{_in_words(pair[0])} by statics, {_in_words(pair[1])} by masses")
            continue
        head += f"masses laid in {LAYING:g} s differ by {by:+d} g from statics"
        if abs(slowly[name]) <= 1:
            lines.append(f"{head}: they gather speed on the way; laid in {SLOWLY:g} s they agree")
        else:
            lines.append(f"{head}, in {SLOWLY:g} s by {slowly[name]:+d} g")
    return lines


def _in_words(force: float) -> str:
    return "none" if math.isnan(force) else format_value(force, "N")


# -- notes of a case -----------------------------------------------------------------------------------------
def weighed_train(case: Case, note: int, sharp_front: float | None = None) -> Train:
    """The train of a note, its sharps weighed at `sharp_front` (m from the pivot) in place of the case's front."""
    parts = []
    for i, part in enumerate(case.parts):
        values = case.values(note, part)
        if i == 0 and sharp_front is not None and is_sharp(note) and "front" in values and "dip" in values:
            values = _moved(values, sharp_front)
        parts.append(part.given(values))
    return build_train(parts, case.library)


def _moved(key: dict[str, Given], front: float) -> dict[str, Given]:
    """The same key, its finger elsewhere: dip goes with the distance, the rest felt stays."""
    before = float(key["front"].value)
    moved = {
        "front": Given(front, "weighed at the sharp's front"),
        "dip": Given(float(key["dip"].value) * front / before, "dip at the sharp's front"),
    }
    return {"rest_felt_at": key["front"], **key, **moved}


def weigh_note(
    note: int, train: Train, laid: bool = False, strokes: Strokes | None = None, pressed: Pressed | None = None
) -> WeighOff:
    """Weigh one note, by statics and where wanted by masses too.

    Parameters
    ----------
    note : int
    train : Train
    laid : bool
        Whether masses are laid on as well.
    strokes : Strokes, optional
        How the key is pressed for the verdict; the usual ones by default.
    pressed : Pressed, optional
        That press, where it is known.

    Raises
    ------
    keyaction.sim.figures.play.NotPlayed
        When the press cannot be followed; its verdict says what is known of the note.
    keyaction.sim.statics.balance.NoEquilibrium
        When only that of the weights breaks off.
    """
    models = NoteModel(train), NoteModel(wind_off(train))
    known = pressed or press_note(models[0], strokes or usual_strokes())
    same = pressed is not None and (known.strokes.press_stiffness, known.strokes.dip_force) == (STIFFNESS, DIP_FORCE)
    told, on = verdict(known), weights_of(known.press, opening_gaps(models[0])) if same else by_statics(models[0])
    off, why = _without_wind(models[1])
    stages = len(opening_gaps(models[0])) > 1
    found = WeighOff(note, on, off, closing_margin(train), reasons=why, verdict=told, stages=stages)
    if not laid or why:
        return found
    laid_on, laid_off = by_masses(models[0], on), by_masses(models[1], off)
    reasons = (*_explained(models[0], on, laid_on, "wind on"), *_explained(models[1], off, laid_off, "wind off"))
    return replace(found, laid_on=laid_on, laid_off=laid_off, reasons=reasons)


def _without_wind(model: NoteModel) -> tuple[Weights, tuple[str, ...]]:
    """The weights with the wind off, or none and the reason."""
    try:
        return by_statics(model), ()
    except RunsOff:
        why = "the pallet opens further by itself, its spring does not carry it"
    except OpenAtRest:
        why = "what hangs on the pallet pulls it open"
    except NoEquilibrium as problem:
        why = str(problem)
    return NO_WEIGHTS, (f"no weights with the wind off: {why}",)


def unweighed(note: int, reason: str, closing: float = math.nan, told: Verdict = UNASKED) -> WeighOff:
    """A note of which no weight is known, and why."""
    return WeighOff(note, NO_WEIGHTS, NO_WEIGHTS, closing, failed=reason, verdict=told)


def weigh(
    case: Case,
    notes: Sequence[int],
    laid: Sequence[int] = (),
    sharp_front: float | None = None,
    progress: Callable[[int], None] | None = None,
    jobs: int = 1,
) -> list[WeighOff]:
    """Weigh notes of a case.

    Parameters
    ----------
    case : Case
    notes : sequence of int
    laid : sequence of int
        Notes on which masses are laid as well.
    sharp_front : float, optional
        Where sharps are weighed, m from the pivot; by default at the case's `front` as all others.
    progress : callable, optional
        Told of every note that is done.
    jobs : int
        Processes; 0 means one per core.

    Returns
    -------
    list of WeighOff
        One for each note; one that cannot be weighed says why in `failed`.

    Raises
    ------
    keyaction.models.train.train.TrainProblem
        When a note lacks values.
    """
    work = partial(_weighed, case, sharp_front, frozenset(laid))
    found = {}
    for one in in_processes(work, notes, min(jobs or os.cpu_count() or 1, len(notes) // WORTH), _given_up):
        found[one.note] = one
        if progress:
            progress(one.note)
    return [found[note] for note in notes]


def _given_up(note: int) -> WeighOff:
    return unweighed(note, f"the process that weighed it {TWICE}")


def _weighed(case: Case, sharp_front: float | None, laying: frozenset[int], note: int) -> WeighOff:
    """One note of a case; nothing that happens there but a lack of values reaches the others."""
    closing = math.nan
    try:
        train = weighed_train(case, note, sharp_front)
        closing = closing_margin(train)
        return weigh_note(note, train, note in laying, case.strokes)
    except NotPlayed as problem:
        told = problem.verdict
        return unweighed(note, str(problem if told.fate is Fate.UNKNOWN else told), closing, told)
    except (NoEquilibrium, PartProblem) as problem:
        return unweighed(note, str(problem), closing)
    except TrainProblem as problem:
        raise TrainProblem([f"{text} (note {note})" for text in problem.defects]) from None
    except Exception as problem:  # the reason is kept with the note, the others go on
        return unweighed(note, reason_of(problem), closing)
