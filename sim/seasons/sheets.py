"""A year of a division as tables: month by month, note by note, and its rail."""

from __future__ import annotations

import math

import numpy as np

from keyaction.models.units.quantity import System
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.seasons.months import pieces
from keyaction.sim.seasons.ranges import ends, pair
from keyaction.sim.seasons.season import DivisionSeason, NoteSeason
from keyaction.sim.tables.sheet import Cell, Column, Sheet, in_units, value

CLIMATE_NOTE = (
    "Air: as the climate has it; its humidity is relative. Quick, slow: moisture content of that member or rod which "
    "follows the air soonest, and latest; '-': nothing is wood."
)
RAIL_PLACE = "Rail: its place from the centre, + the way its load draws it."
MONTHS_NOTE = (
    "Least and greatest over all notes and days of the piece of the year. Play: key travel before every rod carries, "
    "of keys on a pin; level: how much higher the front of a hung key stands than on the day of regulation. Pluck: "
    "key travel at which the pallet leaves its seat. Seat: least force of a pallet at rest on its seat. Margin: how "
    "much tighter, at the key, the run may yet be drawn before a note sounds unplayed, and the note in which it is "
    "least; below 0 that note sounds. '-': no note has it; a pallet that rests open "
    "does not pluck, and a run may come near no end of its margin."
)
_ALIKE = 1e-4
"""Moisture content below which two pieces follow alike."""
MOVED = "how much higher the front stands than on the day of regulation"


def climate_sheet(season: DivisionSeason, units: System) -> Sheet:
    """Air, wood and rail by the month: one row per piece of the year."""
    columns = climate_columns(units)
    if season.rail:
        columns += pair("rail", "place of the rail", "m", units, 2)
    rows = []
    for name, there in pieces(season.year).items():
        cells: list[Cell] = [name, *ends(season.year.temperature[there], "K", units)]
        cells += ends(100 * season.year.humidity[there], "1", units)
        for one in quick_and_slow(season):
            cells += ends(100 * season.moisture[one][there], "1", units) if one else (math.nan, math.nan)
        if season.rail:
            cells += ends(season.rail.place[there], "m", units)
        rows.append(cells)
    quick, slow = quick_and_slow(season)
    told = f"Quick is {quick}, slow {slow}." if quick != slow else "All wood follows alike." if quick else ""
    note = " ".join(filter(None, (CLIMATE_NOTE, told, RAIL_PLACE if season.rail else "")))
    title = "Air, wood and rail over the year" if season.rail else "Air and wood over the year"
    return Sheet("season-climate", title, columns, rows, note)


def climate_columns(units: System) -> list[Column]:
    """The columns of `climate_sheet`, but for the rail's."""
    return [
        Column("time", text=True),
        *pair("air", "temperature of the air", "K", units, 0),
        *_percents("RH", "relative humidity"),
        *_percents("quick", "moisture of what follows soonest"),
        *_percents("slow", "moisture of what follows latest"),
    ]


def quick_and_slow(season: DivisionSeason) -> tuple[str, str]:
    """What follows the air soonest and latest: the wood whose moisture goes most and least far; "" without any."""
    if not season.moisture:
        return "", ""
    width = {name: float(np.ptp(course)) for name, course in season.moisture.items()}
    quick, slow = (end(width, key=lambda name: width[name]) for end in (max, min))
    return (quick, quick) if width[quick] - width[slow] < _ALIKE else (quick, slow)


def months_sheet(season: DivisionSeason, units: System) -> Sheet:
    """What follows at the key, by the month: one row per piece of the year."""
    kinds = [one for one in _KINDS if any(note.balanced is one[0] for note in sound(season))]
    columns = [Column("time", text=True)]
    for _, _, short, full in kinds:
        columns += pair(short, full, "m", units, 2)
    columns += [
        *pair("dip", "key dip", "m", units, 1),
        in_units("lift\nleast", "m", units, 2),
        *pair("pluck", "plucks at", "m", units, 2),
        in_units("seat\nleast", "N", units, 1),
        in_units("margin\nleast", "m", units, 2),
        Column("of\nnote", text=True, full="note of the least margin"),
    ]
    rows: list[list[Cell]] = []
    for name, there in pieces(season.year).items():
        cells: list[Cell] = [name]
        for balanced, figure, _, _ in kinds:
            cells += ends(_of(season, figure, there, balanced), "m", units)
        cells += ends(_of(season, "key_dip", there), "m", units)
        cells.append(value(_least(_of(season, "steady_lift", there)), "m", units))
        cells += ends(_of(season, "pluck_point", there), "m", units)
        cells.append(value(_least(_of(season, "seat_load", there)), "N", units))
        margins = _of(season, "margin", there)
        cells += [value(_least(margins), "m", units), _worst(season, margins)]
        rows.append(cells)
    return Sheet("season-months", "What follows at the key, by the month", columns, rows, MONTHS_NOTE)


def follows(one: NoteSeason) -> str:
    """The figure in which a key shows what the wood does: play of a balanced one, level of a hung one."""
    return "lost_motion" if one.balanced else "level"


def sound(season: DivisionSeason) -> list[NoteSeason]:
    """The notes that have figures."""
    return [one for one in season.notes.values() if not one.failed]


_KINDS = (
    (True, "lost_motion", "play", "play of balanced keys"),
    (False, "level", "level", f"level of hung keys, {MOVED}"),
)


def _percents(short: str, full: str) -> list[Column]:
    return [Column(f"{short}\n{end}", "%", 1, full=f"{full}, {end}") for end in ("least", "most")]


def _least(values: Floats) -> float:
    return ends(values, "1", "si")[0]


def _of(season: DivisionSeason, figure: str, there: np.ndarray, balanced: bool | None = None) -> Floats:
    """A figure of the notes, all or those of one kind of key, over some instants; NaN rows of the others."""
    courses = season.over(figure)[:, there]
    if balanced is not None:
        courses[[one.balanced is not balanced for one in season.notes.values()]] = np.nan
    return courses


def _worst(season: DivisionSeason, margins: Floats) -> str:
    """The note in which a margin is least; of several alike the lowest."""
    if not np.any(np.isfinite(margins)):
        return "-"
    row = int(np.unravel_index(np.nanargmin(margins), margins.shape)[0])
    return list(season.notes.values())[row].name
