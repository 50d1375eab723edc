"""Does a floating rail cure it, and what load: a year with the rail made fast beside the same with it floating."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from keyaction.models.units.quantity import System
from keyaction.sim.seasons.engine import seasons
from keyaction.sim.seasons.ranges import ends
from keyaction.sim.seasons.result import cipher_days
from keyaction.sim.seasons.said import force, length
from keyaction.sim.seasons.season import NOTHING, DivisionSeason
from keyaction.sim.seasons.sheets import follows, sound
from keyaction.sim.tables.sheet import Cell, Column, Sheet, in_units, value

_NOTE = (
    "Path: range over the year, at the key, of how much shorter a run has become for what it has to join: of the mean "
    "of all notes, and of the note that moves most. Drift: widest range of play of a balanced key or level of a hung "
    "one. Margin: least of any note on any day; below 0 it sounds unplayed. Sound: notes that do on some day, from the "
    "first day on; '-': never."
)


def made_fast(season: DivisionSeason, jobs: int = 0) -> DivisionSeason:
    """The same year with the rail made fast at its centre."""
    rail = season.frame.rail
    fixed = replace(season.frame, rail=replace(rail, fixed=True) if rail else None)
    return seasons(season.case, season.year, list(season.notes), jobs, fixed)


def cure_sheet(fixed: DivisionSeason, floating: DivisionSeason, units: System) -> Sheet:
    """The rail made fast, and floating: what is left of the paths, margins, and how many notes sound."""
    columns = [
        Column("rail", text=True),
        in_units("path,\nmean", "m", units, 2),
        in_units("path,\nworst", "m", units, 2),
        in_units("drift,\nworst", "m", units, 2),
        in_units("margin,\nleast", "m", units, 2),
        Column("of\nnote", text=True, full="note of the least margin"),
        Column("sound", "", 0, full="notes that sound unplayed"),
        Column("from", text=True, full="first day on which one sounds"),
        Column("days", "", 0, full="most days that one sounds"),
    ]
    rows = [_row("made fast", fixed, units), _row("floating", floating, units)]
    return Sheet("season-cure", "Does the floating rail cure it?", columns, rows, _NOTE)


def _row(name: str, season: DivisionSeason, units: System) -> list[Cell]:
    notes = sound(season)
    if not notes:
        return [name, *([math.nan] * 4), "-", math.nan, "-", math.nan]
    paths = np.array([one.figures["tightening"] for one in notes])
    tight = min(notes, key=lambda one: float(np.nanmin(one.figures["margin"], initial=np.inf)))
    sounding = [one for one in notes if one.cipher >= 0]
    first = min((one.cipher for one in sounding), default=-1)
    drift = max(_width(one.figures[follows(one)]) for one in notes)
    return [
        name,
        value(_width(np.mean(paths, axis=0)), "m", units),
        value(max(_width(path) for path in paths), "m", units),
        value(drift, "m", units),
        ends(tight.figures["margin"], "m", units)[0],
        tight.name,
        float(len(sounding)),
        season.year.when(first) if first >= 0 else "-",
        float(max((cipher_days(season, one) for one in sounding), default=0)),
    ]


def _width(course: np.ndarray) -> float:
    low, high = ends(course, "1", "si")
    return high - low if math.isfinite(high - low) else 0.0


def cure_told(fixed: DivisionSeason, floating: DivisionSeason, units: System) -> list[str]:
    """The answer in sentences: which notes sound, and how far play or level drifts."""
    wide, narrow = (
        max((_width(one.figures[follows(one)]) for one in sound(season)), default=0.0) for season in (fixed, floating)
    )
    before, after = (length(one, units) if one > NOTHING else "nothing" for one in (wide, narrow))
    return [
        _rubbing(fixed, floating, units) or _sounding(fixed, floating),
        f"Play or level drifts over {before} with the rail made fast, over {after} with it floating.",
    ]


def _rubbing(fixed: DivisionSeason, floating: DivisionSeason, units: System) -> str:
    """That a rail whose guides rub as hard as its load draws does not float."""
    rail = floating.rail.rail if floating.rail else None
    if rail is None or rail.friction < rail.load or rail.friction == 0.0:
        return ""
    before, after = (sum(one.cipher >= 0 for one in sound(season)) for season in (fixed, floating))
    return (
        f"It does not float: its guides rub with {force(rail.friction, units)}, and its load is "
        f"{force(rail.load, units)}. {_count(before).capitalize()} sound unplayed with the rail made fast, {after} "
        "with it as it is."
    )


def _sounding(fixed: DivisionSeason, floating: DivisionSeason) -> str:
    before, after = (sum(one.cipher >= 0 for one in sound(season)) for season in (fixed, floating))
    if not before:
        return "With the rail made fast no note sounds unplayed in this year: there is no cipher to cure." + (
            f" With it floating {_count(after)} do: it works against the action." if after else ""
        )
    if not after:
        return f"The floating rail cures it: {_count(before)} that sound with it made fast keep their seats."
    if after < before:
        return f"It cures part: of {_count(before)} that sound with the rail made fast {after} still do."
    return f"It does not cure it: {_count(before)} sound with the rail made fast, {after} with it floating."


def _count(notes: int) -> str:
    return f"{notes} note{'s' if notes != 1 else ''}"
