"""The work as sheets: a row for each note, a row for each step, and the figures that are to be expected."""

from __future__ import annotations

import math

import numpy as np

from keyaction.models.historic.works import WORKS
from keyaction.models.readings.figures import BY_NAME, NAMES
from keyaction.models.units.quantity import System
from keyaction.sim.measuring.historic import Proposed
from keyaction.sim.measuring.knobs import KINDS
from keyaction.sim.regulating.aims import STAGES
from keyaction.sim.regulating.cause import Cause
from keyaction.sim.regulating.judged import KEPT
from keyaction.sim.regulating.lists import lists_sheet
from keyaction.sim.regulating.regulate import Regulation
from keyaction.sim.regulating.steps import Common, Move
from keyaction.sim.regulating.told_notes import cipher_words, mute_words
from keyaction.sim.regulating.words import (
    Named,
    Said,
    cause_words,
    common_words,
    lead_words,
    move_words,
    said_in,
    seen_in,
    work_of,
)
from keyaction.sim.tables.sheet import Cell, Column, Sheet, in_units, value

EXPECTED = ("level", "dip", "play", "point", "lift", "pluck", "hold", "up")
"""Figures that are foretold of every note."""
PLACES = {"m": 1, "N": 0}
"""Decimal places of figures, by their SI unit, in the trade's units."""
_SENSES = (
    "Spring: force at the eye, pallet shut. Rest: where the key rests, higher above 0. Bottom: deeper above 0. Nut: "
    "turns, looser above 0, tighter below."
)
_STANDS = {
    "nut": "run longer", "rest": "key rests higher", "bottom": "bottom deeper", "spring": "spring stronger",
    "friction": "more friction", "seal": "wind presses more", "soft-run": "run stiffer",
}  # fmt: skip
"""How a note may stand, as a builder says it."""
_FOUND = {"nut": ("level", "play"), "rest": ("level",), "bottom": ("dip",), "spring": ("pluck",)}
TURNED = ("level", "play", "dip", "lift", "point")
"""Figures that are told of one turn of a nut."""
_TOLD = ("level", "play", "lift", "point", "pluck")


def work_sheet(one: Regulation, name: Named, units: System = "trade") -> Sheet:
    """A row for each note at which anything is done: how much in the order of the columns, and what it is then."""
    columns = [
        Column("note", text=True),
        in_units("spring\nto", "N", units, 0),
        in_units("rest\n", "m", units, 1),
        in_units("bottom\n", "m", units, 1),
        Column("nut", "turns", None),
        in_units("then:\nlevel", "m", units, 1),
        in_units("\nplay", "m", units, 1),
        in_units("\ndip", "m", units, 1),
        in_units("\nlift", "m", units, 1),
        in_units("\npluck", "N", units, 0),
    ]
    return Sheet("work", "Single notes", columns, _work_rows(one, name, units), _SENSES)


def _work_rows(one: Regulation, name: Named, units: System) -> list[list[Cell]]:
    rows: list[list[Cell]] = []
    for i, note in enumerate(one.notes):
        moves = {move.kind: move for move in one.steps.of(note)}
        if not moves:
            continue
        spring = value(moves["spring"].forces[1], "N", units) if "spring" in moves else math.nan
        ways = [value(moves[kind].amount, "m", units) if kind in moves else math.nan for kind in ("rest", "bottom")]
        then = [_figure(one, i, figure, units) for figure in ("level", "play", "dip", "lift", "pluck")]
        rows.append([name(note), spring, *ways, moves["nut"].turns if "nut" in moves else math.nan, *then])
    return rows


def _figure(one: Regulation, i: int, figure: str, units: System) -> float:
    """A figure after the work; none where the readings do not tell it."""
    if not one.state.shows(figure)[i]:
        return math.nan
    return value(float(one.after.values[i, NAMES.index(figure)]), BY_NAME[figure].unit, units)


def console_sheet(one: Regulation, name: Named, units: System = "trade") -> Sheet:
    """To hang at the console: a row for every note, what to do there in words and in order, and a place to tick."""
    said, seen = said_in(units), seen_in(units)
    rows: list[list[Cell]] = []
    for i, note in enumerate(one.notes):
        words = [_early(move) + move_words(move, said) for move in one.steps.of(note)]
        for cause in one.causes:
            if cause.note == note:
                words.insert(0, cipher_words(one, i, seen) if cause.kind == "ciphers" else _sent_words(cause, seen))
        denied = any(cause.note == note and cause.kind == "word" for cause in one.causes)
        if one.state.speech[i] == "mute" and not denied and (why := mute_words(one, i, seen)):
            words.insert(0, why)
        if words:
            rows.append([name(note), "; ".join(words), "", ""])
    columns = [
        Column("note", text=True),
        Column("in this order", text=True),
        Column("done", text=True),
        Column("remark", text=True),
    ]
    return Sheet("console", "What to do at each note, after what is common to all", columns, rows)


def _early(move: Move) -> str:
    return "before all keys are moved: " if move.stage == "rail" else ""


def _sent_words(cause: Cause, seen: Said) -> str:
    return f"{'measure again' if cause.sent == 'measure' else 'find the cause first'}: {cause_words(cause, seen)}"


