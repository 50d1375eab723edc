"""Sizes of pallets as sheets: what a terminal shows in two tables, and the schedule for the bench in one."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from keyaction.models.formulas.openings import LONGEST, WIDEST
from keyaction.models.notes import Naming, note_name
from keyaction.models.units.quantity import System, format_value
from keyaction.sim.sizes.sized import EYE, FEEDS, WIDTH, Sized
from keyaction.sim.sizes.tried import Tried
from keyaction.sim.tables.sheet import NONE, Cell, Column, Sheet, in_units, value

OPENINGS = (
    "toes: bare area of the stops drawn; lift: at the eye, at full dip; share: of the wind with no key down that the "
    "groove holds, as drawn{chord}; drawn, smallest, custom: lengths of openings, as the saw cuts them; smallest: the "
    "shortest opening that feeds {wanted}, its width bound to the groove, by steady flow, as the program's own press "
    "confirms it; custom: opens {section} times the groove's section (common practice after Dom Bedos, art. 475); "
    "ends at: what stands against a shorter one. How soon the groove fills is not in it: play the sizes with run."
)
CHORD = ", alone and with the chord on; then: with the chord, of the wind as the box then has it"
TOUCH = (
    "pallet: from its hinge, with its cover; eye: from the hinge, * back in proportion with the spring, as the pallet "
    "would end before it; shut: force at the eye that closes it without wind; pluck: as drawn and then, spring "
    "unchanged. With eye and spring in their places: --keep-eye."
)
_MOST = f"pallet {LONGEST * 1e3:.0f} mm long, groove {WIDEST * 1e3:.0f} mm wide"
LIMITS = {FEEDS: "the share", EYE: "the eye", WIDTH: "its width"}
"""What stands against a still shorter opening, in words."""

SHOWN = "for people"
"""Table of a column that a file has as a number elsewhere."""


@dataclass(frozen=True)
class _Row:
    """A column of the schedule, and what stands in it."""

    column: Column
    cell: Callable[[Sized], Cell]
    table: str = ""
    """The terminal's table that shows it."""


def openings_sheet(found: Sequence[Sized], naming: Naming, units: System, chord: bool) -> Sheet:
    """Openings as drawn, the smallest ones, and those of custom, for a terminal; without notes that are left out."""
    wanted = f"{found[0].wanted:.0%}" if found else "the share"
    note = OPENINGS.format(chord=CHORD if chord else "", wanted=wanted, section="1.03")
    return _sheet("openings", "Openings of the pallets", found, naming, units, chord, note)


def touch_sheet(found: Sequence[Sized], naming: Naming, units: System) -> Sheet:
    """Pallets that cover the smallest openings, and what they save at the finger, for a terminal."""
    return _sheet("touch", "Pallets that cover them, and the touch", found, naming, units, False, TOUCH)


def sizes_sheet(found: Sequence[Sized], naming: Naming, units: System) -> Sheet:
    """The whole schedule, for the bench."""
    return _sheet("", "Sizes of pallets", found, naming, units, True, "")


def _sheet(
    table: str, title: str, found: Sequence[Sized], naming: Naming, units: System, chord: bool, note: str
) -> Sheet:
    wanted = {table, "both", *([SHOWN] if table == "touch" else []), *([f"{table} with chord"] if chord else [])}
    rows = [row for row in _rows(naming, units) if (row.table in wanted if table else row.table != SHOWN)]
    cells = [[row.cell(one) for row in rows] for one in found if not (table and one.left_out)]
    return Sheet(table or "pallets", title, [row.column for row in rows], cells, note)


