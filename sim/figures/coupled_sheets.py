"""What couplers do to a keyboard, as sheets that terminal, CSV and report share."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from keyaction.cases.fields.compass import Compass
from keyaction.models.units.quantity import System
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.figures.coupled import COUPLED
from keyaction.sim.figures.evenness import JUST_NOTICEABLE
from keyaction.sim.figures.pallets import alone, couplers, drawn, first_to_open, held, is_coupled, pallets, pallets_of
from keyaction.sim.figures.sounding import OF_PALLETS
from keyaction.sim.figures.telling import read_verdict
from keyaction.sim.figures.verdict import Fate, alike
from keyaction.sim.files.labelled import Result
from keyaction.sim.tables.sheet import Cell, Column, Sheet, in_units, value

_WEIGHED = ("pluck_force", "follow_through_force")
_OF_KEY = (
    ("evenness", "step", 0),
    ("follow_through_force", "follow", 0),
    ("hold_force", "hold", 0),
    ("return_force", "return", 0),
    ("loop_work", "work", 1),
    ("effective_mass", "mass", 0),
    ("repetition_rate", "repeat", 1),
    ("plucks_apart", "plucks\napart", 2),
    ("speech_apart", "open\napart", 1),
)
"""Figures of a coupled key beside its pluck: name, words, decimal places of the trade's unit."""
_KEYS_NOTE = (
    "alone: pluck of the same key with no coupler drawn. pluck: the highest peak. added: by the couplers, as a share "
    "of alone. step: of the pluck from the note below; ! beyond {share}: a finger can tell. follow: least force after "
    "the last pluck. hold: 0.5 mm above the bottom felt. return: least force on the way up. apart: key travel between "
    "the first and the last pluck, and time between their grooves at 50 %."
)
_PALLETS_NOTE = (
    "plucks at, peak, lift, groove: in the slow press; groove: its share of its own box pressure, key held down. "
    "opens, delay: from the played key at 1 mm to the groove at 50 % and 90 %; release: from the finger's lift to 10 %."
)
_DASHES = "-: there is none: one pallet opens, so nothing is apart; a pallet never leaves its seat or has no wind; "
_DASHES += "another hand holds it open; or the note has no such figure by its verdict."


def weight_sheet(results: Mapping[str, Result], units: System) -> Sheet:
    """How heavy keyboards are with their couplers: lightest, median and heaviest note of each, alone and coupled.

    Parameters
    ----------
    results : mapping of str to Result
        By division; those that are not coupled are left out.
    units : {"trade", "si"}
    """
    coupled = {name: one for name, one in results.items() if is_coupled(one)}
    unit = in_units("", "N", units).unit
    columns = [Column(name, text=True) for name in ("played", "force", "lightest", "median", "heaviest")]
    columns.append(Column("added", "%", 0))
    rows = [
        [name if i == 0 else "", QUANTITIES[figure].label.removesuffix(" force"), *_range(one, figure, units)]
        for name, one in coupled.items()
        for i, figure in enumerate(_WEIGHED)
    ]
    names = list(dict.fromkeys(name for one in coupled.values() for name in drawn(one)))
    hands = list(dict.fromkeys(name for one in coupled.values() for name in held(one)))
    also = f"; another hand holds down: {', '.join(hands)}" if hands else ""
    title = f"How heavy in {unit}, alone > coupled; drawn: {', '.join(names)}{also}"
    note = "Lightest and heaviest by the coupled figure; added: on the median of all notes."
    return Sheet("weight", title, columns, rows, note)


def _range(result: Result, name: str, units: System) -> list[Cell]:
    """Of one figure: lightest, middle and heaviest note, alone and coupled, and the share added."""
    both, before = np.asarray(result[name], dtype=float), alone(result, name)
    known = np.isfinite(both) & np.isfinite(before)
    if not np.any(known):
        return ["-", "-", "-", np.nan]
    low, high = int(np.nanargmin(np.where(known, both, np.nan))), int(np.nanargmax(np.where(known, both, np.nan)))
    middle = (float(np.median(before[known])), float(np.median(both[known])))
    pairs = [(float(before[i]), float(both[i])) for i in (low, high)]
    least, most, mid = (f"{_force(a, units)} > {_force(b, units)}" for a, b in (*pairs, middle))
    added = 100 * (middle[1] / middle[0] - 1) if middle[0] > 0 else np.nan
    return [f"{result.notes[low]} {least}", mid, f"{result.notes[high]} {most}", added]


def _force(newtons: float, units: System) -> str:
    return in_units("", "N", units, 0).shown(value(newtons, "N", units))


