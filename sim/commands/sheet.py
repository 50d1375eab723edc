"""keyaction sheet: a sheet to be filled in at the instrument, as CSV and to print."""

from __future__ import annotations

import argparse
from collections.abc import Mapping, Sequence
from pathlib import Path

from keyaction.cases.action.trains import check_trains
from keyaction.cases.measured.writing import written
from keyaction.models.notes import note_name
from keyaction.models.readings.figures import NAMES
from keyaction.models.readings.readings import Readings
from keyaction.models.train.train import Train
from keyaction.plots.report.browser import NoBrowser, NotPrinted, find_browser
from keyaction.sim.code.need_numba import need_numba
from keyaction.sim.commands.caution import CAUTION, INSIDE
from keyaction.sim.commands.chosen import Choice, Subject, choose
from keyaction.sim.commands.common import BAD_INPUT, DONE, FAILED
from keyaction.sim.commands.console import out, tell
from keyaction.sim.commands.on_rail import rail_said
from keyaction.sim.commands.sheet_tables import paragraph, show_sheet
from keyaction.sim.commands.yearly import wrong_jobs
from keyaction.sim.files.folders import refuse_unusable
from keyaction.sim.files.taken import PAGE, Kind, refuse_taken
from keyaction.sim.files.text import write_text
from keyaction.sim.measuring.blank import (
    ORDERS,
    blank_head,
    expected,
    expected_rows,
    form_sheet,
    steps,
    stops_drawn,
    trial_notes,
)
from keyaction.sim.tables.sheet import Column, Sheet

NAME = "sheet"
FILE = f"{NAME}.csv"
_KIND = Kind("sheet of this program", lambda head: head.startswith(b"case,"))
_BLANKS = ("date", "temperature", "humidity", "pressure", "measured by")


def act(options: argparse.Namespace) -> int:
    """Carry the command out; whatever can be refused is refused before anything is computed or written."""
    need_numba()
    try:
        browser = find_browser() if options.pdf else None
    except NoBrowser as problem:
        tell(str(problem))
        return BAD_INPUT
    choice = choose(options, options.notes)
    trains = choice.each(lambda one: check_trains(one.case, sorted(one.notes)))
    refuse_unusable(options.out)
    wrong = [*wrong_jobs(options), *_there(choice, options)]
    if wrong:
        tell("\n".join(wrong))
        return BAD_INPUT
    for one in choice:
        refuse_taken(options.out / one.division / f"{NAME}.html", PAGE)
    for one, of in zip(choice, trains, strict=True):
        status = _made(one, of, browser, options)
        if status != DONE:
            return status
    return DONE


def _there(choice: Choice, options: argparse.Namespace) -> list[str]:
    """Sheets that are there already: somebody may have filled them in."""
    found = []
    for one in choice:
        path = options.out / one.division / FILE
        if path.exists() and not options.force:
            found.append(
                f"{path}: is there already, and may be filled in; choose another --out, or write over it with --force"
            )
        elif path.exists():
            refuse_taken(path, _KIND)
    return found


def _made(one: Subject, trains: Mapping[int, Train], browser: str | None, options: argparse.Namespace) -> int:
    from keyaction.plots.onsite.page import save_page  # here, because it loads what makes pages
    from keyaction.plots.onsite.tables import Form

    case, units, folder = one.case, options.units, options.out / one.division
    notes = ORDERS[options.order](one.notes)
    found = expected(case, trains, options.jobs)
    form = form_sheet(case, notes, {note: i for i, note in enumerate(trains)}, found, units)
    stops = stops_drawn(trains)
    told = [*rail_said(case, notes, units, options.jobs), *_silent(notes, trains, found.speech, one)]
    facts = [("case", case.title), ("key", case.fingerprint[:8]), ("notes", str(len(notes)))]
    facts += [("division", one.division)] if one.division else []
    facts += [("stops drawn", ", ".join(stops))] if stops else []
    historic = _historic(one)
    failed = ""
    try:
        save_page(
            folder,
            NAME,
            f"On site: {one.title}",
            told,
            [],
            browser=browser,
            facts=facts,
            blanks=_BLANKS,
            steps=[("", step) for step in steps(case, notes, stops, units)],
            forms=[Form(form, range(1, len(form.columns)))],
            cautions=[*historic, INSIDE, CAUTION],
        )
    except NotPrinted as problem:
        failed = f"{problem}; {folder / NAME}.html is whole and prints from any browser"
    write_text(folder / FILE, written(Readings(blank_head(case)), notes, NAMES, case.naming, units))
    _show(one, folder, form, told, historic, options)
    if failed:
        tell(failed)
        return FAILED
    return DONE


def _silent(notes: Sequence[int], trains: Mapping[int, Train], speech: Sequence[str], one: Subject) -> list[str]:
    """Notes of which something else than speech is expected as they are drawn."""
    words = dict(zip(trains, speech, strict=True))
    found: dict[str, list[str]] = {}
    for note in notes:
        if words[note] != "speaks":
            found.setdefault(words[note] or "cannot be pressed", []).append(one.name(note))
    return [f"As it is drawn it {word}: {', '.join(names)}." for word, names in found.items()]


def _historic(one: Subject) -> list[str]:
    historic = one.case.historic
    if historic is None:
        return []
    rule = "Write down as found before anything is touched; nothing is taken out, and what is measured leaves no mark"
    return [f"{historic.told()}. {rule}."]


def _show(
    one: Subject, folder: Path, form: Sheet, told: Sequence[str], historic: Sequence[str], options: argparse.Namespace
) -> None:
    console = out()
    console.print(one.title, style="bold", markup=False)
    for line in told:
        paragraph(console, f"- {line}")
    count = "1 note" if len(one.notes) == 1 else f"{len(one.notes)} notes"
    rows: list[list[float | str]] = [
        [FILE, f"to fill in: {count}; the head names the case"],
        [f"{NAME}.html", "to print: the same, what is expected, the order of work"],
    ]
    rows += [[f"{NAME}.pdf", "the page printed on A4"]] if options.pdf else []
    columns = [Column("file", text=True), Column("what", text=True)]
    show_sheet(console, Sheet("files", f"In {folder}", columns, rows))
    names = [note_name(note, one.case.naming) for note in trial_notes(one.notes)]
    show_sheet(console, expected_rows(form, names))
    console.print()
    for line in (*historic, INSIDE, CAUTION):
        paragraph(console, line)
    division = f" --division {one.division}" if one.division else ""
    paragraph(console, "When it is filled in, with holes where nothing was read:")
    for command in ("regulate", "diagnose"):
        console.print(f"  keyaction {command} {options.case}{division} {folder / FILE}", markup=False, soft_wrap=True)