def _rows(naming: Naming, units: System) -> list[_Row]:
    def length(heading: str, full: str, read: Callable[[Sized], float], table: str = "", places: int = 1) -> _Row:
        column = in_units(heading, "m", units, places)
        return _Row(_named(column, full), lambda one: value(read(one), "m", units), table)

    def force(heading: str, full: str, read: Callable[[Sized], float], table: str = "") -> _Row:
        return _Row(_named(in_units(heading, "N", units, 0), full), lambda one: value(read(one), "N", units), table)

    def area(heading: str, full: str, read: Callable[[Sized], float], table: str = "") -> _Row:
        column = in_units(heading, "m^2", units, 0)
        return _Row(_named(column, full), lambda one: value(read(one), "m^2", units), table)

    def share(heading: str, full: str, read: Callable[[Sized], float], table: str = "") -> _Row:
        return _Row(Column(heading, "%", 1, full=full), lambda one: 100 * read(one), table)

    eye = Column("eye", in_units("", "m", units).unit, text=True)
    return [
        _Row(Column("note", text=True), lambda one: note_name(one.note, naming), "both"),
        area("toes", "toes of the stops drawn", lambda one: one.toes, "openings"),
        length("lift", "lift as drawn", lambda one: one.drawn.lift, "openings", 2),
        share("share", "share as drawn", lambda one: one.share_of(one.drawn), "openings"),
        share("chord", "with the chord", lambda one: one.share_of(one.drawn, chord=True), "openings with chord"),
        share("then", "of the box as it then is", lambda one: one.share_of_box(one.drawn), "openings with chord"),
        length("drawn", "opening as drawn", lambda one: one.drawn.length, "openings"),
        length("smallest", "smallest opening", lambda one: _of(one.smallest, "length"), "openings"),
        length("custom", "opening by custom", lambda one: one.custom, "openings"),
        length("wide", "opening wide", lambda one: one.drawn.width, "openings"),
        _Row(Column("ends at", text=True), lambda one: LIMITS.get(one.limit, NONE), "openings"),
        length("lift wanted", "lift wanted as drawn", lambda one: one.lift_wanted),
        length("pallet", "pallet from its hinge", lambda one: _of(one.smallest, "end"), "touch"),
        length("wide", "pallet wide", lambda one: _of(one.smallest, "across"), "touch"),
        length("eye", "eye as drawn", lambda one: one.drawn.eye),
        length("eye", "eye then", lambda one: _of(one.smallest, "eye")),
        _Row(eye, lambda one: _eye(one, units), SHOWN),
        length("lift", "lift then", lambda one: _of(one.smallest, "lift"), "touch", 2),
        share("share", "share then", lambda one: one.share_of(one.smallest, chord=True)),
        share("press", "share then by the press alone", lambda one: _of(one.smallest, "share")),
        force("shut", "closing force without wind then", lambda one: _of(one.smallest, "closing"), "touch"),
        force("pluck\ndrawn", "pluck as drawn", lambda one: one.drawn.pluck, "touch"),
        force("pluck\nthen", "pluck then", lambda one: _of(one.smallest, "pluck"), "touch"),
        force("saved", "pluck saved", lambda one: one.saved, "touch"),
        share("saved", "share of the pluck saved", lambda one: one.saved / one.drawn.pluck, "touch"),
        length("kept", "smallest opening with the eye kept", lambda one: _of(one.kept, "length")),
        force("kept", "pluck with the eye kept", lambda one: _of(one.kept, "pluck")),
        _Row(Column("remarks", text=True), lambda one: "; ".join(told(one, units))),
    ]  # fmt: skip


def _named(column: Column, full: str) -> Column:
    return Column(column.heading, column.unit, column.places, column.text, full=full)


def _of(one: Tried | None, what: str) -> float:
    return math.nan if one is None else float(getattr(one, what))


def _eye(one: Sized, units: System) -> Cell:
    """The eye's place; with a star where it has gone back."""
    if one.smallest is None:
        return NONE
    shown = f"{value(one.smallest.eye, 'm', units):.{1 if units == 'trade' else 4}f}"
    return f"{shown}*" if one.smallest.eye < one.drawn.eye * (1 - 1e-9) else shown


def told(one: Sized, units: System = "trade") -> list[str]:
    """What is to be said of a note: why it has no size, what it lacks, what is odd."""
    said = [one.why] if one.why else []
    if one.too_small and (one.smallest is not None or math.isfinite(one.inlet)):
        said.append(_lacking(one, units))
    if one.smallest is not None and one.limit == EYE:
        said.append("a still shorter pallet would end before its eye or spring")
    last = one.smallest or one.drawn
    if not (one.pedal or one.left_out) and (last.end > LONGEST or last.width > WIDEST):
        said.append(f"larger than custom has it in a manual: {_MOST} (Dom Bedos, art. 473)")
    return [*said, *one.remarks]


def _lacking(one: Sized, units: System) -> str:
    """By how much an opening is too small, and whether lift or length limits it."""
    has = f"too small: {100 * one.share_of(one.drawn, chord=True):.1f} % of the wind"
    more = []
    if one.smallest is not None:
        longer = one.smallest.length - one.drawn.length
        more.append(f"an opening longer by {format_value(longer, 'm', units)} feeds it")
    if one.lacks == "lift":
        lift, drawn = (format_value(size, "m", units) for size in (one.lift_wanted, one.drawn.lift))
        more.append(f"a lift of {lift} in place of {drawn} feeds it" + (" too" if more else ""))
    limits = {"lift": "the lift limits it, not the length", "length": "no usual lift would do: it is too short"}
    return "; ".join(filter(None, (has, " and ".join(more), limits.get(one.lacks, ""))))
