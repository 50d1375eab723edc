"""The regulation list: what to regulate to, and beside each figure what was found at the bench."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from keyaction.cases.fields.compass import Compass
from keyaction.cases.fields.csvfile import CsvTable, Shelf
from keyaction.cases.text.defects import BadValue, CaseProblem, Defect, Place
from keyaction.cases.text.near import hint
from keyaction.models.notes import Naming
from keyaction.models.units.quantity import System, UnitProblem, format_value, parse_quantity
from keyaction.plots.report.several import of_several, several_note
from keyaction.sim.figures.columns import QUANTITIES, shown_in
from keyaction.sim.figures.dip import is_pressed, pressed_heading, pressed_words
from keyaction.sim.files.labelled import Result
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.tables.sheet import Cell, Column, Sheet, in_units, value
from keyaction.sim.weighing.weighoff import WeighOff

WEIGHTS = ("down", "hold", "up")
"""Figures of the list that come from the weigh-off, wind on."""
FOUND, REMARK = "found", "remark"
_DIP = QUANTITIES["key_dip"].heading
_MOST = {"m": 0.1, "N": 50.0}
"""Largest value of a unit that a bench can have found, SI."""


@dataclass(frozen=True)
class Regulated:
    """One figure of the list over the notes, SI; `name` is its own, whatever its heading adds to it."""

    name: str
    heading: str
    unit: str
    places: int | None
    values: Floats
    full: str = ""

    @property
    def words(self) -> str:
        """The heading in one line."""
        return _plain(self.heading)

    def beside(self, units: System) -> Column:
        """The column for what was found."""
        one = in_units(f"{FOUND}\n{self.heading}", self.unit, units, self.places)
        return Column(one.heading, one.unit, one.places, text=True)


@dataclass(frozen=True)
class Found:
    """What was found at the bench: for each figure, by its heading, values of notes (semitones), SI; and remarks."""

    values: Mapping[str, Mapping[int, float]] = field(default_factory=dict)
    remarks: Mapping[int, str] = field(default_factory=dict)

    @property
    def weighed(self) -> bool:
        """Whether a key was weighed."""
        return any(self.values.get(name) for name in WEIGHTS)

    def over(self, semitones: Sequence[int], heading: str) -> Floats:
        """A figure at these notes; NaN where it was not measured."""
        there = self.values.get(heading, {})
        return np.array([there.get(int(note), math.nan) for note in semitones])


def regulated(result: Result, weighed: Sequence[WeighOff] = ()) -> list[Regulated]:
    """The figures of the list, with the weights of the notes that were weighed."""
    found = [
        Regulated(
            _plain(entry.heading),
            pressed_heading(result) if entry.heading == _DIP else entry.heading,
            entry.quantity.unit,
            entry.places,
            np.asarray(result[entry.name], dtype=float),
            of_several(result, entry.name, entry.heading),
        )
        for entry in shown_in("regulation")
        if entry.name in result
    ]
    by_note = {one.note: one for one in weighed}
    for name in WEIGHTS if weighed else ():
        weights = [getattr(by_note[n].on, name) if n in by_note else math.nan for n in map(int, result["semitone"])]
        found.append(Regulated(name, name, "N", 0, np.array(weights)))
    return found


def _plain(heading: str) -> str:
    """A heading in one line."""
    return " ".join(heading.split())


def headings() -> dict[str, str]:
    """Every heading that a list may have, with its SI unit."""
    told = {_plain(entry.heading): entry.quantity.unit for entry in shown_in("regulation")}
    return {**told, **dict.fromkeys(WEIGHTS, "N")}


def regulation_sheet(
    result: Result, units: System, weighed: Sequence[WeighOff] = (), found: Found | None = None
) -> Sheet:
    """What to regulate to; beside each figure a column for what is found, filled where that was read back."""
    figures, seen = regulated(result, weighed), found or Found()
    semitones = [int(note) for note in result["semitone"]]
    columns = [Column("note", text=True)]
    columns += [replace(in_units(f.heading, f.unit, units, f.places), full=f.full) for f in figures]
    columns += [f.beside(units) for f in figures] + [Column(REMARK, text=True)]
    rows: list[list[Cell]] = []
    for i, note in enumerate(result.notes):
        told = [seen.over(semitones[i : i + 1], f.name)[0] for f in figures]
        rows.append(
            [
                note,
                *(value(f.values[i], f.unit, units) for f in figures),
                *("" if math.isnan(v) else value(v, f.unit, units) for f, v in zip(figures, told, strict=True)),
                seen.remarks.get(semitones[i], ""),
            ]
        )
    weights = (
        "down, hold, up: masses on the key's front, wind on, that open the pallet, keep the key down, and that it lifts"
        if weighed
        else "down, hold and up weights: report --weigh"
    )
    dip = pressed_words(result)
    note = (
        f"{dip[0].upper()}{dip[1:]}: into the bottom felt.{several_note(result)} "
        "Date, temperature and humidity when measured: ________________  ________________  ________________ "
        f"{weights[0].upper()}{weights[1:]}. Filled in as CSV, report --found reads this list back."
    )
    return Sheet("regulation", "Regulation list", columns, rows, note)


def read_found(path: Path, notes: Sequence[int], naming: Naming) -> Found:
    """Read a regulation list back.

    Parameters
    ----------
    path : Path
        A CSV file: a column ``note``, and of the columns ``found FIGURE (UNIT)`` those that were filled in. A cell is
        a number in the column's unit, or carries its own; an empty one was not measured.
    notes : sequence of int
        Notes that there are, rising.
    naming : {"scientific", "trade", "german"}

    Raises
    ------
    keyaction.cases.text.defects.CaseProblem
        With every defect of the file.
    """
    log: list[Defect] = []
    table = None
    try:
        table = Shelf(path.parent, Compass(tuple(notes), naming, known=False), log).table(path.name)
    except BadValue as problem:
        log.append(Defect(str(path), "", "", "", str(problem)))
    found = _read(table, Place(path.name, "", log)) if table else Found()
    if not log and not any(found.values.values()):
        log.append(
            Defect(path.name, "", "", "", "nothing is filled in; write what you measured into the found columns")
        )
    if log:
        raise CaseProblem(path, log)
    return found


def _read(table: CsvTable, place: Place) -> Found:
    known, values = headings(), {}
    for title in table.cells:
        if not title.startswith(f"{FOUND} "):
            continue
        heading, _, unit = title.removeprefix(f"{FOUND} ").partition(" (")
        heading = _DIP if is_pressed(heading) else heading
        if heading not in known:
            near = hint(heading, known)
            place.at("header").defect("", f"no figure of the regulation list is called that{near}", title)
            continue
        values[heading] = _column(table, title, unit.removesuffix(")"), known[heading], place)
    if not values and not place.log:
        example = f"{FOUND} pluck (gf)"
        place.at("header").defect("", f"no column begins with '{FOUND}', such as '{example}'; is it a regulation list?")
    return Found(values, {note: text for note, text in table.cells.get(REMARK, {}).items() if text})


def _column(table: CsvTable, title: str, unit: str, si: str, place: Place) -> dict[int, float]:
    """What was measured of one figure, SI."""
    values = {}
    for note, cell in table.cells[title].items():
        if not cell:
            continue
        try:
            values[note] = _cell(cell, unit, si)
        except (UnitProblem, BadValue) as problem:
            place.at(f"line {table.lines[note]}").defect(title, str(problem), cell)
    return values


def _cell(text: str, unit: str, si: str) -> float:
    bare = text[-1] in "0123456789."
    found = parse_quantity(f"{text} {unit}".strip() if bare else text, si)
    if not 0.0 <= found <= _MOST[si]:
        raise BadValue(f"out of range; 0 to {format_value(_MOST[si], si)} is allowed")
    return found


def found_sheet(result: Result, found: Found, units: System, weighed: Sequence[WeighOff] = ()) -> Sheet:
    """What was found against what is computed, for the notes and figures that were measured."""
    semitones = [int(note) for note in result["semitone"]]
    seen = [(f, found.over(semitones, f.name)) for f in regulated(result, weighed)]
    seen = [(f, over) for f, over in seen if np.any(np.isfinite(over))]
    columns = [Column("note", text=True)]
    for f, _ in seen:
        columns.append(in_units(f"{f.heading}\n{FOUND}", f.unit, units, f.places))
        columns.append(in_units(f"{f.heading}\ndiffers", f.unit, units, f.places))
    rows: list[list[Cell]] = []
    for i, note in enumerate(result.notes):
        if any(np.isfinite(over[i]) for _, over in seen):
            pairs = ((over[i], over[i] - f.values[i], f.unit) for f, over in seen)
            rows.append([note, *(value(v, unit, units) for one, apart, unit in pairs for v in (one, apart))])
    note = (
        "Differs: found less computed; '-': not measured, or not computed. Before a value of the case is "
        "changed for a difference, measure the note once more."
    )
    return Sheet(FOUND, "Found against computed", columns, rows, note)


def found_words(result: Result, found: Found, units: System, weighed: Sequence[WeighOff] = ()) -> list[str]:
    """Of each figure that was measured, in words: middle, least and largest difference."""
    semitones, told = [int(note) for note in result["semitone"]], []
    for f in regulated(result, weighed):
        apart = found.over(semitones, f.name) - f.values
        apart = apart[np.isfinite(apart)]
        if len(apart):
            middle, low, high = (_signed(v, f.unit, units) for v in (np.median(apart), apart.min(), apart.max()))
            count = f"{len(apart)} note{'' if len(apart) == 1 else 's'}"
            spread = f", from {low} to {high}" if len(apart) > 1 else ""
            told.append(f"{f.words} {middle}{' at the median' if len(apart) > 1 else ''} of {count}{spread}")
    return told


def _signed(si: float, unit: str, units: System) -> str:
    text = format_value(float(si), unit, units)
    return text if si < 0 else f"+{text}"
