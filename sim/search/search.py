"""A search from beginning to end: resumable, the same designs whatever stops it, what it offers played again."""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Mapping
from contextlib import closing
from dataclasses import dataclass, field, replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np

from keyaction.cases.study.search import Search
from keyaction.sim.code.need_numba import need_numba
from keyaction.sim.files.begun import Refused
from keyaction.sim.files.folders import refuse_unusable
from keyaction.sim.files.labelled import Result
from keyaction.sim.files.taken import RESULT, refuse_taken
from keyaction.sim.motion.integrate import Tolerances
from keyaction.sim.processes.count import workers
from keyaction.sim.run.about import about
from keyaction.sim.search.driver import drive
from keyaction.sim.search.folder import RESULTS, SearchFolder
from keyaction.sim.search.load import read_study, recipe_of
from keyaction.sim.search.looking import Engine, Seen
from keyaction.sim.search.manifest import manifest, may_begin
from keyaction.sim.search.offers import OFFERED, Offers, offers
from keyaction.sim.search.optimiser import Everything, Floats, Proposer, axis_of, proposer
from keyaction.sim.search.prices import prices_of
from keyaction.sim.search.result import result_of, save_search
from keyaction.sim.search.scores import Looked, score
from keyaction.sim.sweep.designs import Recipe
from keyaction.sim.sweep.pool import need_device


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
class Searched:
    """A finished search.

    Attributes
    ----------
    search : Search
        What was asked.
    result : Result
        Every design that was looked at and those offered, as ``results.h5`` has them: figures over ``(design, note)``,
        ``aim_NAME`` and ``input_NAME`` over ``design``, ``confirmed_NAME`` over ``(offered, note)``, SI.
    offers : Offers
        The offered designs (``kept``), each with the text of its case; why others of the front are not (``refused``).
    path : Path, optional
        The result's file; None where nothing was to be kept.

    Examples
    --------
    >>> from pathlib import Path
    >>> import keyaction as ka
    >>> study = Path("lighter.toml")
    >>> _ = study.write_text('''
    ... format = 1
    ... study = {case = "demo-wood", notes = "C4"}
    ... search = {aims = ["pluck_force"], limits = ["none"]}
    ... vary = [{field = "pallet-spring.force", scale = [0.8, 1.0], levels = 2}]
    ... ''')
    >>> found = ka.run_search(study, jobs=1)
    >>> found.result["input_pallet-spring.force"], found.result["aim_pluck_force"].round(2)
    (array([0.8, 1. ]), array([1.49, 1.64]))
    >>> [one.design for one in found.offers.kept], found.path
    ([0], None)
    """

    search: Search
    result: Result
    offers: Offers
    path: Path | None = field(default=None)


