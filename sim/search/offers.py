"""Which designs are offered: some of the front, spread over it, each played again by itself and found to hold."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from keyaction.cases.action.case import Case
from keyaction.cases.action.remarks import odd
from keyaction.cases.action.trains import sound_trains
from keyaction.cases.fields.compass import Compass
from keyaction.cases.study.search import Search
from keyaction.cases.text.defects import CaseProblem
from keyaction.models.train.train import TrainProblem
from keyaction.sim.analysis.pareto import pareto_front
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.files.problem import FileProblem
from keyaction.sim.lanes.evaluate import evaluate
from keyaction.sim.lanes.judge import ALLOWED
from keyaction.sim.lanes.repetition import lane_rates
from keyaction.sim.motion.integrate import Tolerances
from keyaction.sim.processes.count import workers
from keyaction.sim.processes.tasks import in_processes
from keyaction.sim.run.note import NoteResult
from keyaction.sim.run.task import Task, given_up, task_of, work
from keyaction.sim.run.wanted import Wanted
from keyaction.sim.search.compromise import spread
from keyaction.sim.search.optimiser import Floats
from keyaction.sim.search.scores import OK, Looked, Scores, beyond, needed_for, quantities_of, score
from keyaction.sim.search.written import design_text, read_again

OFFERED = 12
"""Designs that are offered at most: more nobody compares."""
TRIED = 3
"""Times as many are played again at most, where some do not hold."""
BEATEN = "played again, another design or the case as it is drawn beats it"
DRAWN = -1
"""Stands for the case as it is drawn among designs."""
FEW = 6
"""Notes that this process plays sooner than others have begun."""

Told = Callable[[int, int], None]
"""Told how many of how many notes have been played again."""


@dataclass(frozen=True)
class Offer:
    """A design that holds.

    Attributes
    ----------
    design : int
        Its number among those that were looked at.
    text : str
        Its case file.
    looked : Looked
        Its figures as `keyaction run` gives them of that file.
    apart : str
        Which of them are other than what was looked at, by more than a check allows, as a layout follows what varies.
    differs : str
        Which of them are so though nothing but limits is set to them, all of which are kept.
    warned : tuple of str
        What its case is warned of, and the case as it is drawn is not.
    """

    design: int
    text: str
    looked: Looked
    apart: str = ""
    differs: str = ""
    warned: tuple[str, ...] = ()


@dataclass(frozen=True)
class Offers:
    """What is offered, by the first aim; why other designs of the front are not, by their number; the case itself.

    The case as it is drawn is None where it cannot be played.
    """

    kept: tuple[Offer, ...]
    refused: Mapping[int, str] = field(default_factory=dict)
    drawn: Looked | None = None


def front_of(search: Search, scores: Scores) -> np.ndarray:
    """Designs that hold and that none beats, by the first aim; of those that are equal in all the first."""
    costs = np.where((scores.short > 0.0)[:, None], np.nan, scores.told_apart())
    rows = pareto_front(costs, ["max" if one.more else "min" for one in search.aims])
    _, first = np.unique(costs[rows], axis=0, return_index=True)
    return np.asarray(rows[np.sort(first)])


def offers(
    search: Search, rows: Floats, looked: Looked, drawn: Looked, jobs: int, told: Told, most: int = OFFERED
) -> Offers:
    """Play designs of the front again, each as a case of its own, and keep those that hold.

    Parameters
    ----------
    search : Search
    rows : (n, inputs) array
        Positions of the designs that were looked at.
    looked : Looked
        Of those.
    drawn : Looked
        Of the case as it is.
    jobs : int
        Processes; 0 means one per core.
    told : callable
    most : int
        Designs that are offered at most.
    """
    scores = score(search, looked)
    left, kept, refused = front_of(search, scores).tolist(), list[Offer](), dict[int, str]()
    own = [one for _, one in _again(search, {DRAWN: np.full(len(search.inputs), np.nan)}, {DRAWN: drawn}, jobs, told)]
    while left and len(kept) < most and len(kept) + len(refused) < TRIED * most:
        costs = scores.costs(search.aims)[left]
        chosen = [left[i] for i in spread(costs, most - len(kept))]
        left = [one for one in left if one not in chosen]
        before = {one: looked.some([one]) for one in chosen}
        for design, found in _again(search, {one: rows[one] for one in chosen}, before, jobs, told):
            why = found if isinstance(found, str) else _fails(search, found.looked)
            if why:
                refused[design] = why
            elif not isinstance(found, str):
                kept.append(found)
    case = next((one.looked for one in own if isinstance(one, Offer)), None)
    return Offers(*_unbeaten(search, kept, refused, case), case)


def _unbeaten(
    search: Search, kept: Sequence[Offer], refused: dict[int, str], case: Looked | None
) -> tuple[tuple[Offer, ...], dict[int, str]]:
    """Those that none beats in their confirmed figures, the case as it is drawn included, by the first aim."""
    if not kept:
        return (), refused
    own = [case] if case is not None and score(search, case).short[0] == 0.0 else []
    aims = score(search, Looked.joined([*(one.looked for one in kept), *own])).told_apart()
    front = pareto_front(aims, ["max" if one.more else "min" for one in search.aims])
    front = front[front < len(kept)]
    more = {one.design: BEATEN for i, one in enumerate(kept) if i not in front}
    return tuple(kept[i] for i in front), {**refused, **more}


def _fails(search: Search, again: Looked) -> str:
    """Why a design does not hold: a note fails, or a limit is missed; empty if it does."""
    found = score(search, again)
    if again.status[0].tolist() != [OK] * len(search.notes):
        return next(str(text) for text in again.status[0] if text != OK)
    if found.short[0] > 0.0:
        missed = [
            one.text
            for one, value in zip(search.limits, found.limits[0], strict=True)
            if beyond(one, np.array([value]))[0]
        ]
        return (
            f"played by itself it misses {', '.join(missed)}" if missed else "a note of it does not speak as it should"
        )
    return ""


def _apart(search: Search, before: Looked, again: Looked) -> dict[str, str]:
    """By how much quantities are others than those before, where that is more than a check allows."""
    found = {}
    for k, name in enumerate(quantities_of(search)):
        apart = QUANTITIES[name].resolution.differences(before.values[0, :, k], again.values[0, :, k])
        most = float(np.max(apart))  # NaN where only one has it, whatever the other notes say
        if not most <= ALLOWED:
            found[name] = f"{QUANTITIES[name].label} by {most:.2%}" if np.isfinite(most) else QUANTITIES[name].label
    return found


# -- played again ------------------------------------------------------------------------------------------
def _again(
    search: Search, rows: Mapping[int, Floats], before: Mapping[int, Looked], jobs: int, told: Told
) -> Iterator[tuple[int, Offer | str]]:
    """Each design as its case gives it, played as `keyaction run` does; or why it cannot be."""
    made: dict[int, tuple[str, Case]] = {}
    for design, row in rows.items():
        try:
            text = design_text(search, row, f"Design {design} of a search")
            made[design] = text, read_again(search.case, text)
        except (CaseProblem, FileProblem) as problem:
            yield design, str(problem).split("\n")[0]
    tasks = list[Task]()
    for design, (_, case) in list(made.items()):
        try:
            tasks += _tasks(design, case, search.notes, jobs)
        except TrainProblem as problem:
            del made[design]
            yield design, problem.defects[0]
    played: dict[int, dict[int, NoteResult]] = {design: {} for design in made}
    count = 1 if not jobs and len(tasks) <= FEW else min(workers(jobs), max(len(tasks), 1))
    for number, (name, result) in enumerate(in_processes(work, tasks, count, given_up), 1):
        played[int(name)][result.note] = result
        told(number, len(tasks))
    for design in made:
        found = [played[design][note] for note in search.notes]
        yield (
            design,
            _offer(search, design, made[design], _as_looked(search, found, before[design]), before[design], jobs),
        )


def _offer(
    search: Search, design: int, made: tuple[str, Case], looked: Looked, before: Looked, jobs: int
) -> Offer | str:
    """A design as it was played again, with what a layout made of it; or that it is in doubt."""
    text, case = made
    laid = case.layout is not None and design != DRAWN
    doubt = _apart(search, _in_lanes(search, case, before, jobs) if laid else before, looked)
    wanted = needed_for(search.aims)
    aims = ", ".join(told for name, told in doubt.items() if name in wanted)
    if aims and design != DRAWN and looked.status[0].tolist() == [OK] * len(search.notes):
        return f"in doubt: played again one by one it differs by more than {ALLOWED:.1%} in an aim ({aims})"
    apart = ", ".join(_apart(search, before, looked).values()) if laid else ""
    return Offer(design, text, looked, apart, ", ".join(doubt.values()), _warned(search, case))


def _warned(search: Search, case: Case) -> tuple[str, ...]:
    """What a case and its notes are warned of, beside what is so of the case as it is drawn."""
    try:
        before = _warnings(search.case, search.notes)
    except TrainProblem:  # as it is drawn it cannot be built
        before = [*search.case.warnings]
    return tuple(one.removeprefix(f"{case.path.name}: ") for one in _warnings(case, search.notes) if one not in before)


def _warnings(case: Case, notes: Sequence[int]) -> list[str]:
    trains = sound_trains(case, notes)
    compass = Compass(case.compass, case.naming)
    return [*case.warnings, *odd(case.path.name, compass, {note: train.warnings for note, train in trains.items()})]


def _in_lanes(search: Search, case: Case, before: Looked, jobs: int) -> Looked:
    """A design once more at once with all its notes, of the case that it was written as."""
    trains, names = sound_trains(case, search.notes), quantities_of(search)
    with np.errstate(all="ignore"):
        found = evaluate([trains[note] for note in search.notes], case.strokes, names, jobs, sample=0)
    return replace(before, values=np.stack([found.quantities[name] for name in names], axis=-1)[None])


def _tasks(design: int, case: Case, notes: Sequence[int], jobs: int) -> list[Task]:
    trains = sound_trains(case, notes)
    try:
        with np.errstate(all="ignore"):
            rates = lane_rates(trains, case.strokes, jobs)
    except Exception:  # as a run does: the lanes only save time
        rates = {}
    one = Wanted(str(design), case, notes, trains)
    return [replace(task_of(one, note, Tolerances(), rates.get(note)), division=str(design)) for note in notes]


def _sensitive(one: NoteResult) -> str:
    return one.limit if "sensitive" in one.limit else ""


def _as_looked(search: Search, found: Sequence[NoteResult], before: Looked) -> Looked:
    """What a run found, in the form of what the lanes found; prices and inputs are the design's."""
    names = quantities_of(search)
    values = np.array([[[one.quantities.get(name, np.nan) for name in names] for one in found]])
    words = [
        [[one.status for one in found]],
        [[one.verdict.fate.value for one in found]],
        [[_sensitive(one) for one in found]],
    ]
    return Looked(values, before.inputs, before.costs, *(np.array(one, dtype=object) for one in words))
