"""keyaction tune: find the spring of every note for the pluck that is wanted."""

from __future__ import annotations

import argparse
from collections.abc import Mapping, Sequence

from rich.console import Console

from keyaction.cases.action.case import Case
from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import check_trains, select
from keyaction.cases.tuning.targets import FIELDS, Targets, TuneProblem, pluck_option, read_targets
from keyaction.models.notes import note_name
from keyaction.models.units.quantity import System
from keyaction.sim.commands.caution import CAUTION
from keyaction.sim.commands.common import BAD_INPUT, DONE, FAILED
from keyaction.sim.commands.console import err, out, tell
from keyaction.sim.commands.progress import progress
from keyaction.sim.commands.sheet_tables import paragraph, sheet_table
from keyaction.sim.files.taken import refuse_same, refuse_special, table
from keyaction.sim.files.text import refuse_unwritable, write_text
from keyaction.sim.tune.bench import Bench
from keyaction.sim.tune.new_case import check_text, refuse_taken, tuned_text, write_case
from keyaction.sim.tune.remedies import remedies
from keyaction.sim.tune.search import TunedNote, tune
from keyaction.sim.tune.sheet import freeing, stopped, tune_sheet
from keyaction.sim.tune.verify import Verified, unconfirmed, verify


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    try:
        return _act(options)
    except TuneProblem as problem:
        tell("\n".join(problem.defects))
        return BAD_INPUT


def _act(options: argparse.Namespace) -> int:
    if options.jobs < 0:
        raise TuneProblem([f"--jobs {options.jobs}: must be 0 (one per core) or more"])
    case = read_case(options.case)
    notes = sorted(select(case, options.notes))
    targets = read_targets(case, notes, options.targets, _given(options))
    check_trains(case, notes)
    _refuse(case, options)
    tuned = tune(case, notes, targets, options.jobs)
    console, forces = out(), {one.note: one.force for one in tuned if not one.kept}
    if all(one.faults for one in tuned):
        _rubbing(err(), case, tuned, targets, options.units)
        _name(err(), case, tuned, targets, options)
        raise TuneProblem([f"{case.path.name}: no note can be tuned like that; nothing was written"])
    text = tuned_text(case, forces, _about(options)) if options.out else ""
    if text:
        check_text(case, text, forces)
    seen = _verified(case, tuned, targets, options.jobs)
    console.print(case.title, style="bold", markup=False)
    _rubbing(console, case, tuned, targets, options.units)
    console.print(sheet_table(tune_sheet(tuned, seen, case.naming, options.units, brief=True)))
    _name(console, case, tuned, targets, options)
    doubts = unconfirmed(tuned, seen, targets)
    for note, words in doubts.items():
        paragraph(console, f"{note_name(note, case.naming)}: not confirmed by simulation: {'; '.join(words)}")
    if text:
        made = write_case(case, options.out, text)
        console.print(f"tuned case: {', '.join(map(str, made))}", markup=False, soft_wrap=True)
    if options.csv:
        write_text(options.csv, tune_sheet(tuned, seen, case.naming, options.units).csv())
        console.print(f"table: {options.csv}", markup=False, soft_wrap=True)
    paragraph(console, CAUTION)
    return FAILED if doubts or any(one.faults for one in tuned) else DONE


def _given(options: argparse.Namespace) -> dict[str, object]:
    """Options as a file of targets would have them."""
    given: dict[str, object] = {}
    for field in FIELDS:
        value = getattr(options, field.name)
        if value is not None:
            given |= pluck_option(value) if field.name == "pluck" else {field.name: value}
    return given


def _about(options: argparse.Namespace) -> str:
    """The targets in words, for a remark in the tuned case."""
    told = [f"{f.name} {getattr(options, f.name)}" for f in FIELDS if getattr(options, f.name) is not None]
    if options.targets:
        told.append(f"targets of {options.targets.name}")
    return " ".join("; ".join(told).split())


def _refuse(case: Case, options: argparse.Namespace) -> None:
    """Complain about files that cannot be written before anything is computed."""
    if options.out:
        refuse_unwritable(options.out, "--out")
        refuse_special(options.out, "--out")
        refuse_taken(case, options.out, options.force)
    if options.csv:
        refuse_unwritable(options.csv, "--csv", table(tune_sheet([], {}, case.naming, options.units).csv()))
    refuse_same(("--out", options.out), ("--csv", options.csv))


def _verified(case: Case, tuned: Sequence[TunedNote], targets: Targets, jobs: int) -> Mapping[int, Verified]:
    with progress("playing", len(tuned)) as bar:
        return verify(case, tuned, targets, jobs, lambda note: bar.step(f"played {note_name(note, case.naming):4}"))


def _name(
    console: Console, case: Case, tuned: Sequence[TunedNote], targets: Targets, options: argparse.Namespace
) -> None:
    """Name the notes that no spring tunes, what stops them, and what would free them."""
    units: System = options.units
    stuck = [i for i, one in enumerate(tuned) if one.faults and not one.rubbing]
    if not stuck:
        return
    console.print(f"\nInfeasible: {len(stuck)} of {len(tuned)} notes", style="bold")
    found = remedies(Bench(case, options.jobs), tuned, targets)
    for i in stuck:
        one = tuned[i]
        words = f"{stopped(one, targets, i, units)}."
        words += "" if one.reason else f" {freeing(one, found[one.note], units)}."
        paragraph(console, f"{note_name(one.note, case.naming)}: {words}")


def _rubbing(console: Console, case: Case, tuned: Sequence[TunedNote], targets: Targets, units: System) -> None:
    """Name the notes whose friction is to be looked into before any spring."""
    rubs = [(i, one) for i, one in enumerate(tuned) if one.rubbing]
    if rubs:
        console.print(f"\nFriction out of line: {len(rubs)} of {len(tuned)} notes", style="bold")
    for i, one in rubs:
        paragraph(console, f"{note_name(one.note, case.naming)}: {stopped(one, targets, i, units)}.")