def run_search(
    search: Search | str | Path,
    out: str | Path | None = None,
    jobs: int = 0,
    resume: bool = False,
    progress: Progress | None = None,
    played: Played | None = None,
    most: int = OFFERED,
    device: str = "cpu",
    begins: Callable[[], None] = lambda: None,
) -> Searched:
    """Search the designs of a case that no other beats, play what is offered again, and write it down.

    Parameters
    ----------
    search : Search, path or name
        A study file with its ``[[vary]]`` tables and, where more than the usual is wanted, a ``[search]`` table.
    out : path, optional
        A folder: new, empty, or begun by this search and then with `resume`. Without it nothing is kept.
    jobs : int
        Threads, and processes for what is played again; 0 means one per core. A script that uses more than one keeps
        its calls under ``if __name__ == "__main__":``, as Python's multiprocessing demands.
    resume : bool
        Go on after the last whole generation of a folder that was begun.
    progress : callable, optional
        Called with a `State` after every generation.
    played : callable, optional
        Called with how many of how many notes have been played again.
    most : int
        Designs that are offered at most.
    device : {"cpu", "gpu"}
        Where the motions of what is looked at are computed. On the GPUs of this machine, which need CuPy (extra
        ``gpu``), figures are those of the processor within 1e-9 of themselves. What is offered is confirmed by SciPy,
        on the processor.
    begins : callable
        Called when nothing stands against it any more.

    Returns
    -------
    Searched

    Raises
    ------
    keyaction.CaseProblem
        When the study or its case is wrong.
    keyaction.sim.files.begun.Refused
        When the folder cannot be used; nothing is written.
    keyaction.sim.search.optimiser.NoOptimiser
        When the library that optimises is missing, and there are too many designs to look at all.
    keyaction.sim.code.no_numba.NoNumba
        When Numba cannot be used; nothing is written.
    keyaction.sim.code.no_gpu.NoGpu
        When the GPU cannot be used; nothing is written.
    keyaction.FileProblem
        When the disk is full; what was finished is kept.
    ValueError
        When `jobs` is below 0; `TypeError` when it is no whole number.

    Examples
    --------
    >>> from pathlib import Path
    >>> import keyaction as ka
    >>> _ = Path("arm.toml").write_text('''
    ... format = 1
    ... study = {case = "demo-wood", notes = "C4"}
    ... search = {aims = ["key_dip:min"], limits = ["none"]}
    ... vary = [{field = "key.arm", values = ["140 mm", "150 mm"]}]
    ... ''')
    >>> found = ka.run_search("arm.toml", "arm", jobs=1)
    >>> found.path.name, found.result["offered"]
    ('results.h5', array([0]))
    """
    workers(jobs)
    search = search if isinstance(search, Search) else read_study(search)
    need_numba()
    need_device(device)
    made = replace(recipe_of(search), device=device)
    axes = [axis_of(one, own) for one, own in zip(made.inputs, made.own, strict=True)]
    by = proposer(axes, len(search.aims), search.designs, search.generations, search.seed)
    if out is None:
        begins()
        with TemporaryDirectory(prefix="keyaction-search-") as folder:
            found = _search(search, made, Path(folder), by, jobs, progress, played, most, resume)
        return Searched(search, found.result, found.offers)
    may_begin(Path(out), manifest(search, made, by), resume)
    refuse_unusable(Path(out))
    begins()
    return _search(search, made, Path(out), by, jobs, progress, played, most, resume)


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
) -> Searched:
    held = SearchFolder(folder)
    with closing(_Releasing(held)):
        data = manifest(search, made, by)
        old = may_begin(folder, data, resume)
        data["made"] = old["made"] if old else data["made"]
        seen = Seen()
        kept = held.begin(data)
        if len(kept) > _most(search, by):
            raise Refused(
                f"{folder}: {len(kept)} generations are kept there, and {_most(search, by)} are asked for, which would "
                "find less; ask for as many (--generations), or choose another folder"
            )
        refuse_taken(folder / RESULTS, RESULT)  # here, and not when all has been played again
        engine = Engine(search, made, prices_of(search), jobs)
        cut = _turns(search, engine, by, held, data["key"], kept, seen, progress)
        rows, looked = np.concatenate(seen.rows), seen.looked
        drawn = engine.look(np.full((1, len(search.inputs)), np.nan))
        scores = score(search, looked)
        found = offers(search, rows, looked, drawn, jobs, played or _nobody, most)
        result = result_of(search, seen, looked, scores, found, _texts(search, data, by, cut))
        save_search(result, folder / RESULTS)
    return Searched(search, result, found, folder / RESULTS)


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
) -> bool:
    """All generations, and whether they ended before the front stood still.

    Those that are kept are told to the optimiser as they were found, so it goes on as before.
    """
    cut = False
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
        cut = turn.cut
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
    return cut


def _most(search: Search, by: Proposer) -> int:
    return -(-by.count // search.designs) if isinstance(by, Everything) else search.generations


def _texts(search: Search, data: Mapping[str, Any], by: Proposer, cut: bool) -> dict[str, str]:
    """What travels with the result."""
    return {
        **about(search.case, Tolerances()),
        "search": json.dumps(data["search"]),
        "search_title": search.title,
        "optimiser": str(data["optimiser"]),
        "seed": str(search.seed),
        "whole": str(isinstance(by, Everything)).lower(),
        "cut": str(cut).lower(),
        "made": str(data["made"]),
    }
