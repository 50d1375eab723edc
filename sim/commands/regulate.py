"""keyaction regulate: from a measured sheet to what is turned, bent and laid in."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from rich.console import Console

from keyaction.cases.action.trains import sound_trains
from keyaction.cases.instrument.reader import is_instrument
from keyaction.cases.measured.sheet import read_sheet
from keyaction.cases.text.defects import CaseProblem, Defect
from keyaction.models.readings.readings import Readings
from keyaction.models.units.quantity import UnitProblem, format_value, parse_quantity
from keyaction.plots.onsite.page import save_page
from keyaction.plots.onsite.regulation import page_sheets
from keyaction.plots.report.browser import NoBrowser, NotPrinted, find_browser
from keyaction.sim.code.need_numba import need_numba
from keyaction.sim.commands.caution import CAUTION, INSIDE
from keyaction.sim.commands.chosen import Choice, Subject, only_one
from keyaction.sim.commands.common import BAD_INPUT, DONE, FAILED
from keyaction.sim.commands.console import out, tell
from keyaction.sim.commands.gathered import Gathered
from keyaction.sim.commands.kept_ticks import remove_stale, set_aside
from keyaction.sim.commands.on_rail import rail_said
from keyaction.sim.commands.progress import progress
from keyaction.sim.commands.sheet_tables import paragraph, show_sheet
from keyaction.sim.files.folders import refuse_unusable
from keyaction.sim.measuring.believed import believed
from keyaction.sim.measuring.historic import proposed_sheet
from keyaction.sim.regulating.aims import Aims
from keyaction.sim.regulating.order import stages
from keyaction.sim.regulating.regulate import Regulation, regulate
from keyaction.sim.regulating.sheets import proposed, sheets, work_sheet
from keyaction.sim.regulating.since import since, since_sheet, since_told
from keyaction.sim.regulating.told import told
from keyaction.sim.regulating.told_kept import supposed, tolerances
from keyaction.sim.tables.sheet import Sheet

_RANGES = {
    "level": ("m", 0.02e-3, 5e-3),
    "dip": ("m", 0.02e-3, 5e-3),
    "point": ("m", 0.02e-3, 10e-3),
    "even": ("1", 0.005, 1.0),
    "pitch": ("m", 0.1e-3, 2e-3),
}
_EVERY_NOTE = range(128)


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    need_numba()
    aims, wrong = _aims(options)
    try:
        browser = find_browser() if options.pdf else None
    except NoBrowser as problem:
        wrong.append(str(problem))
    if options.pdf and not options.out:
        wrong.append("--pdf: needs a folder to print into; name it with --out")
    gathered = Gathered(wrong)
    if options.out:
        refuse_unusable(options.out)
    choice = _chosen(options, gathered)
    subject = only_one(choice, "a sheet") if choice else None
    readings = gathered.tried(lambda: _read(options.measured, subject)) if subject else None
    older = gathered.tried(lambda: _read(options.before, subject)) if subject and options.before else None
    if gathered.wrong or choice is None or subject is None or readings is None:
        tell(gathered.told)
        return BAD_INPUT
    with progress("pressing", 1 + bool(older)) as bar:
        sheets_read = [one for one in (readings, older) if one]
        measured = {note for one in sheets_read for note in one.notes}
        trains = sound_trains(subject.case, sorted(measured | set(subject.notes)))
        whole = len(subject.case.compass)
        found = regulate(subject.case, trains, readings, aims, options.jobs, division=whole)
        bar.step("simulated again")
        same = found.state.bench
        before = regulate(subject.case, trains, older, aims, options.jobs, same, whole) if older else None
    chosen = found.only(subject.notes)
    before = before.only(subject.notes) if before else None
    shown = _Shown(subject, chosen, before, _couplers(choice, subject), options, browser)
    try:
        shown.show(out())
    except NotPrinted as problem:
        tell(str(problem))
        return FAILED
    return DONE


def _aims(options: argparse.Namespace) -> tuple[Aims, list[str]]:
    """What is aimed at, and every defect of the options."""
    given, wrong = dict[str, Any](), list[str]()
    for name, (unit, low, high) in _RANGES.items():
        text = getattr(options, name)
        if text is None:
            continue
        try:
            given[name] = parse_quantity(text, unit)
        except UnitProblem as problem:
            wrong.append(f"--{name}: {problem}")
            continue
        if not low <= given[name] <= high:
            ends = f"{format_value(low, unit)} to {format_value(high, unit)}"
            wrong.append(f"--{name} '{text}' is out of range; {ends} is allowed")
    if options.jobs < 0:
        wrong.append(f"--jobs {options.jobs}: must be 0 (one per core) or more")
    return Aims(**given, springs=options.springs), wrong


def _chosen(options: argparse.Namespace, gathered: Gathered) -> Choice | None:
    """What CASE names; of an instrument the division that the sheet names, where none is asked for."""
    if not options.division and gathered.tried(lambda: is_instrument(options.case)):
        sheet = gathered.tried(lambda: read_sheet(options.measured, _EVERY_NOTE))
        if sheet is None:
            return None
        if sheet.head.division:
            options.division = [sheet.head.division]
    return gathered.choice(options)


def _read(path: str, subject: Subject) -> Readings:
    readings = read_sheet(path, subject.case.compass, subject.case.naming)
    said = readings.head.division
    if subject.division and said and said != subject.division:
        where = Defect(path, "head", "division", f"'{said}'", f"is not the division asked for, '{subject.division}'")
        raise CaseProblem(readings.path or subject.case.path, [where])
    if not set(readings.notes) & set(subject.notes):
        asked = "no note of it has a reading" if not readings.notes else "no note that is asked for has a reading"
        raise CaseProblem(readings.path or subject.case.path, [Defect(path, "", "", "", asked)])
    return readings


def _couplers(choice: Choice, subject: Subject) -> list[str]:
    """Couplers of the instrument that take hold of the division."""
    every = choice.instrument.couplers.values() if choice.instrument else ()
    return [one.name for one in every if subject.division in (one.played, one.driven)]


@dataclass(frozen=True)
class _Shown:
    """What is found, as it is shown and written."""

    subject: Subject
    found: Regulation
    before: Regulation | None
    couplers: Sequence[str]
    options: argparse.Namespace
    browser: str | None

    def show(self, console: Console) -> None:
        """Sentences first, then stages and tables; the page where it is wanted."""
        units = self.options.units
        console.print(self.subject.title, style="bold", markup=False)
        odd, lines = self.odd(), self.lines()
        for line in [*odd, *lines]:
            paragraph(console, line)
        console.print()
        for k, (stage, words) in enumerate(self.order(), 1):
            paragraph(console, f"{k}. {stage}: {words}")
        progress_sheets = self.since()
        for sheet in [*progress_sheets, work_sheet(self.found, self.subject.name, units)]:
            if sheet.rows:
                show_sheet(console, sheet)
        for sheet in self.historic():
            for line in sheet.lines:
                paragraph(console, line)
        console.print()
        for line in [*supposed(self.found), tolerances(self.found.aims, units), CAUTION, INSIDE]:
            paragraph(console, line)
        if self.options.out:
            self.save(console, odd, lines, progress_sheets)

    def odd(self) -> list[str]:
        """What must be known of the sheet before anything is believed."""
        one = self.found
        found = believed(one.sheet, self.subject.case, one.whole, self.options.units, one.fitted).told
        rail = rail_said(self.subject.case, self.subject.notes, self.options.units, self.options.jobs)
        return [*self.proposals(), *rail, *found]

    def proposals(self) -> list[str]:
        """That nothing here is decided, where material is historic."""
        historic = self.subject.case.historic
        if historic is None:
            return []
        return [
            f"{historic.told()}. Every step below is a proposal, nuts and washers too: to be decided by {historic.who}"
            "; what is found is written down before it is touched."
        ]

    def lines(self) -> list[str]:
        """The answer."""
        units, name = self.options.units, self.subject.name
        lines = since_told(self.before, self.found, name, units) if self.before else []
        return [*lines, *told(self.found, name, units)]

    def order(self) -> list[tuple[str, str]]:
        """Stage after stage."""
        return stages(self.found, self.subject.name, self.options.units, self.couplers)

    def historic(self) -> list[Sheet]:
        """What is proposed, as it is written down of historic material, where the case is."""
        case = self.subject.case
        works = proposed(self.found, self.options.units) if case.historic else []
        return [proposed_sheet(works, case.historic, case.naming)] if works else []

    def since(self) -> list[Sheet]:
        """Progress, where there is an older sheet."""
        return [since_sheet(since(self.before, self.found))] if self.before else []

    def save(self, console: Console, odd: Sequence[str], lines: Sequence[str], more: Sequence[Sheet]) -> None:
        """The page to hang at the console, and a CSV file for each sheet."""
        units, name = self.options.units, self.subject.name
        every = [*more, *sheets(self.found, name, units), *self.historic()]
        first, *others = page_sheets(self.found, name, units)
        shown = [first, *more, *others, *self.historic()]
        kept = set_aside(self.options.out)
        files = save_page(
            self.options.out, "regulation", f"Regulation: {self.subject.title}", lines, shown, files=every,
            warnings=odd, steps=self.order(), blanks=("Date", "By"), cautions=(CAUTION, INSIDE), browser=self.browser,
        )  # fmt: skip
        remove_stale(self.options.out, [path.name for path in files])
        if kept:
            console.print(f"The console sheet there was filled in: it is kept as {kept.name}.", markup=False)
        console.print(f"written: {files[0].parent} ({', '.join(path.name for path in files)})", markup=False)
