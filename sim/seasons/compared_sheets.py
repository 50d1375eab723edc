"""Variants of a division over one year, as a sheet and sentences."""

from __future__ import annotations

import math
from collections.abc import Sequence

from keyaction.models.units.quantity import System, format_value
from keyaction.sim.compare.usual import STRIP
from keyaction.sim.seasons.cancelling import Choice
from keyaction.sim.seasons.compared import CANCEL, OF_CARBON, Compared, Outcome
from keyaction.sim.tables.sheet import Cell, Column, Sheet, in_units, value

CARBON_SAID = (
    "Carbon rods: dust and splinters are a hazard to lungs and skin. Extract at the tool, wear a fitted mask and "
    "gloves, cap the ends; the dust conducts."
)
"""As the cautions of the report have it."""
ALONG_SAID = (
    "Along the grain woods differ from tree to tree as much as from kind to kind (published: 0.1 to 0.2 % from green "
    "to oven-dry in normal wood): what cancels by these figures is a plan, not a promise; measure the wood."
)
_NOTE = (
    "path: how much tighter the run grows and slackens over the year, counted at the key: its range, of the mean of "
    "all notes and of the note that moves most. level, play: the largest range of any note. margin: the least on any "
    "day; below 0 the note sounds unplayed. Only differences of members and rods count. All trackers are exchanged, "
    f"stickers and pull-downs stay; carbon is a round rod of 2 mm (assumed), wood a strip of {STRIP[0]} x {STRIP[1]} "
    "where the section does not fit (common practice). With its rail floating a division keeps what notes differ by."
)


def compared_sheet(found: Compared, units: System = "trade") -> Sheet:
    """One row per variant, the division as it is first."""
    columns = [
        Column("variant", text=True),
        in_units("path\nmean", "m", units, 2),
        in_units("path\nworst", "m", units, 2),
        Column("note", text=True, full="note that moves most"),
        in_units("level", "m", units, 2),
        in_units("play", "m", units, 2),
        in_units("least\nlift", "m", units, 2),
        Column("note", text=True, full="note of the least lift"),
        in_units("least\nmargin", "m", units, 2),
        Column("note", text=True, full="note of the least margin"),
        Column("day", text=True, full="day of the least margin"),
        Column("sound", "", 0, full="notes that sound unplayed"),
        Column("from", text=True, full="first day on which one sounds"),
    ]
    rows = [_row(one, found, units) for one in found.outcomes]
    return Sheet("seasons-compared", "Variants over the same year", columns, rows, _NOTE, lines(found, units))


def _row(one: Outcome, found: Compared, units: System) -> list[Cell]:
    def m(si: float) -> float:
        return value(si, "m", units)

    return [
        one.name, m(one.mean_range), m(one.worst_range), one.worst, m(one.level_range), m(one.play_range),
        m(one.lift), one.lowest, m(one.margin), one.tightest, one.tightest_day, float(len(one.ciphers)),
        found.year.when(one.ciphers[0][1]) if one.ciphers else "never",
    ]  # fmt: skip


def lines(found: Compared, units: System = "trade") -> Sequence[str]:
    """What is to be said of the variants: what they are made of, what was left out, what the search found, cautions."""
    told = [f"{one.name}: {one.made}." for one in found.outcomes if one.made and one.made != one.name]
    told += [f"{one.name}: {_sounding(one, found)}." for one in found.outcomes if one.ciphers]
    told += [f"{one.name}: {one.failed} notes without figures." for one in found.outcomes if one.failed]
    told += found.lines
    if found.search is not None:
        told += [_searched(found, units), ALONG_SAID]
    if any(one.name in (OF_CARBON, CANCEL) and "carbon" in one.made for one in found.outcomes):
        told.append(CARBON_SAID)
    return told


_LISTED, _ALIKE = 8, 3
"""Notes, and materials that do the same, that a line names one by one."""


def _sounding(one: Outcome, found: Compared) -> str:
    named = ", ".join(f"{note} from {found.year.when(day)}" for note, day in one.ciphers[:_LISTED])
    more = len(one.ciphers) - _LISTED
    return f"sound unplayed: {named}{f' and {more} more' if more > 0 else ''}"


def _searched(found: Compared, units: System) -> str:
    """The best that closed forms find, alone and in pairs."""
    search = found.search
    if search is None:
        return ""
    now = format_value(search.as_is.worst, "m", units)
    if not search.best.changes:
        return f"{search.tried} choices of materials tried: none leaves less than {now} at the note that moves most."
    told = [f"{search.tried} choices of materials tried, by closed forms with the rail fixed"]
    told.append(f"best alone: {_said(search.single, units)}" if search.single.changes else "none alone leaves less")
    if search.pair.changes and search.pair.worst < search.single.worst:
        told.append(f"best two together: {_said(search.pair, units)}")
    return (
        f"{'; '.join(told)}; as it is it would be {now}, at the note that moves most. Length alone is judged: "
        "for mass and touch of other rods see `keyaction compare`."
    )


def _said(one: Choice, units: System) -> str:
    made = " and ".join(f"{group} of {material}" for group, material in one.changes)
    also = (
        f" (or {', '.join(one.alike[:3])}{' ...' if len(one.alike) > 3 else ''}, which do the same)"
        if one.alike
        else ""
    )
    left = format_value(one.worst, "m", units) if math.isfinite(one.worst) else "-"
    return f"{made}{also}, which leaves {left}"
