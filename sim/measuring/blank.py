"""A sheet to be filled in at the instrument: what is expected, in which order to work, with which tools."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from keyaction.cases.action.case import Case
from keyaction.models.notes import is_sharp, note_name
from keyaction.models.readings.figures import BALANCE, MEASURABLE, NAMES, RULER, SPEECH
from keyaction.models.readings.readings import Head
from keyaction.models.train.train import Train
from keyaction.models.units.quantity import System, format_value
from keyaction.sim.measuring.computed import Computed, computed, drawn_levels
from keyaction.sim.measuring.noticed import case_pressure
from keyaction.sim.tables.sheet import Cell, Column, Sheet, in_units, value
from keyaction.sim.wind.stops import stops_of

KEY_SIGNS = 8
"""Signs of a case's fingerprint that a sheet bears."""
_MIDDLE = 60
_PLACES = {"m": 1, "N": 0}


def blank_head(case: Case) -> Head:
    """The head of a blank sheet: whose it is, and the pressure that is written over by what the gauge shows."""
    return Head(case=case.title, key=case.fingerprint[:KEY_SIGNS], division=case.division, pressure=case_pressure(case))


def expected(case: Case, trains: Mapping[int, Train], jobs: int = 0) -> Computed:
    """What would be read of notes as they are drawn, levels counted from the drawing.

    Parameters
    ----------
    case : Case
    trains : mapping of int to Train
    jobs : int
        Threads; 0 means one per core.
    """
    chosen = list(trains.values())
    return computed(chosen, case.strokes, jobs=jobs).from_level(drawn_levels(chosen, case.strokes, jobs))


def trial_notes(notes: Sequence[int]) -> list[int]:
    """Notes that are done first, as a trial: the lowest, the one by middle C or the middle one, the highest."""
    rising = sorted(notes)
    middle = min(rising, key=lambda note: abs(note - _MIDDLE))
    if middle in (rising[0], rising[-1]):
        middle = rising[len(rising) // 2]
    return sorted({rising[0], middle, rising[-1]})


def _compass(notes: Sequence[int]) -> list[int]:
    return sorted(notes)


def _trial(notes: Sequence[int]) -> list[int]:
    first = trial_notes(notes)
    return [*first, *(note for note in sorted(notes) if note not in first)]


def _naturals(notes: Sequence[int]) -> list[int]:
    return sorted(notes, key=lambda note: (is_sharp(note), note))


ORDERS: dict[str, Callable[[Sequence[int]], list[int]]] = {"compass": _compass, "trial": _trial, "naturals": _naturals}
"""Orders of the notes of a sheet: rising; the trial notes first; naturals first, which share a straightedge."""


def form_sheet(case: Case, notes: Sequence[int], drawn: Mapping[int, int], of: Computed, units: System) -> Sheet:
    """A row per note with what is expected, words and remarks empty; then empty rows for second readings.

    Parameters
    ----------
    case : Case
    notes : sequence of int
        In the order of the sheet.
    drawn : mapping of int to int
        Note to its row of `of`.
    of : Computed
    units : {"trade", "si"}
    """
    columns = [Column("note", text=True), Column("speech", text=True)]
    for one in MEASURABLE:
        heading = one.heading.replace(", ", ",\n").replace("pluck point", "pluck\npoint")
        columns.append(in_units(heading, one.unit, units, _PLACES[one.unit]))
    columns.append(Column("remark", text=True))
    rows: list[list[Cell]] = []
    for note in notes:
        row = of.values[drawn[note]]
        figures = [value(row[k], one.unit, units) for k, one in enumerate(MEASURABLE)]
        rows.append([note_name(note, case.naming), "", *("" if math.isnan(one) else one for one in figures), ""])
    rows += [[""] * len(columns) for _ in trial_notes(notes)]
    told = (
        "Small and grey: what is computed of the case as it is drawn, at its own pressure, with its own stops drawn. "
        "Write what you read beside it, not what you hoped for. A figure that was not read stays blank or is a dash. "
        f"Speech: {', '.join(SPEECH)}. A second reading of a note goes into a row of its own."
    )
    return Sheet("expected", "What is read at the keys", columns, rows, told)


def stops_drawn(trains: Mapping[int, Train]) -> list[str]:
    """Stops that the case draws, on any of these notes."""
    grooves = (part for train in trains.values() for part in train.parts if part.role == "groove")
    return list(dict.fromkeys(stop.name for groove in grooves for stop in stops_of(groove) if stop.drawn))


def steps(case: Case, notes: Sequence[int], stops: Sequence[str], units: System) -> list[str]:
    """The order of work on site, a sentence or two each (common practice)."""
    front = next(one for one in case.parts if one.part.role == "key").fields.get("front", {})
    reach = sorted({float(given.value) for given in front.values()})
    at = f", {format_value(reach[0], 'm', units)} from the pivot" if len(reach) == 1 else ""
    trial = ", ".join(note_name(note, case.naming) for note in trial_notes(notes))
    again = "At the end the first notes once more, in rows of their own: what has changed meanwhile?"
    ruler, balance = format_value(RULER, "m", units), format_value(BALANCE, "N", units)
    known = f"the case has {format_value(case_pressure(case), 'Pa', units)}"
    told = {one.name: one.doc for one in MEASURABLE}
    drawn = f"the stops that the case draws ({', '.join(stops)})" if stops else "the stops that the case means"
    return [
        "Turn nothing yet: this is the action as found. Write down date, temperature and humidity beside the action, "
        "and once more at the end.",
        f"Pressure, wind on, no key pressed: a gauge on the box ({known}). Then draw {drawn} and no others; all "
        "couplers off.",
        f"Trial notes first, every figure twice: {trial}. How far two readings differ is how well you read; a ruler "
        f"is taken for good to {ruler}, a balance to {balance}: write over 'ruler' and 'balance' in the head of the "
        "sheet if yours are better or worse.",
        f"Wind off, from the keys: level with a straightedge and feelers ({told['level']}); dip with a depth block "
        f"({told['dip']}); play with a feeler or a dial ({told['play']}).",
        f"Wind off, weights of a few grams laid gently on the key front{at}: pluck, hold, up. The key is tapped "
        "nowhere; friction is half of what lies between down and up.",
        f"Wind on, at the same place: pluck point ({told['point']}), then pluck, hold and up again.",
        "Speech of every note, and what is seen and heard, in words: worn cloth, a bent wire, a sleepy key.",
        "Lift last, only where the chest is open anyway, and every sixth note is enough: wind off, one person outside "
        "who knows of it.",
        *([again] if len(notes) > len(trial_notes(notes)) else []),
    ]


def expected_rows(form: Sheet, names: Sequence[str]) -> Sheet:
    """A few notes of a form for the terminal: name and figures, no words."""
    kept = [0, *range(2, 2 + len(NAMES))]
    rows = [[row[i] for i in kept] for row in form.rows if row[0] in names]
    columns = [replace(one, heading=one.heading.replace("wind off", "off")) for one in (form.columns[i] for i in kept)]
    return Sheet("expected", "Expected of the trial notes", columns, rows, "off: with the wind off.")
