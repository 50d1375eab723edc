"""What would free a note that no spring can tune: the smallest change of one other thing."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from keyaction.cases.tuning.targets import Targets
from keyaction.models.train.train import Train, TrainProblem
from keyaction.sim.tune.bench import Bench, Design, closing_force, opening_over_toes
from keyaction.sim.tune.search import NEAR, SLACK, WANTED, TunedNote, meets

LARGEST = 0.4
"""Largest change looked at, as a share of what is there."""
LADDER, HALVINGS = (1 / 16, 1 / 8, 1 / 4, 1 / 2, 1.0), 4
"""Shares of it that are tried first, and halvings below the first that will do."""
MOST = 16
"""Notes that are looked into; between them the changes are drawn as a line."""


@dataclass(frozen=True)
class Lever:
    """Something that can be changed beside the spring.

    `heavy` is the sense of the change that makes a heavy pluck lighter, `feed` that which opens the pallet wider (0:
    none does), `power` the power of it with which the pluck that a spring adds goes.
    """

    name: str
    role: str
    field: str
    unit: str
    heavy: int
    feed: int
    power: int


LEVERS = (
    Lever("pallet opening", "pallet", "opening_width", "m", -1, 1, 0),
    Lever("key arm (ratio)", "key", "arm", "m", -1, 1, 1),
    Lever("pressure", "box", "pressure", "Pa", -1, 0, 0),
    Lever("eye", "pallet", "eye", "m", 1, -1, -1),
)


@dataclass(frozen=True)
class Remedy:
    """A change that frees a note: a lever from one value to another, SI.

    `drawn`: along a line between notes that were looked into.
    """

    lever: Lever
    before: float
    after: float
    drawn: bool = False

    @property
    def share(self) -> float:
        """The change as a share of what is there."""
        return self.after / self.before - 1


@dataclass
class _Trial:
    """The search for one lever at one note: the change stands between `low` (does not free it) and `high` (does)."""

    tuned: TunedNote
    i: int
    lever: Lever
    sense: int
    before: float
    high: float
    low: float = 0.0
    frees: bool = False


def remedies(bench: Bench, tuned: Sequence[TunedNote], targets: Targets) -> dict[int, list[Remedy]]:
    """For each note with faults that can be played, what would free it, the smallest change first.

    Parameters
    ----------
    bench : Bench
    tuned : sequence of TunedNote
        All notes, in the order of `targets`.
    targets : Targets
    """
    stuck = [i for i, one in enumerate(tuned) if one.faults and not (one.reason or one.rubbing)]
    chosen = [stuck[k] for k in np.unique(np.linspace(0, len(stuck) - 1, min(MOST, len(stuck))).astype(int))]
    trials = [trial for i in chosen for lever in LEVERS if (trial := _begun(bench, tuned[i], i, lever))]
    _search(bench, trials, targets)
    found: dict[int, list[Remedy]] = {tuned[i].note: [] for i in stuck}
    for trial in trials:
        if trial.frees:
            after = trial.before * (1 + trial.sense * trial.high)
            found[trial.tuned.note].append(Remedy(trial.lever, trial.before, after))
    _draw(bench, [tuned[i].note for i in stuck if i not in chosen], [tuned[i].note for i in chosen], found)
    for one in found.values():
        one.sort(key=lambda remedy: abs(remedy.share))
    return found


def _begun(bench: Bench, one: TunedNote, i: int, lever: Lever) -> _Trial | None:
    """A search, where the lever can do anything about the note's faults."""
    before = bench.given(one.note, lever.role, lever.field)
    lighter = lever.heavy if one.goal <= one.pluck else -lever.heavy
    sense = lever.feed if one.faults == ("feed",) else lighter
    if math.isnan(before) or sense == 0:
        return None
    most = LARGEST
    if lever.name == "eye" and sense > 0:
        most = min(most, _pallet_end(bench, one.note) / before - 1)
    return _Trial(one, i, lever, sense, before, most) if most > 0.005 else None


def _pallet_end(bench: Bench, note: int) -> float:
    """From the hinge to the end of the pallet's wood, m: the eye cannot lie beyond."""
    return sum(bench.given(note, "pallet", name) for name in ("hinge_to_opening", "opening_length", "overlap"))


