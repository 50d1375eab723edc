"""Designs of one structure under way, as arrays: equilibria, motions in lanes at several steps, and who is in doubt."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from keyaction.cases.action.strokes import Strokes
from keyaction.models.train.structure import TURN_LIMIT
from keyaction.sim.code.layout import Layout
from keyaction.sim.figures.columns import QUANTITIES, of_fates
from keyaction.sim.figures.possible import beyond, impossible
from keyaction.sim.figures.rates import FAILED, WORDS, Rates, all_confirmed
from keyaction.sim.figures.record import Pressed
from keyaction.sim.figures.registry import UNPLAYED, Quantity
from keyaction.sim.figures.repetition import Repetition
from keyaction.sim.lanes.batch import Batch, Rest, Stroke, joined
from keyaction.sim.lanes.beside import side_by_side
from keyaction.sim.lanes.designs import Designs
from keyaction.sim.lanes.judge import ALIKE, Decision, decided
from keyaction.sim.lanes.levels import NEARLY
from keyaction.sim.lanes.pressing import Presser
from keyaction.sim.lanes.repetition import STEPS, disputed
from keyaction.sim.motion.integrate import Floats, turned_too_far

_FAILED = "failed: the motion left the range of the model or never settled"

ROUNDS, RATE_ROUNDS = 3, 3
"""How often designs in doubt are played at finer steps still, before SciPy decides."""
UNSEATED = WORDS.index("not seated")

Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Asked:
    """What SciPy is asked of a design: names of quantities of motions, and its rate as the lanes found it."""

    design: int
    wanted: tuple[str, ...]
    rate: Repetition


class Chunk:
    """What is found of designs.

    Parameters
    ----------
    designs : Designs
    strokes : Strokes
    wanted : sequence of Quantity
    jobs : int
        Threads; 0 means one per core.
    doubts : bool
        Whether motions are played at shorter steps too.
    device : {"cpu", "gpu", "cc"}
    steps : sequence of (int, float)
        Parts of the designs, one on the processor: how many, and their time step in s. Each comes out as if alone.
    presser : Presser

    Attributes
    ----------
    figures : mapping of name to (N,) array
    rates : Rates
    beyond, sensitive : mapping of int to str
        Why designs have no figures, and which figures hang on the step, by place.
    doubtful, unsure : (N,) array of bool
        Whose stroke, and whose repetition rate, is in doubt.
    """

    def __init__(
        self,
        designs: Designs,
        strokes: Strokes,
        wanted: Sequence[Quantity],
        jobs: int,
        doubts: bool,
        device: str,
        steps: Sequence[tuple[int, float]],
        presser: Presser,
    ) -> None:
        count = len(designs)
        self.strokes, self.wanted, self.doubts = strokes, wanted, doubts
        self.figures = {one.name: np.full(count, np.nan) for one in wanted}
        self.rates = Rates.unsearched(count)
        self.sensitive = dict[int, str]()
        self._doubts_about, self._last_rates = dict[int, list[str]](), dict[int, Repetition]()
        self.doubtful, self.unsure = np.zeros(count, dtype=bool), np.zeros(count, dtype=bool)
        self.batch, self.rest = _at_rest(designs, steps, jobs, device, presser.exact)
        self.presses = presser(designs, strokes, self.rest, [one for one in wanted if one.source in UNPLAYED], jobs)
        self.beyond = dict(self.presses.beyond)
        self.figures |= self.presses.figures

    def __len__(self) -> int:
        return len(self.doubtful)

    def play(self) -> None:
        """What motions in lanes tell, at three steps: where they differ, a design is in doubt; else at one."""
        finer = [self.batch.finer(share) for share in STEPS] if self.doubts else []
        names = [one.name for one in self.wanted if one.watched]
        works = list[Callable[[], None]]()
        if names:
            lifts = self.presses.lift
            strokes = [partial(one.stroke, self.strokes, self.rest, lifts) for one in (self.batch, *finer)]
            played = side_by_side(strokes, self.batch.device)
            for i in np.flatnonzero(_turned(self.batch.layout, played[-1].widest)).tolist():
                self.beyond.setdefault(i, turned_too_far(self.batch.layout, played[-1].widest[i]))
            self.figures |= {name: played[-1].quantities[name].copy() for name in names}
            if finer:
                works.append(partial(self._doubt, names, played, finer[-1], lifts))
        if any(one.source == "repetition" for one in self.wanted):
            works.append(partial(self._search, finer))
        side_by_side(works, self.batch.device)

    def _doubt(self, names: Sequence[str], played: Sequence[Stroke], finest: Batch, lifts: Floats) -> None:
        """Designs whose figures change with the step are played at two finer ones, and so on for some rounds.

        Who then still does is in doubt. The finer the step, the less may a rebound be off.
        """
        changing = _changing(names, played, np.any([one.nearly for one in played], axis=0))
        which = here = np.flatnonzero(np.any(list(changing.values()), axis=0))
        last, nearly = played[-1], NEARLY * STEPS[-1]
        for _ in range(ROUNDS):
            if not len(which):
                return
            last, finest, nearly = last.some(here), finest.some(here), nearly * STEPS[-1]
            steps, rest = [finest.finer(share) for share in STEPS], self.rest.some(which)
            strokes = [partial(one.stroke, self.strokes, rest, lifts[which], nearly=nearly) for one in steps]
            again = side_by_side(strokes, self.batch.device)
            changing = _changing(names, [last, *again], again[-1].nearly)
            still = np.any(list(changing.values()), axis=0)
            for name in names:
                self.figures[name][which] = again[-1].quantities[name]
            which, here, last, finest = which[still], np.flatnonzero(still), again[-1], steps[-1]
        self.doubtful[which] = True
        for i, k in zip(which.tolist(), here.tolist(), strict=True):
            self._doubts_about[i] = [name for name, flags in changing.items() if flags[k]]

    def _search(self, finer: Sequence[Batch]) -> None:
        """The repetition rates, whose boundaries are asked of the finer steps too.

        Where these do not agree the finest goes on to its own boundary, which holds if two finer ones still find it
        too; else the same is tried again, and who then still does not agree is in doubt. Whether a pallet that grazes
        its seat counts as seated depends on how often one looks: that SciPy decides after the first round.
        """
        self.rates = self.batch.repetition(self.strokes, self.rest)
        which = np.flatnonzero(disputed(self.rates, finer, np.arange(len(self)), self.strokes, self.rest))
        rates, finest = self.rates.some(which), finer[-1] if finer else self.batch
        here, open_ = which, which
        grazing = self.rates.limits == UNSEATED
        for again in range(RATE_ROUNDS):
            if not len(open_):
                break
            finest, rest = finest.some(here), self.rest.some(open_)
            found = all_confirmed(rates, finest.judge(self.strokes, rest), self.strokes.repetition_highest)
            steps = [finest.finer(share) for share in STEPS]
            still = disputed(found, steps, np.arange(len(open_)), self.strokes, rest)
            if again:
                still |= (np.abs(found.tenths - rates.tenths) > 1) | grazing[open_] | (found.limits == UNSEATED)
            for k in np.flatnonzero(~still).tolist():
                self.rates.put(int(open_[k]), found[k])
            grazing[open_] |= found.limits == UNSEATED
            here = np.flatnonzero(still)
            rates, open_, finest = found.some(here), open_[here], steps[-1]
        self.unsure[open_] = True
        for i, rate in zip(open_.tolist(), rates, strict=True):
            self._last_rates[i] = rate
        self.figures["repetition_rate"] = self.rates.rate

    def decide(self, mark: bool = False) -> Flags:
        """Let SciPy decide the designs in doubt, and find what lanes do not watch; which were in doubt.

        Those that are only to be marked keep the figures of the finest lanes.
        """
        if mark:
            self.mark()
        for one in self.asked(mark):
            note = self.presses.note(one.design)
            if isinstance(note, Pressed):
                self.take(one, decided(note, [QUANTITIES[name] for name in one.wanted], one.rate))
        return self.doubted

    @property
    def doubted(self) -> Flags:
        """Which designs are in doubt."""
        return np.asarray(self._sound() & (self.doubtful | self.unsure))

    def asked(self, mark: bool = False) -> list[Asked]:
        """What SciPy is asked of designs: what lanes do not watch, a stroke or a repetition rate in doubt."""
        unwatched = any(one.source == "stroke" and not one.watched for one in self.wanted)
        found = []
        for i in np.flatnonzero(self._sound() & (unwatched | ((self.doubtful | self.unsure) & (not mark)))).tolist():
            stroke, rate = self.doubtful[i] and not mark, self.unsure[i] and not mark
            names = [one.name for one in self.wanted if one.source == "stroke" and (stroke or not one.watched)]
            names += [one.name for one in self.wanted if one.source == "repetition" and rate]
            found.append(Asked(i, tuple(names), self.rates[i]))
        return found

    def take(self, one: Asked, found: Decision) -> None:
        """Take over what SciPy says."""
        self.rates.put(one.design, found.rate)
        if found.sensitive:
            self.sensitive[one.design] = found.sensitive
        for name, value in found.figures.items():
            self.figures[name][one.design] = value

    def mark(self) -> None:
        """Tell designs in doubt as sensitive, with the figures of the finest lanes."""
        for i in np.flatnonzero(self.doubted).tolist():
            names = [*self._doubts_about.get(i, []), *(["repetition_rate"] if self.unsure[i] else [])]
            self.sensitive[i] = f"in doubt, not decided: {', '.join(names)}"
            if i in self._last_rates:
                self.rates.put(i, self._last_rates[i])
                self.figures["repetition_rate"][i] = self._last_rates[i].rate

    def _sound(self) -> Flags:
        """Designs that have figures so far."""
        found = np.ones(len(self), dtype=bool)
        found[list(self.beyond)] = False
        return found

    def settle(self) -> NDArray[np.object_]:
        """Leave of the figures what the verdicts leave; the status of every design."""
        lost, status, count = ~self._sound(), np.full(len(self), "ok", dtype=object), len(self)
        status[list(self.beyond)] = [f"failed: {text}" for text in self.beyond.values()]
        missing = {name: np.isnan(values) for name, values in self.figures.items()}
        lacking = np.logical_and.reduce([np.ones(count, dtype=bool), *missing.values()])
        lacking |= self.rates.limits == FAILED
        for name, gone in missing.items():
            if QUANTITIES[name].always:
                lacking |= gone
        status[lacking & ~lost] = _FAILED
        lost |= lacking
        self.figures = of_fates(self.figures, self.presses.fates)
        for values in self.figures.values():
            values[lost] = np.nan
        for i in np.flatnonzero(beyond(self.figures)).tolist():
            status[i] = f"failed: {impossible({name: float(values[i]) for name, values in self.figures.items()})}"
            for values in self.figures.values():
                values[i] = np.nan
        return status

    def limits(self) -> NDArray[np.object_]:
        """In words what limits the repetition of each, once all is settled."""
        found = self.rates.reasons()
        found[~np.isfinite(self.figures.get("repetition_rate", np.full(len(self), np.nan)))] = ""
        return found


def _at_rest(
    designs: Designs, steps: Sequence[tuple[int, float]], jobs: int, device: str, exact: bool
) -> tuple[Batch, Rest]:
    """The batch that is played, and its rest: the processor's where presses hang on its last digits."""
    rows, structure = designs.parameters, designs.structure
    batch = Batch(structure, rows, steps[0][1], jobs) if device == "cpu" else Batch(
        structure, rows, np.repeat([h for _, h in steps], [n for n, _ in steps]), jobs, device=device)  # fmt: skip
    if device == "cpu" or not exact:
        return batch, batch.rest([] if device == "cpu" else [n for n, _ in steps])
    cuts = np.cumsum([n for n, _ in steps])[:-1]
    parts = zip(np.split(rows, cuts), steps, strict=True)
    return batch, joined([Batch(structure, part, h, jobs).rest() for part, (_, h) in parts])


def _turned(layout: Layout, widest: Floats) -> Flags:
    """Designs of which a body turned further than the equations hold."""
    turns = [k for k, body in enumerate(layout.bodies) if body.unit == "rad" and k < widest.shape[1]]
    return np.asarray(np.any(widest[:, turns] > TURN_LIMIT, axis=1))


def _changing(names: Sequence[str], played: Sequence[Stroke], nearly: Flags) -> dict[str, Flags]:
    """By figure the designs of which it changes by more than its resolution with the step; a count also nearly does."""
    found = {}
    for name in names:
        apart = QUANTITIES[name].resolution.differences
        values = [stroke.quantities[name] for stroke in played]
        found[name] = np.any([~(apart(one, other) <= ALIKE) for one, other in combinations(values, 2)], axis=0)
    return found | ({"bounce": found["bounce"] | nearly} if "bounce" in names else {})
