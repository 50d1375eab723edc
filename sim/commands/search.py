"""keyaction search: the designs that no other beats in what is wanted."""

from __future__ import annotations

import argparse
import json
import math
from collections.abc import Iterator
from contextlib import contextmanager
from shlex import quote
from typing import Any

from keyaction.models.units.quantity import System, format_value
from keyaction.sim.code.no_gpu import GpuFailed, NoGpu
from keyaction.sim.commands.common import BAD_INPUT, DONE, FAILED, STOPPED
from keyaction.sim.commands.console import err, out, tell
from keyaction.sim.commands.on_rail import on_rail
from keyaction.sim.commands.progress import Bar, progress
from keyaction.sim.commands.search_asked import asked
from keyaction.sim.commands.search_tables import Front, show
from keyaction.sim.commands.sheet_tables import paragraph
from keyaction.sim.files.begun import Refused
from keyaction.sim.search.folder import SEARCH
from keyaction.sim.search.optimiser import NoOptimiser
from keyaction.sim.search.search import Searched, State, run_search
from keyaction.sim.search.told import asked as told_of

_KEPT = "; what was finished is kept. Go on with the same command and --resume"
PICTURE, TABLE = "front.png", "front.csv"


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    search = asked(options)
    if line := on_rail(search.case, search.notes, options.units, options.jobs):
        tell(f"note: {line}")
    try:
        with _telling(options, search.aims) as told:

            def begins() -> None:
                if options.progress != "json":
                    out().print(f"{search.title}: searched", style="bold", markup=False)
                    for line in told_of(search):
                        paragraph(out(), line)

            how = (options.out, options.jobs, options.resume, told.turn, told.played, options.offer, options.device)
            found = run_search(search, *how, begins)
    except GpuFailed as problem:
        begun = options.out is not None and SEARCH.begun_in(options.out)
        err().print(f"{problem}{_KEPT if begun else ''}", markup=False, soft_wrap=True)
        return FAILED
    except (Refused, NoOptimiser, NoGpu) as problem:
        err().print(str(problem), markup=False, soft_wrap=True)
        return BAD_INPUT
    except KeyboardInterrupt:
        begun = options.out is not None and SEARCH.begun_in(options.out)
        err().print(f"stopped{_KEPT if begun else ''}", markup=False)
        return STOPPED
    return _finished(found, options)


def _finished(found: Searched, options: argparse.Namespace) -> int:
    status = DONE if found.offers.kept else FAILED
    if options.out is not None:
        from keyaction.plots.study.searched import (
            save_front,  # here, because the plotting library takes a second to load
        )
        from keyaction.sim.commands.search_tables import write_front

        save_front(found.result, options.out / PICTURE, options.units)
        write_front(found.result, options.out / TABLE, options.units)
    if options.progress == "json":
        _line("done", offered=[one.design for one in found.offers.kept], refused=len(found.offers.refused))
        return status
    show(out(), found.result, options.units)
    if options.out is not None and found.offers.kept:
        out().print(f"\n{options.out}: results.h5, {TABLE}, {PICTURE}", markup=False, soft_wrap=True)
        front = Front(found.result)
        which = front.designs[0] if front.compromise is None else "compromise"
        told = f"one of them as a case: keyaction search show {quote(str(options.out))} --case {which} --out FILE"
        out().print(told, markup=False, soft_wrap=True)
    return status


class _Told:
    """Tells of generations, and of the notes that are played again."""

    def __init__(self, bar: Bar | None, again: Bar | None, aims: Any, units: System, lines: bool) -> None:
        self._bar, self._again, self._aims, self._units, self._lines = bar, again, aims, units, lines

    def turn(self, state: State) -> None:
        """A generation is finished."""
        if self._lines:
            left = state.left if math.isfinite(state.left) else None
            there = [value if math.isfinite(value) else None for value in state.best]
            plain = {**vars(state), "left": left, "best": there, "seconds": round(state.seconds, 2)}
            _line("generation", **plain)
        elif self._bar:
            best = ", ".join(
                format_value(value, one.unit or "1", self._units) if math.isfinite(value) else "none yet"
                for one, value in zip(self._aims, state.best, strict=True)
            )
            self._bar.at(state.generation, state.most, f"generations, {state.front} on the front, best {best}")

    def played(self, done: int, total: int) -> None:
        """A note of an offered design was played again."""
        if self._again and not self._lines:
            self._again.at(done, total, "notes played again of what is offered")


@contextmanager
def _telling(options: argparse.Namespace, aims: Any) -> Iterator[_Told]:
    """A bar with the generation, the best so far and the time left on a terminal; or JSON lines."""
    if options.progress == "json":
        yield _Told(None, None, aims, options.units, True)
        return
    with progress("searching", wanted=options.progress == "bar") as bar:
        yield _Told(bar, bar, aims, options.units, False)


def _line(event: str, **values: Any) -> None:
    print(json.dumps({"event": event, **values}), flush=True)
