"""The tables of the page that hangs at the console: what is done at each note, what each step does, what follows."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from keyaction.models.readings.figures import BY_NAME
from keyaction.models.units.quantity import System
from keyaction.sim.measuring.knobs import KINDS
from keyaction.sim.regulating.lists import lists_sheet
from keyaction.sim.regulating.regulate import Regulation
from keyaction.sim.regulating.sheets import (
    PLACES,
    TURNED,
    console_sheet,
    expected_sheet,
    ordered,
    turn_sheet,
    work_sheet,
)
from keyaction.sim.regulating.steps import SHOWN, Common, Move
from keyaction.sim.regulating.told_kept import supposed, tolerances
from keyaction.sim.regulating.words import Named, Said, common_words, lead_words, move_words, said_in
from keyaction.sim.tables.sheet import NONE, Cell, Column, Sheet, in_units, value

_SPACE, _ARROW, _MINUS = "\N{NO-BREAK SPACE}", "\N{RIGHTWARDS ARROW}", "\N{MINUS SIGN}"
_THEN = ("level", "play", "dip", "lift", "pluck")
_STANDS = {
    "nut": "run\nlonger", "rest": "key rests\nhigher", "bottom": "bottom\ndeeper", "spring": "spring\nstronger",
    "friction": "more\nfriction", "seal": "wind presses\nmore", "soft-run": "run\nstiffer",
}  # fmt: skip
"""What is known of how each note stands, as a builder says it."""
_SEEN, _SEEN_TURN = {"m": 3e-5, "N": 5e-3}, 5e-6
"""Change of a figure below which nothing is told of it, and of one turn, SI."""
_CLEAR = 3.0
"""Times its error from which on an amount is marked."""


def page_sheets(one: Regulation, name: Named, units: System = "trade") -> list[Sheet]:
    """The tables of a page, what is done first; each says what its CSV has in plain numbers.

    Parameters
    ----------
    one : Regulation
    name : callable
        Names a note.
    units : {"trade", "si"}
    """
    made = [_console(one, name, units), _steps(one, name, units), _turn(one, name, units), lists_sheet(one, name)]
    return [*made, _expected(one, name, units), _stands(one, name, units)]


def _console(one: Regulation, name: Named, units: System) -> Sheet:
    """What is done at each note, how it stands then, and where to tick."""
    whole, work = console_sheet(one, name, units), work_sheet(one, name, units)
    then = {row[0]: list(row[-len(_THEN) :]) for row in work.rows}
    columns = [*whole.columns[:2], *work.columns[-len(_THEN) :], *whole.columns[2:]]
    nothing: list[Cell] = [math.nan] * len(_THEN)
    rows = [[*row[:2], *then.get(row[0], nothing), *row[2:]] for row in whole.rows]
    note = "Then: what the note is to show once its work is done."
    title = whole.title if one.steps.commons else "What to do at each note"
    return replace(whole, title=title, columns=columns, rows=rows, note=note)


def _steps(one: Regulation, name: Named, units: System) -> Sheet:
    """Every step with what it changes, before and after in one cell; figures that no step changes are left out."""
    said = said_in(units)
    columns = [Column("note", text=True), Column("stage", text=True), Column("what is done", text=True)]
    columns += [
        replace(in_units(BY_NAME[f].heading.replace(" ", "\n"), BY_NAME[f].unit, units), text=True) for f in SHOWN
    ]
    rows, instead = list[list[Cell]](), list[str]()
    for step in ordered(one):
        changes = [_change(step, f, units) for f in SHOWN]
        if isinstance(step, Common):
            rows.append(["all", step.stage, common_words(step, said), *changes])
            continue
        rows.append([name(step.note), step.stage, move_words(step, said), *changes])
        if step.kind == "spring":
            instead.append(_instead(step, name, said))
    note = "Before and after each step, in this order; of a step for all notes its change. A dash: nothing changes."
    kept = [i for i in range(len(columns)) if any(row[i] != NONE for row in rows)]
    return _only(Sheet("steps", "Steps in the order of work", columns, rows, note, instead), kept)


def _change(step: Common | Move, figure: str, units: System) -> str:
    """What a step does to a figure; a dash where nothing is seen of it."""
    unit = BY_NAME[figure].unit
    column = in_units("", unit, units, PLACES[unit])

    def number(si: float) -> str:
        return column.shown(value(si, unit, units)).replace("-", _MINUS)

    if isinstance(step, Common):
        by = step.change[figure]
        return ("" if by < 0.0 else "+") + number(by) if abs(by) > _SEEN[unit] else NONE
    if not abs(step.after[figure] - step.before[figure]) > _SEEN[unit]:
        return NONE
    ends = [number(at[figure]) if math.isfinite(at[figure]) else NONE for at in (step.before, step.after)]
    return NONE if ends[0] == ends[1] else f"{ends[0]}{_ARROW}{ends[1]}"


def _instead(step: Move, name: Named, said: Said) -> str:
    return f"{name(step.note)}, should its spring weigh as drawn: {lead_words(step, said)} in place of bending it."


def _expected(one: Regulation, name: Named, units: System) -> Sheet:
    """Figures after the work; what is the same of all notes is said once."""
    whole = expected_sheet(one, name, units)
    heads = [column.heading for column in whole.columns]
    within, speech = heads.index("within"), heads.index("speech")
    columns = [replace(c, heading="outside") if i == within else c for i, c in enumerate(whole.columns)]
    rows = [[_outside(cell) if i == within else cell for i, cell in enumerate(row)] for row in whole.rows]
    spoken = {str(row[speech]) for row in rows}
    same = f" Every note {next(iter(spoken))}." if len(spoken) == 1 else ""
    kept = [i for i in range(len(columns)) if i != speech or not same]
    kept = [i for i in kept if i != within or any(row[within] for row in rows)]
    lines = [*supposed(one), tolerances(one.aims, units)]
    return _only(replace(whole, columns=columns, rows=rows, note=whole.note + same, lines=lines), kept)


def _outside(cell: Cell) -> Cell:
    return "" if cell == "all" else f"{str(cell).removeprefix('not ')}!"


def _only(sheet: Sheet, kept: Sequence[int]) -> Sheet:
    """Some columns of a sheet."""
    rows = [[row[i] for i in kept] for row in sheet.rows]
    return replace(sheet, columns=[sheet.columns[i] for i in kept], rows=rows)


def _turn(one: Regulation, name: Named, units: System) -> Sheet:
    """What a turn does; one row where all notes are alike, and no figure that it leaves alone."""
    whole = turn_sheet(one, name, units)
    does = one.aims.pitch * np.stack([one.table.rise("nut", figure) for figure in TURNED], axis=1)
    kept = [2 + i for i in np.flatnonzero(np.any(np.abs(does) > _SEEN_TURN, axis=0)).tolist()]
    alike = np.all(np.abs(does - does[0]) < _SEEN_TURN) and len({row[1] for row in whole.rows}) == 1
    if alike and len(whole.rows) > 1:
        whole = replace(whole, rows=[[f"all {len(whole.rows)}", *whole.rows[0][1:]]])
    return _only(replace(whole, note=f"{whole.note} Figures that it leaves alone are left out."), [0, 1, *kept])


def _stands(one: Regulation, name: Named, units: System) -> Sheet:
    """How every note was found to stand, each amount with its error."""
    kinds = [kind for kind in _STANDS if np.any(_told(one, kind))]
    columns = [Column("note", text=True)]
    columns += [Column(_STANDS[kind], _unit(kind, units), text=True) for kind in kinds]
    rows: list[list[Cell]] = [
        [name(one.notes[i]), *(_stand(one, kind, i, units) for kind in kinds)]
        for i in np.flatnonzero(one.state.known).tolist()
    ]
    note = (
        "Against the drawing, with its standard deviation; a dash where the readings do not tell it; ! more than "
        f"{_CLEAR:g} times its deviation."
    )
    return Sheet("found", "How the notes stand", columns, rows, note)


def _told(one: Regulation, kind: str) -> np.ndarray:
    there = np.array([kind in own for own in one.state.bench.knobs])
    return np.asarray(one.state.known & one.state.tells(kind) & there)


def _unit(kind: str, units: System) -> str:
    return "%" if KINDS[kind].unit == "1" else in_units("", KINDS[kind].unit, units).unit


def _stand(one: Regulation, kind: str, i: int, units: System) -> str:
    """An amount and its standard deviation; of a logarithm the share that it stands for."""
    if not _told(one, kind)[i]:
        return NONE
    x, sd = float(one.state.amount(kind)[i]), float(one.state.sd_of(kind)[i])
    mark = "!" if abs(x) > _CLEAR * sd else ""
    unit = KINDS[kind].unit
    if KINDS[kind].log:
        x, sd = math.expm1(x), sd * math.exp(x)
    if unit == "1":
        column, sizes = Column("", places=0), [100.0 * x, 100.0 * sd]
    else:
        column = in_units("", unit, units, 2 if unit == "m" else 1)
        sizes = [value(size, unit, units) for size in (x, sd)]
    told, error = (column.shown(size).replace("-", _MINUS) for size in sizes)
    return f"{told}{_SPACE}±{_SPACE}{error}{mark}"
