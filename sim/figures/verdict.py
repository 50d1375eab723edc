"""What becomes of a note when its key is pressed and let go: told from rest and equilibria, before any motion."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING, Any, Protocol

import numpy as np
from numpy.typing import NDArray

from keyaction.models.algebra.names import Name
from keyaction.models.units.quantity import format_value
from keyaction.sim.figures.limits import EMPTY, FULL, HALF, NO_FORCE

if TYPE_CHECKING:
    from keyaction.sim.code.layout import Layout
    from keyaction.sim.figures.record import Pressed
    from keyaction.sim.motion.integrate import Floats
    from keyaction.sim.motion.sounders import Sounder


class Fate(Enum):
    """Kinds of verdict, in words."""

    SPEAKS = "speaks and falls silent"
    WEAK = "speaks weakly"
    MUTE = "does not speak"
    HANGS = "hangs"
    CIPHER = "sounds unplayed (a cipher)"
    NO_WIND = "no wind"
    HELD = "speaks, held by another hand"
    UNKNOWN = "not known"


FATES = tuple(Fate)
"""Kinds of verdict by their number in arrays."""
Rubbing = tuple[Mapping[str, float], Mapping[str, float]]


class Rubs(Protocol):
    """What tells of the friction of a train's bushings, and which body each slip goes with."""

    @property
    def kernel(self) -> Layout: ...
    @property
    def slips(self) -> NDArray[np.int64]: ...
    @property
    def owner(self) -> NDArray[np.int64]: ...
    def friction(self, y: Floats) -> Floats: ...


@dataclass(frozen=True)
class Verdict:
    """What becomes of a note, and by what.

    Attributes
    ----------
    fate : Fate
    reason : str
        By what and by how much; empty where nothing is to be said.

    Examples
    --------
    >>> import keyaction as ka
    >>> told = ka.verdict(ka.NoteModel(ka.train_of(ka.read_case("demo-wood"), "C4")))
    >>> print(told)
    speaks and falls silent
    """

    fate: Fate
    reason: str = ""

    @property
    def sound(self) -> bool:
        """Whether the note speaks when it is played and falls silent when it is let go, with full wind."""
        return self.fate is Fate.SPEAKS

    def __str__(self) -> str:
        return f"{self.fate.value}: {self.reason}" if self.reason else self.fate.value


UNASKED = Verdict(Fate.UNKNOWN)
_FIGURE = re.compile(r"[-\d.]*\d")


def alike(told: Mapping[str, str]) -> list[str]:
    """What is wrong with notes, by name: a line for each fate and kind of reason, with the first note's."""
    groups: dict[str, list[str]] = {}
    for note, text in told.items():
        if text != Fate.SPEAKS.value:
            groups.setdefault(_FIGURE.sub("", text), []).append(note)
    lines = []
    for notes in groups.values():
        fate, _, reason = told[notes[0]].partition(": ")
        if len({told[note] for note in notes}) > 1 and reason:
            reason = f"{notes[0]}: {reason}"
        names = ", ".join(notes[:8]) + (f" and {len(notes) - 8} more" if len(notes) > 8 else "")
        lines.append(f"{names}: {fate}{f' ({reason})' if reason else ''}")
    return lines


@dataclass(frozen=True)
class Standing:
    """How a pallet stands at the ends of a slow press, SI: of one note, or (N,) arrays of many.

    Attributes
    ----------
    rest_gap, rest_pressure : float
        Under the pallet at its eye, and in its groove, with the key at rest.
    widest_gap : float
        On the way down.
    dip : float
        Key travel to the end of the way down.
    held_pressure : float
        There.
    left_gap, left_pressure : float
        Where the finger leaves the key.
    box_pressure, feet : float
        Of its box; toe area of the stops that are drawn, m2.
    """

    rest_gap: Any
    rest_pressure: Any
    widest_gap: Any
    dip: Any
    held_pressure: Any
    left_gap: Any
    left_pressure: Any
    box_pressure: Any
    feet: Any

    def one(self, i: int) -> Standing:
        """Of many that of one."""
        return Standing(*(float(getattr(self, name)[i]) for name in vars(self)))