def keys_sheet(result: Result, units: System) -> Sheet:
    """One row per note: which pallet opens first and by how much, and what the key takes, coupled against alone."""
    figures = [one for one in _OF_KEY if one[0] in result]
    columns = [Column("note", text=True), in_units("alone", "N", units, 0), in_units("pluck", "N", units, 0)]
    columns.append(Column("added", "%", 0))
    columns += [_column(name, words, places, units) for name, words, places in figures]
    columns.append(Column("first", text=True))
    before, both = alone(result, "pluck_force"), np.asarray(result["pluck_force"], dtype=float)
    with np.errstate(divide="ignore", invalid="ignore"):
        added = 100 * np.where(before > 0, both / before - 1, np.nan)
    rows: list[list[Cell]] = []
    for row, note in enumerate(result.notes):
        cells: list[Cell] = [note, value(before[row], "N", units), value(both[row], "N", units), float(added[row])]
        cells += [_figure(result, name, row, units) for name, _, _ in figures]
        rows.append([*cells, _first(result, row)])
    note = _KEYS_NOTE.format(share=f"{JUST_NOTICEABLE:.0%}")
    return Sheet("coupled-keys", "Keys with their couplers", columns, rows, note, [_DASHES, *coupled_lines(result)])


def _column(name: str, words: str, places: int, units: System) -> Column:
    known = QUANTITIES.get(name) or COUPLED.get(name)
    label = known.label if known else "step of the pluck force"
    if name == "evenness":
        return Column(words, "%", places, limit=100 * JUST_NOTICEABLE, full=label)
    return Column(words, *_place(known.unit if known else "", units, places), full=label)


def _place(unit: str, units: System, places: int) -> tuple[str, int | None]:
    made = in_units("", unit, units, places)
    return made.unit, made.places


def _figure(result: Result, name: str, row: int, units: System) -> float:
    held_at = float(result[name][row])
    return 100 * held_at if name == "evenness" else value(held_at, result.held(name).unit, units)


def _first(result: Result, row: int) -> str:
    found, there = first_to_open(result, row), pallets_of(result, row)
    if len(there) < 2:
        return "one pallet" if there else "-"
    if len(found) == len(there):
        return "together"
    return ", ".join(one.label for one in found) or "-"


def pallets_sheet(result: Result, units: System) -> Sheet:
    """One row per note and pallet, in the order in which they open."""
    columns = [Column("note", text=True), Column("pallet", text=True)]
    for one in OF_PALLETS.values():
        if one.percent:
            columns.append(Column(one.heading, "%", one.places, full=one.label))
        else:
            columns.append(Column(one.heading, *_place(one.unit, units, one.places), full=one.label))
    rows: list[list[Cell]] = []
    for row, note in enumerate(result.notes):
        points = result["pallet_pluck_point"][row]
        order = sorted(pallets_of(result, row), key=lambda one: (not np.isfinite(points[one.place]), points[one.place]))
        for i, one in enumerate(order):
            cells = [_of_pallet(result, name, row, one.place, units) for name in OF_PALLETS]
            rows.append([note if i == 0 else "", one.label, *cells])
    title = "Every pallet, in the order in which they open"
    return Sheet("coupled-pallets", title, columns, rows, _PALLETS_NOTE, [_DASHES, *verdict_lines(result)])


def _of_pallet(result: Result, name: str, row: int, place: int, units: System) -> float:
    si, one = float(result[name][row, place]), OF_PALLETS[name]
    return 100 * si if one.percent else value(si, one.unit, units)


def verdict_lines(result: Result) -> list[str]:
    """What is wrong with pallets that couplers open, a line for each kind of fault."""
    found: list[str] = []
    for one in pallets(result)[1:]:
        told = {
            f"{one.label} at {note}" if i == 0 else note: str(result["pallet_verdict"][row, one.place])
            for i, (row, note) in enumerate(_notes_of(result, one.place))
        }
        found += alike({name: text for name, text in told.items() if read_verdict(text).fate not in _FINE})
    return found


_FINE = (Fate.HELD, Fate.UNKNOWN)
"""Verdicts of driven pallets of which nothing is to be told."""


def _notes_of(result: Result, place: int) -> Iterator[tuple[int, str]]:
    for row, note in enumerate(result.notes):
        text = str(result["pallet_verdict"][row, place])
        if text and not (text == Fate.SPEAKS.value or read_verdict(text).fate in _FINE):
            yield row, note


def coupled_lines(result: Result) -> list[str]:
    """Which couplers reach a key at which notes, and which of them couple nothing where."""
    if not is_coupled(result):
        return []
    numbers = [int(note) for note in result["semitone"]]
    compass, at = Compass(tuple(numbers), result.naming), [couplers(result, row) for row in range(len(numbers))]
    lines = []
    for names in dict.fromkeys(tuple(one) for one in at):
        notes = compass.ranges(note for note, one in zip(numbers, at, strict=True) if tuple(one) == names)
        told = f"coupled by {', '.join(names)}" if names else "nothing is coupled, played alone"
        lines.append(f"{notes}: {told}")
    for name in dict.fromkeys(name for one in at for name in one):
        lacking = [note for note, one in zip(numbers, at, strict=True) if name not in one]
        if lacking:
            lines.append(f"{name} couples nothing at {compass.ranges(lacking)}")
    return lines
