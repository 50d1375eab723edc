"""The seasonal sheets of a report: a year of air and wood, its first ciphers, what the rail takes up."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from keyaction.models.units.quantity import System, format_value
from keyaction.plots.report.pictures import Picture, png
from keyaction.plots.report.words import Caution, Finding
from keyaction.sim.seasons.drift import DRIFT
from keyaction.sim.seasons.result import cipher_days
from keyaction.sim.tables.sheet import Cell, Column, Sheet, in_units, value

if TYPE_CHECKING:
    from keyaction.sim.seasons.season import DivisionSeason

CAUTION = Caution(
    "Regulating by the seasons",
    "Note the day, the temperature and the humidity beside every nut that is turned, and how far: what was found can "
    "then be set again. Set for the year and not for the day, common places before single nuts; a turn that cures a "
    "dry spell is play in the damp. Bring air outside the guidance back before anything is cut, planed or replaced.",
)
SOURCES = (
    "Moisture of wood: S. V. Glass, S. L. Zelinka, Wood Handbook, USDA Forest Products Laboratory, FPL-GTR-282, 2021, "
    "ch. 4, eq. 4-5; shrinkage and growth by heat: as listed with each material.",
    "Diffusion of moisture in wood: A. Sanchez-Ferrer, D. Engelhardt, Scientific Reports, 2026 (abstract).",
)
ADVICE = 2
"""Lines of advice on the note that sounds first: what is wrong, and what to do first; `adjust` has the rest."""
_FIRST_NOTE = (
    "In the order in which they begin. From: first day of the climate on which the note sounds unplayed; days: on how "
    "many it does; too tight: at its worst, at the key, on the day beside it."
)


def season_sheets(season: DivisionSeason | None, units: System, whole: DivisionSeason | None = None) -> list[Sheet]:
    """Air, wood and rail by the month; what follows; first ciphers; every note; the rail. Nothing without a year.

    `whole` has all notes that hold a rail, by default those of `season`.
    """
    if season is None:
        return []
    from keyaction.models.climate.guidance import remarks
    from keyaction.sim.seasons.notes_sheets import notes_sheet
    from keyaction.sim.seasons.rail_sheets import left_sheet, rail_sheet
    from keyaction.sim.seasons.sheets import climate_sheet, months_sheet
    from keyaction.sim.seasons.told import sentences

    guidance = [f"{one.severity}: {one.text} ({one.source})" for one in remarks(season.year)]
    air = climate_sheet(season, units)
    notes = notes_sheet(season, units, DRIFT, format_value(DRIFT, "m", units))
    found = [
        replace(air, lines=[*sentences(season, units, DRIFT), *guidance]),
        months_sheet(season, units),
        *([_advised(season, whole or season, units)] if any(one.cipher >= 0 for one in season.notes.values()) else []),
        notes,
    ]
    if not season.rail:
        return found
    rail = replace(rail_sheet(season, units), lines=_at_work(whole or season, units))
    return [*found, rail, left_sheet(season, units)]


def _at_work(whole: DivisionSeason, units: System) -> list[str]:
    """Whether the rail's load works, and which loads do."""
    from keyaction.sim.seasons.held import rail_at_work
    from keyaction.sim.seasons.worked import friction_allowed, work_told

    try:
        work = rail_at_work(whole)
        return work_told(whole, work, units, friction_allowed(whole, work))
    except ValueError as problem:
        return [f"Loads with which the rail works are not known: {problem}."]


def _advised(season: DivisionSeason, whole: DivisionSeason, units: System) -> Sheet:
    """First ciphers, and what to do first about the note that sounds first."""
    from keyaction.sim.seasons.adjust import CannotAdjust, adjust
    from keyaction.sim.seasons.adjusted import told

    sounding = (one for one in season.notes.values() if one.cipher >= 0)
    first = min(sounding, key=lambda one: (one.cipher, one.note))
    try:
        lines = told(adjust(whole, first.note), season.year, units)[:ADVICE]
    except CannotAdjust:
        lines = []
    return replace(first_sheet(season, units), lines=lines)


def first_sheet(season: DivisionSeason, units: System) -> Sheet:
    """Schedule of first ciphers: the notes that sound unplayed, in the order in which they begin."""
    columns = [
        Column("note", text=True),
        Column("from", text=True),
        Column("days", "", 0),
        in_units("too tight", "m", units, 2),
        Column("on", text=True),
    ]
    sounding = sorted((one for one in season.notes.values() if one.cipher >= 0), key=lambda one: (one.cipher, one.note))
    rows: list[list[Cell]] = []
    for one in sounding:
        margin = one.figures["margin"]
        worst = int(np.nanargmin(margin)) if np.any(np.isfinite(margin)) else one.cipher
        tight = value(-float(margin[worst]), "m", units) if np.isfinite(margin[worst]) else math.nan
        day = season.year.when
        rows.append([one.name, day(one.cipher), float(cipher_days(season, one)), tight, day(worst)])
    return Sheet("season-ciphers", "First ciphers of the year", columns, rows, _FIRST_NOTE)


def season_pictures(season: DivisionSeason | None, units: System) -> list[Picture]:
    """The year over the compass, the rail, and the note that is worst off."""
    if season is None:
        return []
    from keyaction.plots.seasons.compass_year import compass_year
    from keyaction.plots.seasons.note_year import note_year
    from keyaction.plots.seasons.rail_year import rail_year

    found = [Picture("year-compass", "A year over the compass", png(compass_year(season, units)))]
    if season.rail:
        found.append(Picture("year-rail", "The rail over the year", png(rail_year(season, units))))
    known = [one for one in season.notes.values() if not one.failed and np.any(np.isfinite(one.figures["margin"]))]
    if known:
        worst = min(known, key=lambda one: float(np.nanmin(one.figures["margin"])))
        title = f"A year of {worst.name}, which has the least margin"
        found.append(Picture(f"year-{worst.note}", title, png(note_year(season, worst.name, units))))
    return found


def season_findings(season: DivisionSeason | None, units: System) -> list[Finding]:
    """What the summary says of the year: its climate, and the first that sounds unplayed."""
    if season is None:
        return []
    from keyaction.sim.seasons.told import ciphers_told, climate_told, mute_told

    sounds = any(one.cipher >= 0 for one in season.notes.values())
    told = [Finding(line, sounds) for line in ciphers_told(season, units)]
    told += [Finding(line, True) for line in mute_told(season)]
    return [Finding(f"A year. {climate_told(season, units)}"), *told]


def season_cautions(season: DivisionSeason | None) -> tuple[Caution, ...]:
    """What to beware of when nuts are turned by the seasons."""
    return () if season is None else (CAUTION,)


def season_sources(season: DivisionSeason | None) -> tuple[str, ...]:
    """What the seasonal sheets rest on."""
    return () if season is None else SOURCES
