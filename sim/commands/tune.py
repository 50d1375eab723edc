"""keyaction tune: find the spring of every note for the pluck that is wanted, or the play of couplers."""

from __future__ import annotations

import argparse
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from rich.console import Console

from keyaction.cases.action.case import Case
from keyaction.cases.action.trains import check_trains
from keyaction.cases.tuning.targets import FIELDS, Targets, TuneProblem, pluck_option, read_targets
from keyaction.models.notes import note_name
from keyaction.models.units.quantity import System
from keyaction.sim.commands.caution import CAUTION
from keyaction.sim.commands.chosen import Choice, Subject, not_the_instrument, only_one, put_back
from keyaction.sim.commands.common import BAD_INPUT, DONE, FAILED
from keyaction.sim.commands.console import err, out, tell
from keyaction.sim.commands.gathered import Gathered
from keyaction.sim.commands.historic_told import tell_historic
from keyaction.sim.commands.on_rail import tell_pulled, tell_rail
from keyaction.sim.commands.progress import progress
from keyaction.sim.commands.regulating import refuse_of_couplers, regulate
from keyaction.sim.commands.sheet_tables import paragraph, sheet_table
from keyaction.sim.commands.yearly import wrong_jobs
from keyaction.sim.files.taken import refuse_same, refuse_special, table
from keyaction.sim.files.text import refuse_unwritable, write_text
from keyaction.sim.tables.sheet import Sheet, joined
from keyaction.sim.tune.bench import Bench
from keyaction.sim.tune.new_case import check_text, refuse_taken, tuned_text, write_case
from keyaction.sim.tune.remedies import remedies
from keyaction.sim.tune.search import TunedNote, tune
from keyaction.sim.tune.sheet import freeing, stopped, tune_sheet
from keyaction.sim.tune.verify import Verified, unconfirmed, verify


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    try:
        if options.coupler_play:
            return regulate(options, [field.name for field in FIELDS])
        refuse_of_couplers(options)
        return _act(options)
    except TuneProblem as problem:
        tell("\n".join(problem.defects))
        return BAD_INPUT


def _act(options: argparse.Namespace) -> int:
    gathered = Gathered(wrong_jobs(options))
    choice = gathered.choice(options)
    if choice and options.out:
        only_one(choice, "--out")
    read = [gathered.tried(partial(_targets, one, options)) for one in choice or ()]
    targets = [one for one in read if one]
    if choice is None or gathered.wrong:
        raise TuneProblem(gathered.wrong)
    choice.each(lambda one: check_trains(one.case, sorted(one.notes)))
    _refuse(choice, options)
    tell_rail(choice, options.units, options.jobs)
    tell_pulled(choice)
    made = [_tuned(one, wanted, options) for one, wanted in zip(choice, targets, strict=True)]
    if options.csv and (sheets := [(one.division, of.sheet) for one, of in zip(choice, made, strict=True) if of.sheet]):
        write_text(options.csv, joined(sheets).csv())
        out().print(f"table: {options.csv}", markup=False, soft_wrap=True)
    if any(one.sheet for one in made):
        paragraph(out(), CAUTION)
    statuses = {one.status for one in made}
    return FAILED if len(statuses) > 1 else statuses.pop()


@dataclass(frozen=True)
class _Tuned:
    """What came of a case: the exit status, and the sheet of it; None where no note could be tuned."""

    status: int
    sheet: Sheet | None = None


def _tuned(chosen: Subject, targets: Targets, options: argparse.Namespace) -> _Tuned:
    """Tune one case, show and write what is found."""
    case = chosen.case
    tuned = tune(case, sorted(chosen.notes), targets, options.jobs)
    console, forces = out(), {one.note: one.force for one in tuned if not one.kept}
    if all(one.faults for one in tuned):
        _rubbing(err(), chosen, tuned, targets, options.units)
        _name(err(), chosen, tuned, targets, options)
        tell(f"{chosen.division or case.path.name}: no note can be tuned like that; nothing was written")
        return _Tuned(BAD_INPUT)
    text = tuned_text(case, forces, _about(options)) if options.out else ""
    if text:
        check_text(case, text, forces)
    seen = _verified(case, tuned, targets, options.jobs)
    console.print(chosen.title, style="bold", markup=False)
    _rubbing(console, chosen, tuned, targets, options.units)
    console.print(sheet_table(tune_sheet(tuned, seen, case.naming, options.units, brief=True)))
    _name(console, chosen, tuned, targets, options)
    doubts = unconfirmed(tuned, seen, targets)
    for note, words in doubts.items():
        paragraph(console, f"{chosen.name(note)}: not confirmed by simulation: {'; '.join(words)}")
    if text:
        made = write_case(case, options.out, text)
        console.print(f"tuned case: {', '.join(map(str, made))}", markup=False, soft_wrap=True)
        for line in put_back(chosen, options):
            paragraph(console, line)
    tell_historic(case, "swap-spring", "spring")
    status = FAILED if doubts or any(one.faults for one in tuned) else DONE
    return _Tuned(status, tune_sheet(tuned, seen, case.naming, options.units))


def _targets(chosen: Subject, options: argparse.Namespace) -> Targets:
    return read_targets(chosen.case, sorted(chosen.notes), options.targets, _given(options))


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


def _refuse(choice: Choice, options: argparse.Namespace) -> None:
    """Complain about files that cannot be written before anything is computed."""
    if options.out:
        if wrong := not_the_instrument(choice, options.out):
            raise TuneProblem(wrong)
        refuse_unwritable(options.out, "--out")
        refuse_special(options.out, "--out")
        refuse_taken(choice.chosen[0].case, options.out, options.force)
    if options.csv:
        empty = [(one.division, tune_sheet([], {}, one.case.naming, options.units)) for one in choice]
        refuse_unwritable(options.csv, "--csv", table(joined(empty).csv()))
    refuse_same(("--out", options.out), ("--csv", options.csv))


def _verified(case: Case, tuned: Sequence[TunedNote], targets: Targets, jobs: int) -> Mapping[int, Verified]:
    with progress("playing", len(tuned)) as bar:
        return verify(case, tuned, targets, jobs, lambda note: bar.step(f"played {note_name(note, case.naming):4}"))


def _name(
    console: Console, chosen: Subject, tuned: Sequence[TunedNote], targets: Targets, options: argparse.Namespace
) -> None:
    """Name the notes that no spring tunes, what stops them, and what would free them."""
    units: System = options.units
    stuck = [i for i, one in enumerate(tuned) if one.faults and not one.rubbing]
    if not stuck:
        return
    console.print(f"\nInfeasible: {len(stuck)} of {len(tuned)} notes", style="bold")
    found = remedies(Bench(chosen.case, options.jobs), tuned, targets)
    for i in stuck:
        one = tuned[i]
        words = f"{stopped(one, targets, i, units)}."
        words += "" if one.reason else f" {freeing(one, found[one.note], units)}."
        paragraph(console, f"{chosen.name(one.note)}: {words}")


def _rubbing(console: Console, chosen: Subject, tuned: Sequence[TunedNote], targets: Targets, units: System) -> None:
    """Name the notes whose friction is to be looked into before any spring."""
    rubs = [(i, one) for i, one in enumerate(tuned) if one.rubbing]
    if rubs:
        console.print(f"\nFriction out of line: {len(rubs)} of {len(tuned)} notes", style="bold")
    for i, one in rubs:
        paragraph(console, f"{chosen.name(one.note)}: {stopped(one, targets, i, units)}.")
