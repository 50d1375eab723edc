"""The spring schedule: for every note the best spring that the stock gives."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from keyaction.models.notes import Naming, note_name
from keyaction.models.train.train import Train
from keyaction.models.units.quantity import System
from keyaction.sim.figures.sketch import rigid
from keyaction.sim.springs.design import Candidate, Stock, Wanted, design
from keyaction.sim.tables.sheet import NONE, Cell, Column, Sheet, in_units, value

_MATERIAL = 3
"""Column of the wire's material."""
NOTE = (
    "The fewest coils within stress, rate and width. shut, open: force where the spring bears, open at full dip with "
    "nothing giving way. coil: mean diameter; leg: the working leg; set: angle by which the free spring is wound up "
    "when it goes in; free: free opening of the legs' ends; stress: largest, over the wire's tensile strength; stored: "
    "energy under the open pallet. Ideal coils, small turns: wind one, weigh it, then wind the rest."
)


def wanted_of(train: Train) -> Wanted:
    """What a note's spring is to do: its force and rate in the case, over the way of a full dip."""
    spring, pallet = train.role("spring").values, train.role("pallet").values.derived
    lift = train.dip * rigid(train).last
    way = lift / pallet["r_eye"].value * spring.number("at")
    return Wanted(spring.derived["force"].value, spring.derived["rate"].value, way)


def across(train: Train) -> float:
    """Width of a note's pallet, m: coils that are no wider stand clear of the neighbours' at any pitch."""
    pallet = train.role("pallet").values
    over = pallet.number("overlap") if pallet.has("overlap") else 0.0
    return pallet.number("opening_width") + 2 * over


def schedule(trains: Mapping[int, Train], stock: Stock) -> dict[int, list[Candidate]]:
    """Candidates for every note, best first; coils as wide as its pallet at most, where the stock sets no width.

    Raises
    ------
    keyaction.sim.springs.design.SpringProblem
        When there is nothing to choose from, or a note wants no spring.
    """
    wide = math.isinf(stock.width)
    return {
        note: design(wanted_of(train), replace(stock, width=across(train)) if wide else stock)
        for note, train in trains.items()
    }


def spring_sheet(found: Mapping[int, list[Candidate]], naming: Naming, units: System, brief: bool = False) -> Sheet:
    """The schedule as a sheet; notes that the stock has no spring for have dashes. `brief`: for a terminal."""
    columns = [
        Column("note", text=True),
        in_units("shut" if brief else "force\nshut", "N", units, 0),
        in_units("open" if brief else "force\nopen", "N", units, 0),
        Column("material", text=True),
        in_units("wire", "m", units, 2),
        in_units("coil", "m", units, 0),
        Column("turns", "", 1),
        in_units("leg", "m", units, 0),
        Column("set", "°", 0),
        in_units("free", "m", units, 0),
        Column("stress", "%", 0),
        in_units("stored", "J", units, 0),
    ]
    rows: list[list[Cell]] = []
    for note, candidates in found.items():
        one = candidates[0]
        head: list[Cell] = [note_name(note, naming), value(one.wanted.force, "N", units)]
        if one.reason:
            rows.append([*head, value(one.wanted.opened, "N", units), NONE, *[math.nan] * 8])
            continue
        spring = one.spring
        lengths = [value(length, "m", units) for length in (spring.wire, spring.coil, spring.leg, one.free_gape)]
        if spring.shape == "coil":
            lengths[3] = math.nan
        rows.append(
            [
                *head,
                value(one.opened, "N", units),
                spring.material.name,
                *lengths[:2],
                spring.turns,
                lengths[2],
                math.degrees(one.set_angle),
                lengths[3],
                100 * one.share,
                value(one.energy, "J", units),
            ]
        )
    sheet = Sheet("springs", "Spring schedule", columns, rows, NOTE)
    return _narrowed(sheet) if brief else sheet


def _narrowed(sheet: Sheet) -> Sheet:
    """The same for 80 columns: the materials stand in the title, with letters where there are several."""
    names = sorted({str(row[_MATERIAL]) for row in sheet.rows} - {NONE})
    letters = {name: chr(ord("A") + k) for k, name in enumerate(names)}
    told = ", ".join(f"{letter} {name}" for name, letter in letters.items()) if len(names) > 1 else "".join(names)
    kept: list[Column] = [Column("of", text=True)] if len(names) > 1 else []
    columns = [*sheet.columns[:_MATERIAL], *kept, *sheet.columns[_MATERIAL + 1 :]]
    rows = []
    for row in sheet.rows:
        letter = [letters.get(str(row[_MATERIAL]), NONE)] if kept else []
        rows.append([*row[:_MATERIAL], *letter, *row[_MATERIAL + 1 :]])
    return replace(sheet, title=f"{sheet.title}{f': {told}' if told else ''}", columns=columns, rows=rows)