def steps_sheet(one: Regulation, name: Named, units: System = "trade") -> Sheet:
    """A row for each step in the trade's order: what, where, how much, what it does, and what remains of it."""
    columns = [
        Column("step", "", 0),
        Column("stage", text=True),
        Column("note", text=True),
        Column("work", text=True),
        Column("what", text=True),
        *(in_units(f"{BY_NAME[f].heading}:\nbefore", BY_NAME[f].unit, units, PLACES[BY_NAME[f].unit]) for f in _TOLD),
        *(in_units(f"{BY_NAME[f].heading}:\nafter", BY_NAME[f].unit, units, PLACES[BY_NAME[f].unit]) for f in _TOLD),
        Column("instead, if the spring weighs as drawn", text=True),
    ]
    rows = _step_rows(one, name, units)
    note = "Figures follow step by step in this order, by the slopes of each note; a step for all notes gives changes."
    return Sheet("steps", "Steps in the order of work", columns, rows, note)


def ordered(one: Regulation) -> list[Common | Move]:
    """All steps in the trade's order, what is common to all before single notes."""
    every: list[Common | Move] = [*one.steps.commons, *one.steps.moves]
    return sorted(every, key=lambda step: STAGES.index(step.stage))


def proposed(one: Regulation, units: System = "trade") -> list[Proposed]:
    """All work as it is written down of historic material; what is common to all is told of the lowest note."""
    said, seen, found = said_in(units), seen_in(units), list[Proposed]()
    for step in ordered(one):
        if isinstance(step, Common):
            found.append(Proposed(one.notes[0], work_of(step), step.part, "", f"all notes: {common_words(step, said)}"))
            continue
        as_found = [f"{BY_NAME[f].heading} {seen(step.before[f], BY_NAME[f].unit)}" for f in _FOUND[step.kind]]
        found.append(Proposed(step.note, work_of(step), step.part, ", ".join(as_found), move_words(step, said)))
    return found


def _step_rows(one: Regulation, name: Named, units: System) -> list[list[Cell]]:
    said, rows = said_in(units), list[list[Cell]]()
    for k, step in enumerate(ordered(one), 1):
        does = WORKS[work_of(step)].does
        if isinstance(step, Common):
            change = [value(step.change[f], BY_NAME[f].unit, units) for f in _TOLD]
            rows.append([k, step.stage, "all", does, common_words(step, said), *[math.nan] * len(_TOLD), *change, ""])
            continue
        before, after = ([value(at[f], BY_NAME[f].unit, units) for f in _TOLD] for at in (step.before, step.after))
        lead = lead_words(step, said) if step.kind == "spring" else ""
        rows.append([k, step.stage, name(step.note), does, move_words(step, said), *before, *after, lead])
    return rows


def expected_sheet(one: Regulation, name: Named, units: System = "trade") -> Sheet:
    """Figures of every note after the work, simulated again; what is outside its tolerance is marked."""
    columns = [
        Column("note", text=True),
        *(in_units(BY_NAME[f].heading, BY_NAME[f].unit, units, PLACES[BY_NAME[f].unit]) for f in EXPECTED),
        Column("within", text=True),
        Column("speech", text=True),
    ]
    off = one.outside(one.after.values)
    rows: list[list[Cell]] = []
    for i in np.flatnonzero(one.table.work):
        outside = ", ".join(BY_NAME[KEPT[k]].heading for k in range(len(KEPT)) if off[i, k])
        speech = one.after.verdicts[i].fate.value
        rows.append(
            [
                name(one.notes[i]),
                *(_figure(one, int(i), f, units) for f in EXPECTED),
                f"not {outside}" if outside else "all",
                speech,
            ]
        )
    note = "At the pressure of the case, wind on. A dash: the readings do not tell it."
    return Sheet("expected", "What is to be expected afterwards", columns, rows, note)


def turn_sheet(one: Regulation, name: Named, units: System = "trade") -> Sheet:
    """What one turn looser of its nut does at every note."""
    columns = [
        Column("note", text=True),
        Column("nut of", text=True),
        *(in_units(BY_NAME[f].heading, "m", units, 2) for f in TURNED),
    ]
    rows: list[list[Cell]] = []
    for i, note in enumerate(one.notes):
        does = [value(one.aims.pitch * float(one.table.rise("nut", f)[i]), "m", units) for f in TURNED]
        rows.append([name(note), one.state.bench.knobs[i]["nut"].part, *does])
    pitch = said_in(units)(one.aims.pitch, "m")
    return Sheet("a-turn", "What one turn looser does", columns, rows, f"Thread of {pitch} a turn.")


def found_sheet(one: Regulation, name: Named, units: System = "trade") -> Sheet:
    """How every note was found to stand: amounts against the drawing, and their standard deviations."""
    columns = [Column("note", text=True)]
    for kind, head in _STANDS.items():
        unit = KINDS[kind].unit
        columns += [in_units(head, unit, units, 2), in_units(f"{head}\n±", unit, units, 2)]
    rows: list[list[Cell]] = []
    for i in np.flatnonzero(one.state.known):
        row: list[Cell] = [name(one.notes[i])]
        for kind in _STANDS:
            own, told = kind in one.state.bench.knobs[i], one.state.tells(kind)[i]
            x, sd = (float(at[i]) for at in (one.state.amount(kind), one.state.sd_of(kind)))
            row += (
                [value(x, KINDS[kind].unit, units), value(sd, KINDS[kind].unit, units)]
                if own and told
                else [math.nan] * 2
            )
        rows.append(row)
    note = (
        "Against the drawing; a dash where the readings do not tell it. Springs and seats as shares, the run's give as "
        "the logarithm of its stiffness."
    )
    return Sheet("found", "How the notes stand", columns, rows, note)


def sheets(one: Regulation, name: Named, units: System = "trade") -> list[Sheet]:
    """All sheets of a division, that for the console first."""
    made = (console_sheet, steps_sheet, work_sheet, expected_sheet, turn_sheet, found_sheet)
    return [*(make(one, name, units) for make in made), lists_sheet(one, name)]
