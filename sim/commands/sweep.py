"""keyaction sweep: compute every design of a study."""

from __future__ import annotations

import argparse
import json
import math
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from keyaction.cases.study.plans import SIZES, size_words
from keyaction.cases.study.reader import Study
from keyaction.sim.analysis.reasons import counted_by_cause
from keyaction.sim.code.no_gpu import GpuFailed, NoGpu
from keyaction.sim.commands.common import BAD_INPUT, DONE, FAILED, STOPPED, many
from keyaction.sim.commands.console import err, out, tell
from keyaction.sim.commands.on_rail import on_rail
from keyaction.sim.commands.progress import progress
from keyaction.sim.files.begun import Refused
from keyaction.sim.sweep import dask_cluster as sweep_dask
from keyaction.sim.sweep import sweep
from keyaction.sim.sweep.manifest import plan_of
from keyaction.sim.sweep.pool import need_device
from keyaction.sim.sweep.results import judged_text
from keyaction.sim.sweep.sweep import Forecast, State

Told = Callable[[State], None]


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    study = sweep.load_study(options.study)
    wrong = _wrong(options)
    if wrong:
        err().print(wrong, markup=False)
        return BAD_INPUT
    try:
        return _forecast(study, options) if options.dry_run else _sweep(study, options)
    except GpuFailed as problem:
        err().print(f"{problem}; what was finished is kept: --resume goes on", markup=False)
        return FAILED
    except (Refused, NoGpu) as problem:
        err().print(str(problem), markup=False)
        return BAD_INPUT


def _wrong(options: argparse.Namespace) -> str:
    if options.jobs < 0:
        return f"--jobs {options.jobs}: must be 0 (one per core) or more"
    if options.judge is not None and options.judge < 0:
        return f"--judge {options.judge}: must be 0 (none) or more"
    if options.out is None and not options.dry_run:
        return "--out DIR is needed: the folder for the results (or --dry-run)"
    return ""


# -- dry run -----------------------------------------------------------------------------------------------
def _forecast(study: Study, options: argparse.Namespace) -> int:
    need_device(options.device)
    found = sweep.forecast(study, options.jobs, options.judge, options.device, options.doubt)
    if options.progress == "json":
        _line("plan", **found.__dict__)
        return DONE
    console = out()
    for line in (f"{study.path.name}: {study.title}", _plan_text(study, found), *_cost_text(found, options.device)):
        console.print(line, markup=False, soft_wrap=True)
    return DONE


def _plan_text(study: Study, found: Forecast) -> str:
    plan = plan_of(study)
    each = SIZES.get(study.plan, "designs") != "designs"
    size = f"{study.size} {size_words(study.plan)}: " if each else ""
    inputs, designs, blocks, notes = (
        many(count, word)
        for count, word in (
            (plan.inputs, "input"),
            (found.designs, "design"),
            (found.blocks, "block"),
            (found.notes, "note"),
        )
    )
    return f"{study.plan} plan of {inputs}, {size}{designs} at {notes}, {blocks}"


def _cost_text(found: Forecast, device: str) -> tuple[str, ...]:
    where = "of this machine" if device == "cpu" else f"beside --device {device}"
    return (
        f"time: about {duration(found.seconds)} with {many(found.jobs, 'process', 'es')} {where} "
        f"({_short(found.each * 1e3)} ms for each design and note, measured; playing some again {found.judging:.0f} s)",
        f"size: about {max(found.size / 1e6, 0.1):.1f} MB",
        "dry run: nothing was written",
    )


def _short(value: float) -> str:
    """Two digits, never with a power of ten."""
    return f"{value:.2g}" if value < 99.5 else f"{value:.0f}"


def duration(seconds: float) -> str:
    """A time for people: "34 s", "12 min", "3.5 h"."""
    if not math.isfinite(seconds):
        return "?"
    if seconds < 100:
        return f"{math.ceil(seconds)} s"
    return f"{seconds / 60:.0f} min" if seconds < 5400 else f"{seconds / 3600:.1f} h"


# -- the sweep itself --------------------------------------------------------------------------------------
def _sweep(study: Study, options: argparse.Namespace) -> int:
    if options.cluster is not None:
        sweep_dask.quiet()
    if line := on_rail(study.case, study.notes, "trade", options.jobs):
        tell(f"note: {line}")
    try:
        with _progress(options.progress, options.device) as told:
            found = sweep.run_study(
                study,
                options.out,
                options.jobs,
                options.cluster,
                options.resume,
                options.judge,
                told,
                options.device,
                options.doubt,
            )
    except KeyboardInterrupt:
        again = sweep.resume_command(study, options.out, options.cluster, options.device, options.doubt)
        begun = sweep.begun(options.out)
        err().print(f"stopped; what was finished is kept. Go on with: {again}" if begun else "stopped", markup=False)
        return STOPPED
    return _summary(found, options)


def _summary(found: sweep.Swept, options: argparse.Namespace) -> int:
    counts = dict(found.counts)
    status = DONE if counts.get("ok") and not counts.get("lost") else FAILED
    if not counts.get("ok"):
        err().print("no design came out ok: not one has figures")
    if options.progress == "json":
        _line("done", results=str(found.path), counts=counts, judged=found.judged, seconds=round(found.seconds, 2))
        return status
    console, bad = out(), sum(counts.values()) - counts.get("ok", 0)
    told = ", ".join(f"{count} {name}" for name, count in counts.items())
    console.print(f"{many(sum(counts.values()), 'design')}, note by note: {told}", markup=False, soft_wrap=True)
    reasons = counted_by_cause(dict(found.reasons)).most_common()
    for reason, count in reasons[:3]:
        console.print(f"  {many(count, 'time')} {reason}", markup=False, soft_wrap=True)
    if bad and len(reasons) > 3:
        console.print(f"  and {many(len(reasons) - 3, 'other reason')}", markup=False)
    console.print(judged_text(found.judged), markup=False, soft_wrap=True)
    console.print(f"results: {found.path}. Next: keyaction sweep show {options.out}", markup=False, soft_wrap=True)
    if found.judged["beyond"]:
        err().print(
            "warning: designs played again as a check differ by more than is allowed; figures of designs like these "
            "hang on how exactly they are computed: trust them no further than that difference",
            soft_wrap=True,
        )
    return status


@contextmanager
def _progress(kind: str, device: str) -> Iterator[Told | None]:
    """A bar with rate and remaining time on a terminal, nothing in a pipe; or JSON lines."""
    first = "0/s" if device == "cpu" else "making code for the GPU"
    if kind == "json":
        yield _json_told()
        return
    with progress("designs", wanted=kind == "bar") as bar:

        def told(state: State) -> None:
            failed = f", {state.failed} failed" if state.failed else ""
            bar.at(state.done, state.total, (f"{state.rate:.0f}/s" if state.rate else first) + failed)

        yield told


def _json_told() -> Told:
    began = False

    def told(state: State) -> None:
        nonlocal began
        name, began = ("block" if began else "start"), True
        left = state.left if math.isfinite(state.left) else None
        _line(
            name,
            done=state.done,
            total=state.total,
            kept=state.kept,
            failed=state.failed,
            seconds=round(state.seconds, 2),
            rate=round(state.rate, 1),
            left=left if left is None else round(left, 1),
        )

    return told


def _line(event: str, **values: Any) -> None:
    print(json.dumps({"event": event, **values}), flush=True)
