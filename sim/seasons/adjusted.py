"""What is advised for a note, in sentences and sheets: its nuts, the common adjusters, the other end of the year."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from keyaction.models.climate.year import Year
from keyaction.models.units.quantity import System, format_value
from keyaction.sim.seasons.adjusted_day import span
from keyaction.sim.seasons.adjusted_words import sentences
from keyaction.sim.seasons.advice import FIGURES, THREAD, THREAD_SAID, Advice
from keyaction.sim.seasons.season import LABELS
from keyaction.sim.tables.sheet import Cell, Column, Sheet, in_units, value

_RAIL = "The rail is taken to stay where it is: one note of many hardly moves it."


def told(advice: Advice, year: Year, units: System = "trade") -> list[str]:
    """The advice in sentences, the verdict first.

    Parameters
    ----------
    advice : Advice
    year : Year
        For the names of days.
    units : {"trade", "si"}
    """
    return sentences(advice, year, lambda si: format_value(si, "m", units))


def joints_sheet(advice: Advice, units: System = "trade") -> Sheet:
    """One row per nut, the one first whose turn does most."""
    columns = [
        Column("rod", text=True),
        Column("way", "", 3, full="way per key way"),
        in_units("a turn", "m", units, 2),
        in_units("pressed", "m", units, 2),
        Column("turns:\nsilent", "", 2),
        Column("turns:\nmargin", "", 2),
        Column("turns:\nyear", "", 2),
    ]
    rows: list[list[Cell]] = [
        [
            one.rod, one.way, value(one.turn, "m", units), value(one.pressed, "m", units),
            one.clears, one.keeps, one.year,
        ]
        for one in advice.joints
    ]  # fmt: skip
    return Sheet("joints", f"Nuts of {advice.name}, the strongest first", columns, rows, _nuts(advice, units))


def _nuts(advice: Advice, units: System) -> str:
    """What the figures of the nuts rest on."""
    said = f" ({THREAD_SAID})" if advice.pitch == THREAD else ""
    return (
        f"Turns are looser, below 0 tighter, of a nut of {format_value(advice.pitch, 'm', units)} a turn{said}; every "
        "rod is taken to have one. a turn: what it does at the key, pitch over way; pressed: by how much it puts the "
        "pluck later in the slow press. Turns: until the note is silent, until it keeps its margin, and for the year: "
        "the middle between sounding on the tightest day and too much play or too little lift on the slackest."
    ) + (" " + _RAIL if advice.rail not in ("none", "fixed") else "")


def turned_sheet(advice: Advice, year: Year, units: System = "trade") -> Sheet:
    """One row per nut: the note on that day after one turn looser."""
    columns = [Column("rod", text=True), *_figures(units)]
    rows: list[list[Cell]] = [
        [one.rod, *(value(one.after[name], "m", units) for name in FIGURES)] for one in advice.joints
    ]
    title = f"{advice.name} on {year.when(advice.day)} after one turn looser"
    return Sheet("joints-turned", title, columns, rows)


def _figures(units: System) -> list[Column]:
    return [in_units(LABELS[name][1].replace(" ", "\n"), "m", units, 2) for name in FIGURES]


def commons_sheet(advice: Advice, units: System = "trade") -> Sheet:
    """One row per place that many notes share, in the order in which they are to be tried."""
    columns = [
        Column("place", text=True),
        Column("towards", text=True),
        in_units("for the\nyear", "m", units, 2),
        in_units("to undo\nthis day", "m", units, 2),
        in_units("least\nmargin", "m", units, 2),
        Column("still\nnuts", "", 0, full="notes that then still want a turn of their own nut"),
        Column("no\nturn", "", 0, full="notes that no turn serves all year"),
    ]
    rows: list[list[Cell]] = [
        [
            one.place.name, one.place.towards, value(one.year, "m", units), value(one.undoes, "m", units),
            value(min(one.after.values()), "m", units), float(len(one.outside)), float(len(one.shut)),
        ]
        for one in advice.commons
    ]  # fmt: skip
    note = (
        "For the year: median over the notes of what puts each into the middle of its year; to undo this day: least "
        "squares over what the notes have moved. Least margin: on this day, moved as for the year. still nuts: notes "
        "that then still want a turn of their own; no turn: notes that move more over the year than any turn allows. "
        "Below 0: against the direction named."
    )
    return Sheet("common-adjusters", "Common adjusters, before single nuts", columns, rows, note)


def opposite_sheet(advice: Advice, year: Year, units: System = "trade") -> Sheet:
    """The note at the other end of the climate: as it is, cured for the day, and turned for the year."""
    columns = [Column(f"on {year.when(advice.opposite.day)}", text=True)]
    columns += _figures(units)
    word = span(year)
    named: Sequence[tuple[str, Mapping[str, float]]] = (
        ("as it is", advice.opposite.now),
        ("turned to speak now" if advice.mute else "turned to keep the margin now", advice.opposite.cleared),
        (f"turned for the {word}", advice.opposite.year),
    )
    rows: list[list[Cell]] = [[word, *(value(of[name], "m", units) for name in FIGURES)] for word, of in named]
    return Sheet("opposite-season", f"{advice.name} at the other end of the {word}", columns, rows)


def notes_sheet(found: Sequence[Advice], year: Year, units: System = "trade") -> Sheet:
    """One row per note: when it is worst, what is first, and its strongest nut."""
    columns = [
        Column("note", text=True),
        Column("day", text=True),
        in_units("margin", "m", units, 2),
        Column("alone", text=True, full="stands alone among its neighbours"),
        Column("first", text=True, full="what is to be done first"),
        Column("nut", text=True),
        Column("turns:\nmargin", "", 2),
        Column("turns:\nyear", "", 2),
        Column("then, at the slackest", text=True, full="faults at the slackest, margin kept by turns"),
    ]
    rows: list[list[Cell]] = []
    for one in found:
        nut = one.joints[0] if one.joints else None
        turned: list[Cell] = [nut.rod, nut.keeps, nut.year] if nut else ["", math.nan, math.nan]
        faults = ", ".join(one.opposite.faults) or "well"
        alone = "yes" if one.alone else "no"
        rows.append([one.name, year.when(one.day), value(one.margin, "m", units), alone, one.first, *turned, faults])
    note = "Each note on the day on which it has least margin, or on the one asked for; below 0 it sounds unplayed."
    return Sheet("notes-to-adjust", "Notes that lack margin", columns, rows, note)
