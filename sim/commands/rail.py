"""keyaction rail: does a floating rail cure it, and what load does it need."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

from keyaction.cases.action.trains import select
from keyaction.cases.tuning.targets import TuneProblem
from keyaction.models.frame.frame import Frame
from keyaction.sim.code.need_numba import need_numba
from keyaction.sim.commands.caution import INSIDE
from keyaction.sim.commands.chosen import Choice, Subject, choose, not_the_instrument, only_one, put_back
from keyaction.sim.commands.common import BAD_INPUT, DONE, FAILED
from keyaction.sim.commands.console import err, out, tell
from keyaction.sim.commands.divisions import NotChosen, one_division
from keyaction.sim.commands.progress import progress
from keyaction.sim.commands.sheet_tables import paragraph, show_sheet
from keyaction.sim.commands.yearly import climate_of, some, wrong_folder, wrong_jobs
from keyaction.sim.files.taken import refuse_same, refuse_special, table
from keyaction.sim.files.text import refuse_unwritable, write_text
from keyaction.sim.floating.struck import Struck
from keyaction.sim.seasons.cured import cure_sheet, cure_told, made_fast
from keyaction.sim.seasons.engine import seasons
from keyaction.sim.seasons.held import rail_at_work, strike_chord
from keyaction.sim.seasons.nuts_written import nuts_text
from keyaction.sim.seasons.rail_sheets import left_columns, left_sheet, rail_sheet
from keyaction.sim.seasons.regulated import balanced, regulated_season
from keyaction.sim.seasons.season import DivisionSeason
from keyaction.sim.seasons.told import climate_told, rail_told
from keyaction.sim.seasons.worked import friction_allowed, struck_told, work_told
from keyaction.sim.tables.sheet import Sheet, joined
from keyaction.sim.tune.new_case import refuse_taken, write_case


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    need_numba()
    choice = _with_rail(choose(options, options.notes))
    if options.chord is not None and not options.chord.strip():
        raise NotChosen("--chord: name its notes, such as 'C3 E3 G3'")
    if options.chord or options.struck:
        one_division([one.division for one in choice], "--chord" if options.chord else "--struck")
    chord = select(choice.chosen[0].case, ",".join(options.chord.replace(",", " ").split())) if options.chord else None
    wrong = [*wrong_jobs(options), *wrong_folder(options.plots, "--plots"), *_wrong_out(choice, options)]
    if wrong:
        tell("\n".join(wrong))
        return BAD_INPUT
    year = climate_of(options)
    if options.csv:
        empty = [(one.division, Sheet("", "", left_columns(options.units), [])) for one in choice]
        refuse_unwritable(options.csv, "--csv", table(joined(empty).csv()))
    found, status = list[_Found](), DONE
    for one in choice:
        with progress("a year with the rail floating, and made fast", 2) as bar:
            season = seasons(one.case, year, None, options.jobs, _free(one))
            bar.step(one.title)
            fixed = made_fast(season, options.jobs)
            bar.step(one.title)
        ended, struck = _show(one, season, fixed, chord, options)
        found.append(_Found(season, struck))
        status = max(status, ended)
    paragraph(out(), INSIDE)
    return max(status, _write(choice, found, options))


class _Found(NamedTuple):
    """What a division is drawn from."""

    season: DivisionSeason
    struck: Struck | None


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


def _free(one: Subject) -> Frame:
    """The frame with its rail set free, where the case makes it fast."""
    frame = one.case.frame
    assert frame is not None and frame.rail is not None
    return replace(frame, rail=replace(frame.rail, fixed=False))


def _show(
    one: Subject,
    season: DivisionSeason,
    fixed: DivisionSeason,
    chord: Sequence[int] | None,
    options: argparse.Namespace,
) -> tuple[int, Struck | None]:
    """All that is to be said of one division; the exit status, and the motion where one is asked for."""
    console, units = out(), options.units
    console.print(one.title, style="bold", markup=False)
    show_sheet(console, cure_sheet(fixed, season, units))
    console.print()
    first, *others = cure_told(fixed, season, units)
    paragraph(console, f"- {first}")
    worked, struck = _worked(one, season, chord, options)
    for line in (*worked, *others, *rail_told(season, units), climate_told(season, units)):
        paragraph(console, f"- {line}")
    for sheet in (rail_sheet(season, units), left_sheet(some(season, one.notes), units)):
        show_sheet(console, sheet)
    return DONE if worked else FAILED, struck


def _worked(
    one: Subject, season: DivisionSeason, chord: Sequence[int] | None, options: argparse.Namespace
) -> tuple[list[str], Struck | None]:
    """What is to be said of the load and of played notes, nothing where they cannot be played; and the motion."""
    try:
        with progress("pressing every note", 1) as bar:
            work = rail_at_work(season, chord)
            bar.step(one.title)
        lines = work_told(season, work, options.units, friction_allowed(season, work))
        if not options.struck:
            return lines, None
        with progress("striking", 1) as bar:
            found, slowly = strike_chord(season, work.window.chord)
            bar.step(" ".join(found.struck))
        return [*lines, *struck_told(found, slowly, options.units)], found
    except ValueError as problem:
        tell(str(problem))
        return [], None


def _wrong_out(choice: Choice, options: argparse.Namespace) -> list[str]:
    """What is wrong with --out."""
    if not options.out:
        return []
    frame = only_one(choice, "--out").case.frame
    if frame is not None and frame.rail is not None and frame.rail.fixed:
        return ["--out: the case makes its rail fast, where it leaves all nuts as they are; take 'fixed' out first"]
    if wrong := not_the_instrument(choice, options.out):
        return wrong
    refuse_unwritable(options.out, "--out")
    refuse_special(options.out, "--out")
    refuse_same(("--out", options.out), ("--csv", options.csv))
    try:
        refuse_taken(only_one(choice, "--out").case, options.out, options.force)
    except TuneProblem as problem:
        return problem.defects
    return []


def _nuts(one: Subject, season: DivisionSeason, options: argparse.Namespace) -> int:
    """Write the case as the rail's load leaves it."""
    if not balanced(regulated_season(one.case, jobs=options.jobs)):
        tell(
            f"{options.out}: not written: with its load the rail stands at a stop, where it does not say how nuts are "
            "set; which loads work is told above"
        )
        return FAILED
    try:
        made = write_case(one.case, options.out, nuts_text(season))
    except ValueError as problem:
        tell(str(problem))
        return FAILED
    out().print(f"regulated case: {', '.join(map(str, made))}", markup=False, soft_wrap=True)
    for line in put_back(one, options):
        paragraph(out(), line)
    return DONE


def _write(choice: Choice, found: Sequence[_Found], options: argparse.Namespace) -> int:
    status = _nuts(choice.chosen[0], found[0].season, options) if options.out else DONE
    return max(status, _tables(choice, found, options))


def _tables(choice: Choice, found: Sequence[_Found], options: argparse.Namespace) -> int:
    if options.csv:
        pairs = zip(choice, found, strict=True)
        sheets = [(one.division, left_sheet(some(each.season, one.notes), options.units)) for one, each in pairs]
        write_text(options.csv, joined(sheets).csv())
        out().print(f"table: {options.csv}", markup=False, soft_wrap=True)
    return _drawn(choice, found, options) if options.plots else DONE


def _drawn(choice: Choice, found: Sequence[_Found], options: argparse.Namespace) -> int:
    from keyaction.plots.seasons.save import save_rail  # here, because it loads Matplotlib

    try:
        for one, each in zip(choice, found, strict=True):
            made = save_rail(each.season, options.plots / one.division, each.struck, options.units)
            out().print(f"pictures: {len(made)} in {options.plots / one.division}", markup=False, soft_wrap=True)
    except OSError as problem:
        err().print(str(problem), markup=False)
        return FAILED
    return DONE
