"""Quantities of many designs at once: equilibria and lanes; SciPy decides where the lanes are in doubt."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from keyaction.cases.action.strokes import Strokes
from keyaction.models.train.structure import Structure
from keyaction.models.train.train import Train
from keyaction.sim.figures.columns import QUANTITIES, of_verdict
from keyaction.sim.figures.play import NotPlayed
from keyaction.sim.figures.possible import impossible
from keyaction.sim.figures.record import Pressed
from keyaction.sim.figures.registry import NOT_IN_LANES, Quantity
from keyaction.sim.figures.repetition import Repetition, Verdicts, confirmed
from keyaction.sim.figures.verdict import UNASKED, Verdict, verdict
from keyaction.sim.lanes.batch import Batch, Rest, Stroke
from keyaction.sim.lanes.judge import ALIKE, Check, compared, decided, judges
from keyaction.sim.lanes.presses import in_chunks, presses
from keyaction.sim.lanes.repetition import STEPS, disputed
from keyaction.sim.lanes.step import too_fast_trains
from keyaction.sim.motion.integrate import Floats, turned_too_far
from keyaction.sim.motion.note import with_couplers_set

_FAILED = "failed: the motion left the range of the model or never settled"
_UNSEARCHED = Repetition(float("nan"), "", 0)


@dataclass(frozen=True)
class Outcome:
    """What came of designs.

    Attributes
    ----------
    quantities : mapping of name to (N,) array
        SI; NaN where a design has none.
    limits : tuple of str
        What limits the repetition of each.
    status : tuple of str
        ``ok``, or why a design has no figures.
    verdicts : tuple of Verdict
    sensitive : tuple of str
        Figures that hang on how exactly the motion is integrated, with both values; empty for most designs.
    checks : tuple of Check
        How many were in doubt, and the judged sample.
    """

    quantities: Mapping[str, Floats]
    limits: tuple[str, ...]
    status: tuple[str, ...]
    verdicts: tuple[Verdict, ...] = ()
    sensitive: tuple[str, ...] = ()
    checks: tuple[Check, ...] = field(default=())


def available() -> tuple[str, ...]:
    """Names of the quantities that `evaluate` gives: all but those of presses at speed, which are not played
    here, and of side motion, which is played and not watched."""
    return tuple(name for name, one in QUANTITIES.items() if one.source not in NOT_IN_LANES)


@dataclass
class _Chunk:
    """Designs of one structure under way: what is found of each. Of several `sizes` each comes out as if alone."""

    trains: Sequence[Train]
    strokes: Strokes
    wanted: Sequence[Quantity]
    jobs: int
    doubts: bool
    device: str = "cpu"
    sizes: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        count = len(self.trains)
        self.figures = {one.name: np.full(count, np.nan) for one in self.wanted}
        self.rates = [_UNSEARCHED] * count
        self.beyond, self.sensitive, self.verdicts = [""] * count, [""] * count, [UNASKED] * count
        self.doubtful, self.unsure = np.zeros(count, dtype=bool), np.zeros(count, dtype=bool)
        self.batch, self.rest = self._at_rest()
        self.pressed = presses(self.trains, self.strokes, self.rest, self.jobs)

    def _at_rest(self) -> tuple[Batch, Rest]:
        """The batch that is played, and its rest, which the processor finds: presses hang on its last digits."""
        ends = np.cumsum(self.sizes or (len(self.trains),)).tolist()
        parts = [self.trains[first:end] for first, end in zip([0, *ends], ends, strict=False)]
        batches = [Batch.of(part, jobs=self.jobs) for part in parts]
        found = [one.rest() for one in batches]
        if self.device == "cpu":
            return batches[0], found[0]
        steps = np.repeat([one.h for one in batches], [len(one) for one in batches])
        rest = Rest(*(np.concatenate([getattr(one, name) for one in found]) for name in ("states", "seen", "settled")))
        return Batch.of(self.trains, steps, self.jobs, self.device), rest

    def read(self) -> None:
        """What equilibria and geometry tell."""
        standing = [one for one in self.wanted if one.source in ("slow press", "train")]
        for i, note in enumerate(self.pressed):
            if isinstance(note, NotPlayed):
                self.beyond[i], self.verdicts[i] = str(note), note.verdict
                continue
            self.verdicts[i] = verdict(note)
            for one in standing:
                self.figures[one.name][i] = one.compute(note)

    def play(self) -> None:
        """What motions in lanes tell, at three steps: where they differ, a design is in doubt; else at one."""
        finer = [self.batch.finer(share) for share in STEPS] if self.doubts else []
        names = [one.name for one in self.wanted if one.watched]
        if names:
            lifts = np.array([_lift(note) for note in self.pressed])
            played = [one.stroke(self.strokes, self.rest, lifts) for one in (self.batch, *finer)]
            for i, turns in enumerate(played[-1].widest):
                self.beyond[i] = self.beyond[i] or turned_too_far(self.batch.layout, turns)
            self.figures |= {name: played[-1].quantities[name].copy() for name in names}
            if finer:
                self._doubt(names, played, finer[-1], lifts)
        if any(one.source == "repetition" for one in self.wanted):
            self._search(finer)

    def _doubt(self, names: Sequence[str], played: Sequence[Stroke], finest: Batch, lifts: Floats) -> None:
        """Designs whose figures change with the step are played at two finer ones; who then still does is in doubt."""
        which = np.flatnonzero(_changing(names, played))
        if not len(which):
            return
        steps = [finest.some(which).finer(share) for share in STEPS]
        again = [one.stroke(self.strokes, self.rest.some(which), lifts[which]) for one in steps]
        still = _changing(names, [played[-1].some(which), *again])
        self.doubtful[which] = still
        for name in names:
            self.figures[name][which[~still]] = again[-1].quantities[name][~still]

    def _search(self, finer: Sequence[Batch]) -> None:
        """The repetition rates, whose boundaries are asked of the finer steps too.

        Where these do not agree the finest goes on to its own boundary, which holds if two finer ones still find it
        too; else it is in doubt.
        """
        self.rates = self.batch.repetition(self.strokes, self.rest)
        self.figures["repetition_rate"] = np.array([one.rate for one in self.rates])
        each = np.arange(len(self.rates))
        doubted = disputed(self.rates, finer, each, self.strokes, self.rest)  # none without finer steps
        if not np.any(doubted):
            return
        which = np.flatnonzero(doubted)
        asked, highest = finer[-1].judge(self.strokes, self.rest), self.strokes.repetition_highest
        again = [confirmed(self.rates[i], _of_one(asked, i), highest) for i in which.tolist()]
        finer = [finer[-1].finer(share) for share in STEPS]
        doubted = disputed(again, finer, which, self.strokes, self.rest)
        for i, rate, still in zip(which.tolist(), again, doubted, strict=True):
            self.unsure[i] = still
            if not still:
                self.rates[i], self.figures["repetition_rate"][i] = rate, rate.rate

    def decide(self) -> NDArray[np.bool_]:
        """Let SciPy decide the designs in doubt, and find what lanes do not watch; which were in doubt."""
        unwatched = any(one.source == "stroke" and not one.watched for one in self.wanted)
        sound, doubted = np.array([not text for text in self.beyond]), self.doubtful | self.unsure
        for i in np.flatnonzero(sound & (doubted | unwatched)):
            note = self.pressed[i]
            if isinstance(note, Pressed):
                asked = [one for one in self.wanted if self.unsure[i] or one.source != "repetition"]
                asked = [one for one in asked if self.doubtful[i] or not one.watched]
                found = decided(note, asked, self.rates[i])
                self.rates[i], self.sensitive[i] = found.rate, found.sensitive
                for name, value in found.figures.items():
                    self.figures[name][i] = value
        return np.asarray(sound & doubted)

    def settled(self, i: int) -> tuple[dict[str, float], str]:
        """Figures of a design as its verdict leaves them, and its status."""
        found = {name: float(values[i]) for name, values in self.figures.items()}
        if self.beyond[i]:
            return dict.fromkeys(found, float("nan")), f"failed: {self.beyond[i]}"
        lacking = any(np.isnan(value) for name, value in found.items() if QUANTITIES[name].always)
        if lacking or self.rates[i].limit == "failed" or all(np.isnan(value) for value in found.values()):
            return dict.fromkeys(found, float("nan")), _FAILED
        found = of_verdict(found, self.verdicts[i])
        told = impossible(found)
        return (dict.fromkeys(found, float("nan")), f"failed: {told}") if told else (found, "ok")


def _changing(names: Sequence[str], played: Sequence[Stroke]) -> NDArray[np.bool_]:
    """Designs of which a figure changes by more than its resolution with the step, or a count nearly does."""
    found = [
        [
            not all(QUANTITIES[name].resolution.difference(*pair) <= ALIKE for pair in combinations(told, 2))
            for told in zip(*(one.quantities[name] for one in played), strict=True)
        ]
        for name in names
    ]
    if "bounce" in names:
        found += [one.nearly.tolist() for one in played]
    return np.asarray(np.any(np.array(found, dtype=bool), axis=0))


def _of_one(asked: Verdicts, design: int) -> Verdicts:
    """The verdicts on one of many designs, as if it were alone."""
    return lambda tenths, which: asked(tenths, np.full(len(which), design))


def _lift(note: Pressed | NotPlayed) -> float:
    return float(QUANTITIES["steady_lift"].compute(note)) if isinstance(note, Pressed) else float("nan")


def _followed(trains: Sequence[Train], part: Sequence[int], status: list[str]) -> list[int]:
    """Those that the lanes can follow; the others get their status, and do not shorten the step of all."""
    told = too_fast_trains([trains[i] for i in part])
    for i, why in zip(part, told, strict=True):
        status[i] = f"failed: {why}" if why else ""
    return [i for i, why in zip(part, told, strict=True) if not why]


def evaluate(
    trains: Sequence[Train],
    strokes: Strokes,
    wanted: Iterable[str] | None = None,
    jobs: int = 0,
    sample: int = 3,
    decide: bool = True,
    device: str = "cpu",
) -> Outcome:
    """Quantities of many trains at once.

    Parameters
    ----------
    trains : sequence of Train
        In any mixture of structures; each structure is one batch.
    strokes : Strokes
    wanted : iterable of str, optional
        Names of quantities; all that there are by default.
    jobs : int
        Threads; 0 means one per core.
    sample : int
        How many designs are played by SciPy whether in doubt or not, to say how far the figures can be trusted.
    decide : bool
        Whether designs are played at shorter steps too, and SciPy decides those whose figures change by more than
        their resolution there, or whose repetition does. It never depends on `sample`.
    device : {"cpu", "gpu", "cc"}
        Where motions are computed; see `Batch`.

    Returns
    -------
    Outcome

    Raises
    ------
    KeyError
        When a quantity is not known.
    """
    return evaluate_each([trains], strokes, wanted, jobs, [sample], decide, device)[0]


def evaluate_each(
    batches: Sequence[Sequence[Train]],
    strokes: Strokes,
    wanted: Iterable[str] | None = None,
    jobs: int = 0,
    samples: Sequence[int] = (),
    decide: bool = True,
    device: str = "cpu",
) -> list[Outcome]:
    """Quantities of several batches of trains, each as `evaluate` gives them of it alone.

    Not on the processor what is of one structure is played together, whichever batch it is of. The parameters are those
    of `evaluate`, with a sample for each batch.
    """
    names = list(wanted if wanted is not None else available())
    unknown = [name for name in names if name not in available()]
    if unknown:
        raise KeyError(f"no such quantity: {', '.join(unknown)}; there are {', '.join(available())}")
    gathered = [_Gathered([with_couplers_set(train) for train in trains], names) for trains in batches]
    chosen = [QUANTITIES[name] for name in names]
    for pieces in _together(gathered, device):
        trains = [gathered[which].trains[i] for which, part in pieces for i in part]
        chunk = _Chunk(trains, strokes, chosen, jobs, decide, device, tuple(len(part) for _, part in pieces))
        chunk.read()
        chunk.play()
        doubted = chunk.decide() if decide else np.zeros(len(trains), dtype=bool)
        steps, first = np.broadcast_to(chunk.batch.h, (len(trains),)), 0
        for which, part in pieces:
            rows = range(first, first + len(part))
            gathered[which].take(chunk, part, rows)
            gathered[which].step = max(gathered[which].step, float(steps[first]))
            gathered[which].doubtful += int(np.sum(doubted[first : first + len(part)]))
            first += len(part)
    return [one.outcome(strokes, sample) for one, sample in zip(gathered, samples or [0] * len(gathered), strict=True)]


class _Gathered:
    """What is found of the trains of one batch."""

    def __init__(self, trains: Sequence[Train], names: Sequence[str]) -> None:
        count = len(trains)
        self.trains, self.names = trains, names
        self.found = {name: np.full(count, np.nan) for name in names}
        self.limits, self.status, self.sensitive = [""] * count, [""] * count, [""] * count
        self.verdicts, self.step, self.doubtful = [UNASKED] * count, 0.0, 0

    def take(self, chunk: _Chunk, part: Sequence[int], rows: Iterable[int]) -> None:
        """Take over some rows of a chunk as those of the trains `part`."""
        for k, i in zip(rows, part, strict=True):
            figures, self.status[i] = chunk.settled(k)
            for name in self.names:
                self.found[name][i] = figures[name]
            self.verdicts[i], self.sensitive[i] = chunk.verdicts[k], chunk.sensitive[k]
            self.limits[i] = chunk.rates[k].reason if np.isfinite(figures.get("repetition_rate", np.nan)) else ""

    def outcome(self, strokes: Strokes, sample: int) -> Outcome:
        """The outcome, a sample judged by SciPy."""
        check = compared(judges(self.trains, strokes, self.names, sample), self.found, self.step)
        sensitive = sum(text != "" for text in self.sensitive)
        counted = Check(**{**vars(check), "doubtful": self.doubtful, "sensitive": sensitive})
        told = tuple(self.limits), tuple(self.status), tuple(self.verdicts), tuple(self.sensitive)
        return Outcome(self.found, *told, (counted,))


def _together(gathered: Sequence[_Gathered], device: str) -> Iterator[list[tuple[int, list[int]]]]:
    """Chunks that are played together: number of the batch and trains of each, those that the lanes can follow."""
    waiting: dict[Structure, list[tuple[int, list[int]]]] = {}
    for which, one in enumerate(gathered):
        for part in in_chunks(one.trains):
            structure, part = one.trains[part[0]].structure, _followed(one.trains, part, one.status)
            if part and device == "cpu":
                yield [(which, part)]
            elif part:
                waiting.setdefault(structure, []).append((which, part))
    yield from waiting.values()
