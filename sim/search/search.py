"""A search from beginning to end: resumable, the same designs whatever stops it, what it offers played again."""

from __future__ import annotations

import datetime
import hashlib
import json
import time
from collections.abc import Callable, Mapping
from contextlib import closing
from dataclasses import dataclass, field
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np

from keyaction.cases.study.search import COST, EVENNESS, Known, Search, read_search
from keyaction.cases.text.defects import CaseProblem, Defect
from keyaction.cases.tuning.targets import FIELDS as TARGETS
from keyaction.models.units.quantity import format_value
from keyaction.sim.code.need_numba import need_numba
from keyaction.sim.figures.columns import QUANTITIES, shown_in
from keyaction.sim.files.begun import Refused, look
from keyaction.sim.files.folders import refuse_unusable
from keyaction.sim.files.labelled import Result
from keyaction.sim.lanes.evaluate import available
from keyaction.sim.motion.integrate import Tolerances
from keyaction.sim.processes.count import workers
from keyaction.sim.run.about import about
from keyaction.sim.search.driver import drive
from keyaction.sim.search.folder import RESULTS, SEARCH, SearchFolder
from keyaction.sim.search.looking import Engine, Seen
from keyaction.sim.search.offers import OFFERED, Offers, offers
from keyaction.sim.search.optimiser import Everything, Floats, Proposer, axis_of, proposer
from keyaction.sim.search.prices import NO_RODS, prices_of, rods_of, unpriced
from keyaction.sim.search.result import result_of, save_search
from keyaction.sim.search.scores import Looked, quantities_of, score
from keyaction.sim.sweep.designs import Recipe, recipe

_LIMITS = {
    "closing": ("closing_force", ">="),
    "return_time": ("release_delay", "<="),
    "repetition": ("repetition_rate", ">="),
}
"""What `tune` sees to, by the quantities that hold it."""


@dataclass(frozen=True)
class State:
    """How far a search is.

    Attributes
    ----------
    generation, most : int
        Finished, and how many there may be.
    designs, kept : int
        Looked at; and of these taken over from before.
    front : int
        Designs of the front so far.
    best : tuple of float
        The best of each aim among designs that hold, SI; NaN as long as there is none.
    seconds : float
        Since the beginning.
    left : float
        Seconds that the remaining generations would take; NaN as long as there is no telling.
    """

    generation: int
    most: int
    designs: int
    kept: int
    front: int
    best: tuple[float, ...]
    seconds: float
    left: float


Progress = Callable[[State], None]
Played = Callable[[int, int], None]


@dataclass(frozen=True)
class Found:
    """What a search found.

    Attributes
    ----------
    search : Search
    result : Result
        As it is in the folder.
    offers : Offers
    path : Path, optional
        The result's file.
    """

    search: Search
    result: Result
    offers: Offers
    path: Path | None = field(default=None)


def usual_aims() -> list[str]:
    """What is wanted where nothing is said: a light touch that repeats fast."""
    return [one.name for one in shown_in("front")]


def usual_limits() -> list[str]:
    """Limits that hold unless others are given: those that `tune` keeps."""
    found = []
    for field_ in TARGETS:
        if field_.name in _LIMITS:
            name, sign = _LIMITS[field_.name]
            found.append(f"{name} {sign} {format_value(float(str(field_.default)), field_.unit, 'si')}")
    return found


def known() -> dict[str, Known]:
    """All that may be wanted of any case."""
    found = {name: Known(QUANTITIES[name].unit, QUANTITIES[name].sense == "more") for name in available()}
    return {**found, EVENNESS: Known(""), COST: Known("")}


def load_search(path: Path, data: Mapping[str, Any]) -> tuple[Search, Recipe]:
    """Read and check a search, with what its designs are made from.

    Raises
    ------
    CaseProblem
        With every defect that is found.
    """
    search = read_search(path, data, known(), usual_limits(), usual_aims())
    made = recipe(search.case, search.notes, search.inputs, quantities_of(search))
    if any(one.name == COST for one in search.figures()):
        told = unpriced(search, made, prices_of(search)) if rods_of(search) else [NO_RODS]
        if told:
            raise CaseProblem(path, [Defect(path.name, "[search]", "prices", "", text) for text in told])
    return search, made


