"""Versions of relief as sheets: the touch, the speech, and both in one for a file."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from keyaction.models.notes import Naming, note_name
from keyaction.models.units.quantity import System
from keyaction.sim.assist.assisted import Assisted
from keyaction.sim.figures.limits import still_passes
from keyaction.sim.figures.verdict import Fate
from keyaction.sim.tables.sheet import NONE, Cell, Column, Sheet, in_units, value

TOUCH = (
    "first, second: highest key force at the first and at the second stage of the way, each from trough to trough; at: "
    "key travel at which the second begins; highest: from rest to the bottom felt; hold: half a millimetre before it; "
    "lift: at the eye, of two pallets the lesser; groove: of the wind, key held down. All in the slow press."
)
SPEECH = (
    "opens, delay: from the key passing 1 mm to 50 and 90 % of the wind in the groove; release: from the finger's lift "
    "to 10 %; repeats: up to which every stroke speaks and falls silent."
)


@dataclass(frozen=True)
class _Row:
    """A column, what stands in it, and the terminal's table that shows it."""

    column: Column
    cell: Callable[[Assisted], Cell]
    table: str = ""


def touch_sheet(found: Sequence[Assisted], naming: Naming, units: System) -> Sheet:
    """Forces at the key, for a terminal."""
    return _sheet("touch", "Touch", found, naming, units, TOUCH)


def speech_sheet(found: Sequence[Assisted], naming: Naming, units: System) -> Sheet:
    """Speech and repetition, for a terminal."""
    return _sheet("speech", "Speech and repetition", found, naming, units, SPEECH)


def assist_sheet(found: Sequence[Assisted], naming: Naming, units: System) -> Sheet:
    """All figures of all versions, with verdicts and whatever stands in the way."""
    return _sheet("", "Relief of pallets", found, naming, units, "")


def _sheet(table: str, title: str, found: Sequence[Assisted], naming: Naming, units: System, note: str) -> Sheet:
    rows = [row for row in _rows(naming, units) if not table or row.table in (table, "both")]
    there = [one for one in found if one.train or not table]
    return Sheet(
        table or "assist", title, [row.column for row in rows], [[row.cell(one) for row in rows] for one in there], note
    )


def _rows(naming: Naming, units: System) -> list[_Row]:
    def of(heading: str, full: str, unit: str, places: int, name: str, table: str = "touch") -> _Row:
        column = replace(in_units(heading, unit, units, places), full=full)
        return _Row(column, lambda one: value(one[name], unit, units), table)

    def share(heading: str, full: str, name: str, table: str = "") -> _Row:
        return _Row(Column(heading, "%", 1, full=full), lambda one: 100 * one[name], table)

    return [
        _Row(Column("note", text=True), lambda one: note_name(one.note, naming), "both"),
        _Row(Column("version", text=True), lambda one: one.version, "both"),
        of("first", "force at the first stage", "N", 0, "first"),
        of("second", "force at the second stage", "N", 0, "second"),
        of("at", "key travel at the second stage", "m", 2, "second_at"),
        of("highest", "highest force", "N", 0, "highest"),
        of("hold", "hold force", "N", 0, "hold"),
        of("lift", "lift", "m", 2, "lift"),
        share("groove", "groove pressure share", "share", "touch"),
        of("opens", "opening time", "s", 1, "opening_time", "speech"),
        of("delay", "speech delay", "s", 1, "speech_delay", "speech"),
        of("release", "release delay", "s", 0, "release_delay", "speech"),
        of("repeats", "repetition rate", "Hz", 1, "repetition_rate", "speech"),
        _Row(Column("limited by", text=True), _limit, "speech"),
        share("wind", "share of the pluck that wind makes", "wind"),
        share("friction", "share of the pluck that friction makes", "friction"),
        _Row(Column("verdict", text=True), lambda one: NONE if one.verdict.fate is Fate.UNKNOWN else str(one.verdict)),
        _Row(Column("remarks", text=True), lambda one: one.why),
    ]


def _limit(one: Assisted) -> str:
    """What stands against a faster repetition, short."""
    return "the highest tried" if still_passes(one.limit) else one.limit.partition("; ")[0] or NONE
