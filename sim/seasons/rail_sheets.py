"""The rail of a division over a year as tables: where it stands, and what it leaves to each note."""

from __future__ import annotations

import math

import numpy as np

from keyaction.models.units.quantity import System
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.seasons.months import days_of, pieces
from keyaction.sim.seasons.ranges import ends, pair
from keyaction.sim.seasons.season import DivisionSeason, NoteSeason
from keyaction.sim.tables.sheet import Cell, Column, Sheet, in_units, value

RAIL_NOTE = (
    "Place from the centre, + the way its load draws it; band: widest range of places in which friction holds it; "
    "pull: of all rods together, against the load; ahead, behind: days on which it stands at that stop; path: least "
    "and greatest over the notes, at the key, of how much shorter a run has become for what it has to join, with all "
    "that the rail takes up."
)
LEFT_NOTE = (
    "Path: how much shorter the run has become for what it has to join, at the key, + tighter; fixed: were the rail "
    "made fast at its centre; left: with the rail as it moves. Taken up: how much smaller the rail makes the note's "
    "range over the year; below 0 it makes it larger; '-': fixed or not, it does not change."
)


def without_rail(season: DivisionSeason, one: NoteSeason) -> Floats:
    """The tightening of a note at the key, m, were the rail made fast at its centre, (D,)."""
    course = one.figures["tightening"]
    if season.rail is None:
        return course
    way = one.tightness.way if one.tightness else 1.0
    return course - season.rail.gains[one.note] * season.rail.place / way


def rail_sheet(season: DivisionSeason, units: System) -> Sheet:
    """The rail by the month: place, dead band, pull, days at its stops, and what is left of the path.

    Raises
    ------
    ValueError
        If the division has no rail.
    """
    rail = season.rail
    if rail is None:
        raise ValueError(f"{season.division or season.case.title}: no rail floats")
    columns = [
        Column("time", text=True),
        *pair("place", "place of the rail", "m", units, 2),
        in_units("band", "m", units, 2),
        *pair("pull", "pull of all rods", "N", units, 0),
        Column("ahead", "d", 0, full="days at the stop ahead"),
        Column("behind", "d", 0, full="days at the stop behind"),
        *pair("path", "tightening left, at the key", "m", units, 2),
    ]
    rows: list[list[Cell]] = []
    left = season.over("tightening")
    for name, there in pieces(season.year).items():
        at = [float(days_of(season.year, there & (rail.at_stop == stop))) for stop in (1, -1)]
        band = value(float(np.max(rail.upper[there] - rail.lower[there])), "m", units)
        cells: list[Cell] = [name, *ends(rail.place[there], "m", units), band]
        cells += [*ends(rail.pull[there], "N", units), *at, *ends(left[:, there], "m", units)]
        rows.append(cells)
    return Sheet("season-rail", "The rail over the year", columns, rows, RAIL_NOTE)


def left_sheet(season: DivisionSeason, units: System) -> Sheet:
    """What the rail leaves to every note."""
    columns = left_columns(units)
    rows: list[list[Cell]] = []
    for one in season.notes.values():
        if one.failed:
            rows.append([f"{one.name}!", *([math.nan] * 5)])
            continue
        fixed, left = without_rail(season, one), one.figures["tightening"]
        width = float(np.ptp(fixed))
        share = 1 - float(np.ptp(left)) / width if width > 1e-9 else math.nan
        rows.append([one.name, *ends(fixed, "m", units), *ends(left, "m", units), 100 * share])
    return Sheet("season-left", "What the rail leaves to every note", columns, rows, LEFT_NOTE)


def left_columns(units: System) -> list[Column]:
    """The columns of `left_sheet`."""
    return [
        Column("note", text=True),
        *pair("fixed", "path with the rail fixed", "m", units, 2),
        *pair("left", "path left with the rail", "m", units, 2),
        Column("taken\nup", "%", 0, full="share of the range that the rail takes up"),
    ]