def run_search(
    search: Search,
    made: Recipe,
    out: Path | None,
    jobs: int = 0,
    resume: bool = False,
    progress: Progress | None = None,
    played: Played | None = None,
    most: int = OFFERED,
    begins: Callable[[], None] = lambda: None,
) -> Found:
    """Search, play what is offered again, and write it down.

    Parameters
    ----------
    search, made
        As `load_search` gives them.
    out : Path, optional
        A folder: new, empty, or begun by this search and then with `resume`. Without it nothing is kept.
    jobs : int
        Threads, and processes for what is played again; 0 means one per core.
    resume : bool
        Go on after the last whole generation of a folder that was begun.
    progress, played : callable, optional
        Told of every generation, and of the notes that are played again.
    most : int
        Designs that are offered at most.
    begins : callable
        Called when nothing stands against it any more.

    Raises
    ------
    Refused
        When the folder cannot be used; nothing is written.
    NoOptimiser
        When the library that optimises is missing, and there are too many designs to look at all.
    FileProblem
        When the disk is full; what was finished is kept.
    """
    workers(jobs)
    need_numba()
    axes = [axis_of(one, own) for one, own in zip(made.inputs, made.own, strict=True)]
    by = proposer(axes, len(search.aims), search.designs, search.generations, search.seed)
    if out is None:
        begins()
        with TemporaryDirectory(prefix="keyaction-search-") as folder:
            found = _search(search, made, Path(folder), by, jobs, progress, played, most, resume)
        return Found(search, found.result, found.offers)
    data = _manifest(search, made, by)
    _may_begin(out, data, resume)
    refuse_unusable(out)
    begins()
    return _search(search, made, out, by, jobs, progress, played, most, resume)


def _search(
    search: Search,
    made: Recipe,
    folder: Path,
    by: Proposer,
    jobs: int,
    progress: Progress | None,
    played: Played | None,
    most: int,
    resume: bool,
) -> Found:
    held = SearchFolder(folder)
    with closing(_Releasing(held)):
        data = _manifest(search, made, by)
        old = _may_begin(folder, data, resume)
        data["made"] = old["made"] if old else data["made"]
        seen = Seen()
        kept = held.begin(data)
        engine = Engine(search, made, prices_of(search), jobs)
        _turns(search, engine, by, held, data["key"], kept, seen, progress)
        rows, looked = np.concatenate(seen.rows), seen.looked
        drawn = engine.look(np.full((1, len(search.inputs)), np.nan))
        scores = score(search, looked)
        found = offers(search, rows, looked, drawn, jobs, played or _nobody, most)
        result = result_of(search, seen, looked, scores, found, _texts(search, data, by))
        save_search(result, folder / RESULTS)
    return Found(search, result, found, folder / RESULTS)


def _nobody(done: int, total: int) -> None:
    """Nobody listens."""


@dataclass(frozen=True)
class _Releasing:
    held: SearchFolder

    def close(self) -> None:
        self.held.release()