def fates(at: Standing) -> NDArray[np.int64]:
    """What becomes of notes that no other hand holds, as places in `FATES`; see `verdict`.

    Not known where they were not pressed: NaN for a dip.
    """
    box = np.asarray(at.box_pressure)
    with np.errstate(divide="ignore", invalid="ignore"):
        rest, held = at.rest_pressure / box, at.held_pressure / box
    hanging = ~(np.asarray(at.left_gap) <= 0.0) & ~(at.left_pressure <= EMPTY * box)
    shut = ~(np.asarray(at.widest_gap) > 0.0)
    asked = [np.isnan(at.dip), ~(box > 0.0), ~(rest <= EMPTY), hanging, shut, held >= FULL, held >= HALF]
    told = [Fate.UNKNOWN, Fate.NO_WIND, Fate.CIPHER, Fate.HANGS, Fate.MUTE, Fate.SPEAKS, Fate.WEAK]
    return np.select(asked, [FATES.index(one) for one in told], FATES.index(Fate.MUTE))


def plain(at: Standing, found: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Which of many of such fates have a verdict without a reason, being quite in order."""
    shut = (np.asarray(at.rest_gap) <= 0.0) & (np.asarray(at.left_gap) <= 0.0)
    return np.asarray((found == FATES.index(Fate.SPEAKS)) & shut & (np.asarray(at.feet) > 0.0))


def judged(at: Standing, fate: Fate, tight: Callable[[], Sequence[str]], rubbing: Callable[[], Rubbing]) -> Verdict:
    """The verdict of a note of that fate.

    Parameters
    ----------
    at : Standing
        Of one note.
    fate : Fate
        By `fates`.
    tight : callable
        Names of its rods that are too tight; asked of a cipher.
    rubbing : callable
        Of each part the friction that acts where the finger leaves the key, and that which it can give, N at the key
        front; asked of a note that hangs.
    """
    if fate is Fate.NO_WIND:
        gap = at.rest_gap
        return Verdict(fate, f"the pallet rests open by {format_value(gap, 'm')}" if gap > 0.0 else "")
    if fate is Fate.CIPHER:
        return Verdict(fate, _unplayed(at, tight))
    if fate is Fate.HANGS:
        return Verdict(fate, _hanging(at, *rubbing()))
    if fate in (Fate.MUTE, Fate.WEAK):
        return Verdict(fate, _silent(at))
    return Verdict(fate, (_unshut(at) or _stopless(at)) if fate is Fate.SPEAKS else "")


def verdict(note: Pressed) -> Verdict:
    """The verdict of a note: that of its own pallet, whatever else its key moves; see `verdicts`.

    It sounds unplayed where the groove of the resting note holds more than 10 % of the box pressure; it hangs where
    the groove does so once the finger has left the key, because the pallet stays open; it does not speak where the
    pallet never opens, or the groove holds less than half of the box pressure with the key held at the dip force, and
    speaks weakly below 90 %. A pallet that stays off its seat by less is told with a note that falls silent.
    """
    return _of_pallet(note, note.press.sounders[0])


def verdicts(note: Pressed) -> tuple[Verdict, ...]:
    """The verdict of every pallet that the key moves, in the order of the train."""
    return tuple(_of_pallet(note, one) for one in note.press.sounders)


def _of_pallet(note: Pressed, one: Sounder) -> Verdict:
    at = _standing(note, one)
    fate = FATES[int(fates(at))]
    held = _held(note, one) if fate is not Fate.NO_WIND else None
    up = note.press.up
    return held or judged(at, fate, lambda: _tight(note), lambda: rubbing(up.balance, up.states[-1]))


def _standing(note: Pressed, one: Sounder) -> Standing:
    down, up = note.press.down, note.press.up
    gap, pressure = down[one.gap], down[one.pressure]
    return Standing(
        float(gap[0]), float(pressure[0]), float(np.max(gap)), float(down.travel[-1]), float(pressure[-1]),
        float(up[one.gap][-1]), float(up[one.pressure][-1]), one.box_pressure, one.feet,
    )  # fmt: skip


def _held(note: Pressed, one: Sounder) -> Verdict | None:
    """Of a pallet whose own key another hand holds down: it speaks whatever this key does."""
    train = note.model.train
    keys = [part.name for part in train.parts[: [part.name for part in train.parts].index(one.pallet)]]
    key = next(name for name in reversed(keys) if train.part(name).role == "key")
    force = train.parameters.get(Name(key, "f_held"))
    if force is None or force.value <= 0.0:
        return None
    return Verdict(Fate.HELD, f"{key} is held by {format_value(force.value, 'N')}")


def _tight(note: Pressed) -> list[str]:
    slack = ((name, figure.value) for name, figure in note.model.train.parameters.items() if name.what == "slack")
    return [name.part for name, value in slack if value < 0.0]


def _unplayed(at: Standing, tight: Callable[[], Sequence[str]]) -> str:
    held = f"the groove holds {100 * (at.rest_pressure / at.box_pressure):.0f} % of the wind with the key at rest"
    if at.rest_gap <= 0.0:
        return f"wind leaks past the shut pallet: {held}"
    found = tight()
    by = f"drawn up by {', '.join(found)}, which is too tight" if found else "pulled by the weights that hang on it"
    return f"the pallet stands {format_value(at.rest_gap, 'm')} open, {by}; {held}"


def _unshut(at: Standing) -> str:
    """Of a pallet that stays off its seat, but by so little that the groove hardly fills."""
    rests, left = "the pallet does not shut: it rests", "let go, the pallet stays"
    for gap, pressure, told in ((at.rest_gap, at.rest_pressure, rests), (at.left_gap, at.left_pressure, left)):
        if gap > 0.0:
            share = pressure / at.box_pressure
            return f"{told} {format_value(gap, 'm')} open, and the groove holds {100 * share:.1f} % of the wind"
    return ""


def _stopless(at: Standing) -> str:
    return "" if at.feet > 0.0 else "no stop is drawn, so no pipe sounds"


def _hanging(at: Standing, carried: Mapping[str, float], whole: Mapping[str, float]) -> str:
    left = f"let go, the pallet stays {format_value(at.left_gap, 'm')} open"
    if not whole or sum(carried.values()) < NO_FORCE:
        return f"{left}: spring and wind do not close it"
    worst = max(whole, key=lambda part: whole[part])
    force, total = (format_value(one, "N") for one in (whole[worst], sum(whole.values())))
    lifts = format_value(sum(carried.values()), "N")
    return f"{left}: held by the friction of {worst} ({force} of {total} at the key, which lifts with {lifts})"


def _silent(at: Standing) -> str:
    if not at.widest_gap > 0.0:
        short, dip = format_value(-at.widest_gap, "m"), format_value(at.dip, "m")
        return f"pressed {dip} down, the key leaves the pallet {short} short"
    return f"the groove reaches {100 * (at.held_pressure / at.box_pressure):.0f} % of the wind with the key held down"


def rubbing(balance: Rubs, y: Floats) -> Rubbing:
    """Of each part the friction that acts in a state, and that which it can give, N at the key front."""
    carried: dict[str, float] = {}
    whole: dict[str, float] = {}
    for owner, slip, most in zip(balance.owner, y[balance.slips], balance.friction(y), strict=True):
        part = balance.kernel.bodies[owner].part
        carried[part] = carried.get(part, 0.0) + abs(slip) * most
        whole[part] = whole.get(part, 0.0) + most
    return carried, whole
