"""What couplers do to a keyboard, as sheets that terminal, CSV and report share."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from keyaction.models.units.quantity import System
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.figures.coupled import COUPLED
from keyaction.sim.figures.evenness import JUST_NOTICEABLE
from keyaction.sim.figures.pallets import (
    Pallet,
    alone,
    drawn,
    figure,
    first_to_open,
    held,
    is_coupled,
    moved_by,
    pallets_of,
)
from keyaction.sim.figures.sounding import OF_PALLETS
from keyaction.sim.files.labelled import Result
from keyaction.sim.tables.sheet import Cell, Column, Sheet, in_units, value

_WEIGHED = ("pluck_force", "follow_through_force")
_OF_KEY = (
    ("plucks_apart", "plucks\napart", 2),
    ("speech_apart", "open\napart", 1),
    ("alone", "alone", 0),
    ("pluck_force", "pluck", 0),
    ("evenness", "step", 0),
    ("hold_force", "hold", 0),
    ("return_force", "back", 0),
    ("loop_work", "work", 1),
    ("effective_mass", "mass", 0),
    ("repetition_rate", "rate", 1),
)
"""Figures of a coupled key: name, words, decimal places of the trade's unit."""
KEYS_NOTE = (
    "first: the pallet that opens first; own: there is no other. apart: key travel between the first and the last "
    "pluck; time between their grooves at 50 %. alone: pluck of the same key with no coupler drawn. pluck: the highest "
    f"peak. step: of it from the note below; ! beyond {JUST_NOTICEABLE:.0%}: a finger can tell. hold: 0.5 mm above the "
    "bottom felt. back: least force on the way up. work: lost in a slow stroke. mass: effective mass at the key. rate: "
    "the fastest repetition."
)
PALLETS_NOTE = (
    "plucks at, peak, lift, groove: in the slow press; groove: share of its own box pressure, key held down. opens, "
    "delay: from the played key at 1 mm to the groove at 50 % and 90 %. release: from the finger's lift to 10 %."
)
DASHES = (
    "-: there is none: the pallet stays on its seat, has no wind, stood open before (as one that another hand holds), "
    "or the note lacks the figure by its verdict."
)


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
        [name, QUANTITIES[force].label.removesuffix(" force"), *_range(one, force, units)]
        for name, one in coupled.items()
        for force in _WEIGHED
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
    figures = [one for one in _OF_KEY if one[0] in result or one[0] == "alone"]
    columns = [Column("note", text=True), Column("first", text=True, full="opens first")]
    columns += [_column(name, words, places, units) for name, words, places in figures]
    before = alone(result, "pluck_force")
    rows: list[list[Cell]] = []
    for row, note in enumerate(result.notes):
        cells = [
            value(float(before[row]), "N", units) if name == "alone" else _figure(result, name, row, units)
            for name, _, _ in figures
        ]
        rows.append([note, _first(result, row), *cells])
    return Sheet("coupled-keys", "Keys with their couplers", columns, rows, f"{KEYS_NOTE} {DASHES}")


def _column(name: str, words: str, places: int, units: System) -> Column:
    if name == "evenness":
        return Column(words, "%", places, limit=100 * JUST_NOTICEABLE, full="step of the pluck force")
    if name == "alone":
        return Column(words, *_place("N", units, places), full="pluck force alone")
    known = QUANTITIES.get(name) or COUPLED[name]
    return Column(words, *_place(known.unit, units, places), full=known.label)


def _place(unit: str, units: System, places: int) -> tuple[str, int | None]:
    made = in_units("", unit, units, places)
    return made.unit, made.places


def _figure(result: Result, name: str, row: int, units: System) -> float:
    held_at = float(result[name][row])
    return 100 * held_at if name == "evenness" else value(held_at, result.held(name).unit, units)


def _first(result: Result, row: int) -> str:
    if result["status"][row] != "ok":
        return "failed"
    found, there = first_to_open(result, row), pallets_of(result, row)
    if len(there) < 2:
        return "own" if there else "-"
    if len(found) == len(there):
        return "together"
    return ", ".join(one.label for one in found) or "-"


def pallets_sheet(result: Result, units: System) -> Sheet:
    """One row per note and pallet, in the order in which they open."""
    columns = [Column("note", text=True), Column("pallet", text=True), *_of_pallets(units)]
    rows: list[list[Cell]] = []
    for row, note in enumerate(result.notes):
        for i, one in enumerate(_in_order(result, row)):
            cells = [_of_pallet(result, name, row, one.place, units) for name in OF_PALLETS]
            rows.append([note if i == 0 else "", one.label, *cells])
    title = "Every pallet, in the order in which they open"
    return Sheet("coupled-pallets", title, columns, rows, f"{PALLETS_NOTE} {DASHES}")


def schedule_sheet(result: Result, units: System) -> Sheet:
    """The couplers as a shop sets them: of every pallet what moves it, with which play, and what comes of it."""
    columns = [Column("note", text=True), Column("opens as", text=True), Column("pallet", text=True)]
    columns += [Column("coupler", text=True), in_units("play", "m", units, 2), *_of_pallets(units)]
    rows: list[list[Cell]] = []
    for row, note in enumerate(result.notes):
        for i, one in enumerate(_in_order(result, row), 1):
            opens = str(i) if np.isfinite(figure(result, "pallet_pluck_point")[row, one.place]) else "-"
            coupler, play = moved_by(result, row, one)
            cells = [_of_pallet(result, name, row, one.place, units) for name in OF_PALLETS]
            rows.append([note, opens, one.label, coupler or "-", value(play, "m", units), *cells])
    note = (
        "Regulate the couplers one by one, each with its own pallets, from the top keyboard down; then the pedal "
        "(common practice). play: of the coupler that moves it, where it gives. "
    )
    return Sheet("couplers", "Coupler schedule", columns, rows, f"{note}{PALLETS_NOTE} {DASHES}")


def _of_pallets(units: System) -> list[Column]:
    """A column for every figure of a pallet."""
    return [
        Column(one.heading, "%", one.places, full=one.label)
        if one.percent
        else Column(one.heading, *_place(one.unit, units, one.places), full=one.label)
        for one in OF_PALLETS.values()
    ]


def _in_order(result: Result, row: int) -> list[Pallet]:
    """The pallets of a note in the order in which they leave their seats, those that do not last."""
    points = figure(result, "pallet_pluck_point")[row]
    return sorted(pallets_of(result, row), key=lambda one: (not np.isfinite(points[one.place]), points[one.place]))


def _of_pallet(result: Result, name: str, row: int, place: int, units: System) -> float:
    si, one = float(figure(result, name)[row, place]), OF_PALLETS[name]
    return 100 * si if one.percent else value(si, one.unit, units)