def _search(bench: Bench, trials: Sequence[_Trial], targets: Targets) -> None:
    """The first rung of a ladder of changes that frees each note, then halving below it."""
    pairs = [(trial, share * trial.high) for trial in trials for share in LADDER]
    told = iter(_free(bench, [trial for trial, _ in pairs], [change for _, change in pairs], targets))
    for trial in trials:
        most = trial.high
        passed = [share for share, frees in zip(LADDER, [next(told) for _ in LADDER], strict=True) if frees]
        if passed:
            rung = LADDER.index(passed[0])
            trial.frees, trial.high = True, passed[0] * most
            trial.low = LADDER[rung - 1] * most if rung else 0.0
    live = [trial for trial in trials if trial.frees]
    for _ in range(HALVINGS if live else 0):
        middle = [(trial.low + trial.high) / 2 for trial in live]
        for trial, change, frees in zip(live, middle, _free(bench, live, middle, targets), strict=True):
            trial.low, trial.high = (trial.low, change) if frees else (change, trial.high)


def _free(bench: Bench, trials: Sequence[_Trial], changes: Sequence[float], targets: Targets) -> list[bool]:
    """Whether each change frees its note: with the spring that gives the goal, all limits hold."""
    if not trials:
        return []
    designs = [_design(trial, change, trial.tuned.force) for trial, change in zip(trials, changes, strict=True)]
    built = [_built(bench, design) for design in designs]
    there = [(k, train) for k, train in enumerate(built) if train is not None]
    found = [False] * len(trials)
    if not there:
        return found
    pluck = bench.quantities([train for _, train in there], ["pluck_force"])["pluck_force"]
    again = []
    for (k, _), p in zip(there, pluck, strict=True):
        trial = trials[k]
        slope = trial.tuned.slope * (1 + trial.sense * changes[k]) ** trial.lever.power
        force = trial.tuned.force + (trial.tuned.goal - p) / slope if math.isfinite(p) else 0.0
        again.append(Design(trial.tuned.note, max(force, 0.0), designs[k].changes))
    trains, figures = bench.figures(again, WANTED)
    for place, (k, _) in enumerate(there):
        values = {name: float(column[place]) for name, column in figures.items()}
        found[k] = _good(trials[k], trains[place], again[place].force, values, targets)
    return found


def _design(trial: _Trial, change: float, force: float) -> Design:
    lever = trial.lever
    return Design(trial.tuned.note, force, {(lever.role, lever.field): trial.before * (1 + trial.sense * change)})


def _built(bench: Bench, design: Design) -> Train | None:
    try:
        return bench.train(design)
    except TrainProblem:
        return None


def _good(trial: _Trial, train: Train, force: float, values: dict[str, float], targets: Targets) -> bool:
    i, goal = trial.i, trial.tuned.goal
    least = max(closing_force(train, float(targets.closing[i])), float(targets.weakest[i]))
    feed = opening_over_toes(train, values["steady_lift"])
    return (
        least - SLACK <= force <= targets.strongest[i] + SLACK
        and abs(values["pluck_force"] / goal - 1) <= NEAR * targets.within[i]
        and meets("return_time", values["release_delay"], float(targets.return_time[i]))
        and meets("repetition", values["repetition_rate"], float(targets.repetition[i]))
        and meets("feed", feed, float(targets.feed[i]))
    )


def _draw(bench: Bench, between: Sequence[int], looked: Sequence[int], found: dict[int, list[Remedy]]) -> None:
    """Notes that were not looked into get the changes of their neighbours, where both have one, along a line."""
    for note in between:
        below = max(other for other in looked if other < note)
        above = min(other for other in looked if other > note)
        for lever in LEVERS:
            ends = [next((r for r in found[end] if r.lever is lever), None) for end in (below, above)]
            if ends[0] and ends[1]:
                share = float(np.interp(note, [below, above], [ends[0].share, ends[1].share]))
                before = bench.given(note, lever.role, lever.field)
                found[note].append(Remedy(lever, before, before * (1 + share), drawn=True))