def _turns(
    search: Search,
    engine: Engine,
    by: Proposer,
    held: SearchFolder,
    key: str,
    kept: list[tuple[Floats, Looked | None]],
    seen: Seen,
    progress: Progress | None,
) -> None:
    """All generations; those that are kept are told to the optimiser as they were found, so it goes on as before."""
    began, taken, most = time.monotonic(), 0, _most(search, by)

    def look_at(number: int, rows: Floats) -> tuple[Floats, Floats]:
        nonlocal taken
        new = seen.fresh(rows)
        if number < len(kept):
            if not np.array_equal(kept[number][0], new):
                raise Refused(
                    f"{held.path}: the optimiser proposes other designs than those kept of generation {number + 1}; "
                    "search anew, into another folder"
                )
            looked, taken = kept[number][1], number + 1
        else:
            looked = engine.look(new) if len(new) else None
            held.add(key, number, new, looked)
        seen.add(new, looked)
        which = seen.which(rows)
        found = score(search, seen.looked.some(which))
        return found.costs(search.aims), found.short

    for turn in drive(by, look_at, most):
        if progress is None:
            continue
        seconds, fresh = time.monotonic() - began, turn.number + 1 - taken
        left = (most - turn.number - 1) * seconds / fresh if fresh > 0 else float("nan")
        best = turn.front.min(axis=0) if len(turn.front) else np.full(len(search.aims), np.nan)
        signs = [-1.0 if one.more else 1.0 for one in search.aims]
        done, before = seen.ends[-1], seen.ends[taken - 1] if taken else 0
        at = tuple(float(s * b) for s, b in zip(signs, best, strict=True))
        left = 0.0 if turn.over else left
        progress(State(turn.number + 1, most, done, before, len(turn.front), at, seconds, left))


def _most(search: Search, by: Proposer) -> int:
    return -(-by.count // search.designs) if isinstance(by, Everything) else search.generations


# -- what a folder says of itself --------------------------------------------------------------------------
def _manifest(search: Search, made: Recipe, by: Proposer) -> dict[str, Any]:
    meaning = json.loads(json.dumps(search.meaning()))
    whole = isinstance(by, Everything)
    optimiser = "none, all are looked at" if whole else f"pymoo {_version('pymoo')}"
    told = [meaning, search.case.fingerprint, made.program, optimiser]
    return {
        "format": SEARCH.format,
        "content": SEARCH.content,
        "key": hashlib.sha256(json.dumps(told, sort_keys=True).encode()).hexdigest(),
        "search": meaning,
        "case": search.case.fingerprint,
        "case_name": search.case.path.name,
        "program": made.program,
        "optimiser": optimiser,
        "made": datetime.datetime.now(datetime.UTC).isoformat(timespec="seconds"),
    }


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return "of no known version"


def _may_begin(folder: Path, data: Mapping[str, Any], resume: bool) -> dict[str, Any] | None:
    """What the manifest of a folder says, if any, after asking whether the search may go on with it."""
    old = look(folder, SEARCH)
    if old is None:
        return None
    if changes := list(_changes(old, data)):
        raise Refused(
            f"{folder}: holds another search, begun {old['made']}: {'; '.join(changes)}. "
            "Nothing was written; choose another folder with --out, or bring back what has changed"
        )
    if not resume:
        raise Refused(f"{folder}: this search was begun there already; add --resume to go on, or choose another folder")
    return old


def _changes(old: Mapping[str, Any], new: Mapping[str, Any]) -> list[str]:
    before, after = old["search"], new["search"]
    words = {"vary": "what varies has changed", "aims": "the aims have changed", "limits": "the limits have changed"}
    found = [
        words.get(name) or f"{name} = {_short(after.get(name))} was {_short(before.get(name))}"
        for name in dict.fromkeys([*before, *after])
        if before.get(name) != after.get(name)
    ]
    found += [f"the case {new['case_name']} has changed"] if old["case"] != new["case"] else []
    found += ["the program has changed"] if old["program"] != new["program"] else []
    if old["optimiser"] != new["optimiser"]:
        found.append(f"who proposes the designs = {new['optimiser']} was {old['optimiser']}")
    return found


def _short(value: object) -> str:
    text = json.dumps(value)
    return text if len(text) <= 60 else f"{text[:56]} ..."


def _texts(search: Search, data: Mapping[str, Any], by: Proposer) -> dict[str, str]:
    """What travels with the result."""
    return {
        **about(search.case, Tolerances()),
        "search": json.dumps(data["search"]),
        "search_title": search.title,
        "optimiser": str(data["optimiser"]),
        "seed": str(search.seed),
        "whole": str(isinstance(by, Everything)).lower(),
        "made": str(data["made"]),
    }
