"""The year of every note: a table for people, and a file with every figure."""

from __future__ import annotations

import math

import numpy as np

from keyaction.models.units.quantity import System
from keyaction.sim.seasons.drift import fastest
from keyaction.sim.seasons.ranges import ends, pair
from keyaction.sim.seasons.result import cipher_days, mute_days
from keyaction.sim.seasons.season import LABELS, DivisionSeason, NoteSeason
from keyaction.sim.seasons.sheets import follows, sound
from keyaction.sim.tables.sheet import NONE, Cell, Column, Sheet

NOTES_NOTE = (
    "Play of keys on a pin, level of hung ones, least and greatest over the year; dip, lift, seat and margin: the "
    "least, the margin's on the day beside it; '-': it comes near no end of its margin. Sounds from: first day on "
    "which the note sounds unplayed, '-': never; days: on how many it does. Mute: days on which it does not speak when "
    "played. Drift: fewest days, from any day of the climate on, in which play or level drifts by {by}; '-': it never "
    "does."
)
_LEAST = (
    ("dip", "key_dip", "m", 1),
    ("lift", "steady_lift", "m", 2),
    ("seat", "seat_load", "N", 1),
    ("margin", "margin", "m", 2),
)
"""Figures of which people read the least: heading, name, SI unit, places."""


def notes_sheet(season: DivisionSeason, units: System, drift: float, told: str) -> Sheet:
    """The year of every note: its worst figures with the day, its first cipher, and how soon it drifts.

    Parameters
    ----------
    season : DivisionSeason
    units : {"trade", "si"}
    drift : float
        m at the key.
    told : str
        The same for people.
    """
    kinds = {one.balanced for one in sound(season)}
    kind = "play" if kinds == {True} else "level" if kinds == {False} else "play,\nlevel"
    rows = []
    for one in season.notes.values():
        cells = [*ends(_course(one, follows(one)), "m", units)]
        cells += [ends(_course(one, name), si, units)[0] for _, name, si, _ in _LEAST]
        rows.append([_name(one), *cells, *_troubles(season, one, drift)])
    lines = [f"{one.name}: {one.failed}" for one in season.notes.values() if one.failed]
    columns = _note_columns(units, kind, told)
    return Sheet("season-notes", "The year of every note", columns, rows, NOTES_NOTE.format(by=told), lines)


def _note_columns(units: System, kind: str, told: str) -> list[Column]:
    least = [pair(short, short, si, units, places)[0] for short, _, si, places in _LEAST]
    return [
        Column("note", text=True),
        *pair(kind, "play of a balanced key or level of a hung one", "m", units, 2),
        *(Column(one.heading.partition("\n")[0], one.unit, one.places, full=one.full) for one in least),
        *_trouble_columns(told),
    ]


def file_sheet(season: DivisionSeason, units: System, drift: float, told: str) -> Sheet:
    """Every figure of every note, whatever its key is, least and greatest over the year: for a file."""
    rows: list[list[Cell]] = []
    for one in season.notes.values():
        kind = "" if one.failed else "balanced" if one.balanced else "hung"
        figures = [end for name, (si, *_) in LABELS.items() for end in ends(_course(one, name), si, units)]
        rows.append([one.name, kind, *figures, *_troubles(season, one, drift), one.failed])
    return Sheet("season-notes", "The year of every note", file_columns(units, told), rows)


def file_columns(units: System, told: str) -> list[Column]:
    """The columns of `file_sheet`.

    Parameters
    ----------
    units : {"trade", "si"}
    told : str
        By how much play or level may drift.
    """
    figures = [column for si, label, _ in LABELS.values() for column in pair(label, label, si, units, 2)]
    return [
        Column("note", text=True),
        Column("key", text=True),
        *figures,
        *_trouble_columns(told),
        Column("no figures because", text=True),
    ]


def _trouble_columns(told: str) -> list[Column]:
    return [
        Column("day", text=True, full="day of the least margin"),
        Column("sounds\nfrom", text=True, full="sounds unplayed from"),
        Column("days", "", 0, full="days on which it sounds unplayed"),
        Column("mute\ndays", "", 0, full="days on which it does not speak when played"),
        Column("drift\nin", "d", 0, full=f"drifts by {told} in"),
    ]


def _troubles(season: DivisionSeason, one: NoteSeason, drift: float) -> list[Cell]:
    if one.failed:
        return [NONE, NONE, *([math.nan] * 3)]
    when, margin = season.year.when, one.figures["margin"]
    days = fastest(season.year.days, one.figures[follows(one)], drift).days
    return [
        when(int(np.nanargmin(margin))) if np.any(np.isfinite(margin)) else NONE,
        when(one.cipher) if one.cipher >= 0 else NONE,
        float(cipher_days(season, one)),
        float(mute_days(season, one)),
        float(math.ceil(days)) if math.isfinite(days) else math.nan,
    ]


def _course(one: NoteSeason, name: str) -> np.ndarray:
    return one.figures.get(name, np.full(1, math.nan))


def _name(one: NoteSeason) -> str:
    return f"{one.name}!" if one.failed else one.name
