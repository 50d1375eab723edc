"""keyaction rail: does a floating rail cure it, and what load does it need."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import replace

from keyaction.cases.action.trains import select
from keyaction.sim.commands.caution import INSIDE
from keyaction.sim.commands.chosen import Choice, Subject, choose
from keyaction.sim.commands.common import BAD_INPUT, DONE, FAILED
from keyaction.sim.commands.console import err, out, tell
from keyaction.sim.commands.divisions import NotChosen, one_division
from keyaction.sim.commands.progress import progress
from keyaction.sim.commands.sheet_tables import paragraph, sheet_table
from keyaction.sim.commands.yearly import climate_of, wrong_folder, wrong_jobs
from keyaction.sim.files.taken import table
from keyaction.sim.files.text import refuse_unwritable, write_text
from keyaction.sim.floating.struck import Struck
from keyaction.sim.seasons.cured import cure_sheet, cure_told, made_fast, work_told
from keyaction.sim.seasons.engine import seasons
from keyaction.sim.seasons.held import rail_at_work
from keyaction.sim.seasons.rail_sheets import left_columns, left_sheet, rail_sheet
from keyaction.sim.seasons.season import DivisionSeason
from keyaction.sim.seasons.told import climate_told, rail_told
from keyaction.sim.tables.sheet import Sheet, joined


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    choice = _with_rail(choose(options, options.notes))
    if options.chord or options.struck:
        one_division([one.division for one in choice], "--chord" if options.chord else "--struck")
    chord = select(choice.chosen[0].case, ",".join(options.chord.replace(",", " ").split())) if options.chord else None
    wrong = [*wrong_jobs(options), *wrong_folder(options.plots, "--plots"), *_off(choice, chord)]
    if wrong:
        tell("\n".join(wrong))
        return BAD_INPUT
    year = climate_of(options)
    if options.csv:
        empty = [(one.division, Sheet("", "", left_columns(options.units), [])) for one in choice]
        refuse_unwritable(options.csv, "--csv", table(joined(empty).csv()))
    found, status = [], DONE
    for one in choice:
        with progress("a year with the rail made fast, and floating", 2) as bar:
            season = seasons(_floating(one), year, sorted(one.notes), options.jobs)
            bar.step(one.title)
            fixed = made_fast(season, options.jobs)
            bar.step(one.title)
        found.append(season)
        status = max(status, _show(one, season, fixed, chord, options))
    paragraph(out(), INSIDE)
    return max(status, _write(choice, found, options))


def _with_rail(choice: Choice) -> Choice:
    """The divisions that have a rail.

    Raises
    ------
    NotChosen
        If none has one.
    """
    kept = tuple(one for one in choice if one.case.frame is not None and one.case.frame.rail is not None)
    if not kept:
        named = ", ".join(one.division for one in choice if one.division)
        raise NotChosen(
            f"{named or choice.path.name}: no rail floats; state a [rail] with what it carries, towards, mass and load"
        )
    return replace(choice, chosen=kept)


def _off(choice: Choice, chord: Sequence[int] | None) -> list[str]:
    one = choice.chosen[0]
    lacking = [one.name(note) for note in chord or () if note not in one.notes]
    return [f"--chord: {', '.join(lacking)} not among --notes"] if lacking else []


def _floating(one: Subject):  # type: ignore[no-untyped-def]
    """The case with its rail set free, where it is made fast."""
    frame = one.case.frame
    assert frame is not None and frame.rail is not None
    return replace(one.case, frame=replace(frame, rail=replace(frame.rail, fixed=False)))


def _show(
    one: Subject,
    season: DivisionSeason,
    fixed: DivisionSeason,
    chord: Sequence[int] | None,
    options: argparse.Namespace,
) -> int:
    console, units = out(), options.units
    console.print(one.title, style="bold", markup=False)
    for sheet in (cure_sheet(fixed, season, units), rail_sheet(season, units), left_sheet(season, units)):
        console.print(sheet_table(sheet))
    console.print()
    for line in (cure_told(fixed, season), *rail_told(season, units), climate_told(season, units)):
        paragraph(console, f"- {line}")
    status, struck = DONE, None
    try:
        with progress("pressing", 1) as bar:
            work = rail_at_work(season, chord)
            bar.step(one.title)
        for line in work_told(season, work, units):
            paragraph(console, f"- {line}")
    except ValueError as problem:
        tell(str(problem))
        status = FAILED
    return status


def _write(choice: Choice, found: Sequence[DivisionSeason], options: argparse.Namespace) -> int:
    return DONE
