"""keyaction seasons: what a year of air and wood does to an action."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from functools import partial

from keyaction.models.climate.guidance import remarks
from keyaction.models.climate.year import Year
from keyaction.models.units.quantity import System, format_value
from keyaction.sim.code.need_numba import need_numba
from keyaction.sim.commands.caution import INSIDE
from keyaction.sim.commands.chosen import Choice, Subject
from keyaction.sim.commands.common import BAD_INPUT, DONE, FAILED
from keyaction.sim.commands.console import err, out, tell
from keyaction.sim.commands.gathered import Gathered
from keyaction.sim.commands.progress import progress
from keyaction.sim.commands.sheet_tables import paragraph, show_sheet
from keyaction.sim.commands.yearly import climate_of, length, some, wrong_folder, wrong_jobs, years
from keyaction.sim.files.taken import table
from keyaction.sim.files.text import refuse_unwritable, write_text
from keyaction.sim.seasons.notes_sheets import file_columns, file_sheet, notes_sheet
from keyaction.sim.seasons.season import DivisionSeason
from keyaction.sim.seasons.sheets import climate_columns, climate_sheet, months_sheet
from keyaction.sim.seasons.told import sentences
from keyaction.sim.tables.sheet import Sheet, joined

_LEAST, _MOST = 1e-6, 0.1
"""m: drifts that may be asked for."""


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    need_numba()
    drift, wrong = length("--drift", options.drift, _LEAST, _MOST)
    gathered = Gathered([*wrong, *wrong_jobs(options), *wrong_folder(options.plots, "--plots")])
    wrong, choice = gathered.wrong, gathered.choice(options)
    single = gathered.tried(partial(choice.one_note, options.note)) if choice else None
    year = gathered.tried(lambda: climate_of(options))
    if options.csv and options.months and options.csv.absolute() == options.months.absolute():
        wrong.append(f"--months {options.months}: --csv goes there already; name another file")
    if wrong or choice is None or single is None:
        tell(gathered.told)
        return BAD_INPUT
    if options.note:
        choice = Choice(choice.instrument, single.chosen, choice.coupling)
    told = format_value(drift, "m", options.units)
    for path, option, columns in (
        (options.csv, "--csv", file_columns(options.units, told)),
        (options.months, "--months", climate_columns(options.units)),
    ):
        if path:
            empty = [(one.division, Sheet("", "", columns, [])) for one in choice]
            refuse_unwritable(path, option, table(joined(empty).csv()))
    found = years(choice, year, options.jobs)
    shown = [some(season, one.notes[:1]) if options.note else season for one, season in zip(choice, found, strict=True)]
    for one, season in zip(choice, shown, strict=True):
        _show(one, season, drift, options)
        if options.compare:
            _compare(one, season, options)
    for air in {season.year.name: season.year for season in shown}.values():
        _climate(air)
    paragraph(out(), INSIDE)
    status = _write(choice, shown, drift, options)
    failed = any(note.failed for season in shown for note in season.notes.values())
    return FAILED if failed else status


def _climate(year: Year) -> None:
    """Where the climate leaves published guidance, each with its source."""
    console = out()
    for one in remarks(year):
        paragraph(console, f"- {one.severity}: {one.text} ({one.source})")


def _show(one: Subject, season: DivisionSeason, drift: float, options: argparse.Namespace) -> None:
    console, units = out(), options.units
    console.print(one.title, style="bold", markup=False)
    for line in sentences(season, units, drift):
        paragraph(console, f"- {line}")
    show_sheet(console, climate_sheet(season, units))
    show_sheet(console, months_sheet(season, units))
    show_sheet(console, notes_sheet(season, units, drift, format_value(drift, "m", units)))
    console.print()


def _compare(one: Subject, season: DivisionSeason, options: argparse.Namespace) -> None:
    """Variants of the division over the same year."""
    from keyaction.sim.seasons.compared import compared  # here, because few ask for it
    from keyaction.sim.seasons.compared_sheets import compared_sheet

    with progress(f"comparing {one.title}", 1) as bar:
        found = compared(one.case, jobs=options.jobs, base=season)
        bar.step(one.title)
    sheet, console = compared_sheet(found, options.units), out()
    show_sheet(console, sheet)
    for line in sheet.lines:
        paragraph(console, f"- {line}")


def _write(choice: Choice, found: Sequence[DivisionSeason], drift: float, options: argparse.Namespace) -> int:
    pairs = [(one.division, season) for one, season in zip(choice, found, strict=True)]
    units, told = options.units, format_value(drift, "m", options.units)
    if options.csv:
        sheets = [(name, file_sheet(season, units, drift, told)) for name, season in pairs]
        write_text(options.csv, joined(sheets).csv())
        out().print(f"table: {options.csv}", markup=False, soft_wrap=True)
    if options.months:
        write_text(options.months, joined([(name, by_month(season, units)) for name, season in pairs]).csv())
        out().print(f"table: {options.months}", markup=False, soft_wrap=True)
    return _drawn(choice, found, options) if options.plots else DONE


def by_month(season: DivisionSeason, units: System) -> Sheet:
    """Both tables by the month in one."""
    air, keys = climate_sheet(season, units), months_sheet(season, units)
    rows = [[*one, *list(other)[1:]] for one, other in zip(air.rows, keys.rows, strict=True)]
    return Sheet("season", air.title, [*air.columns, *list(keys.columns)[1:]], rows)


def _drawn(choice: Choice, found: Sequence[DivisionSeason], options: argparse.Namespace) -> int:
    from keyaction.plots.seasons.save import save_season  # here, because it loads Matplotlib

    try:
        for one, season in zip(choice, found, strict=True):
            notes = list(season.notes) if options.note else None
            made = save_season(season, options.plots / one.division, notes, options.units)
            out().print(f"pictures: {len(made)} in {options.plots / one.division}", markup=False, soft_wrap=True)
    except OSError as problem:
        err().print(str(problem), markup=False)
        return FAILED
    return DONE
