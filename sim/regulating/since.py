"""What has come of the work: a sheet held against one that was read before."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from keyaction.models.readings.figures import BY_NAME, NAMES
from keyaction.models.units.quantity import System, format_value
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.regulating.fewest import Flags
from keyaction.sim.regulating.judged import KEPT
from keyaction.sim.regulating.regulate import Regulation
from keyaction.sim.regulating.words import Named
from keyaction.sim.tables.sheet import Cell, Column, Sheet

SURE = 2.0
"""Standard deviations of a difference of two readings from which a figure has moved."""


@dataclass(frozen=True)
class Moved:
    """One figure that was read before and now.

    Attributes
    ----------
    figure : str
        Of `keyaction.sim.regulating.judged.KEPT`.
    read : int
        Notes at which it was read both times.
    before, now : int
        Of those how many were and are within tolerance, by all readings of a note together.
    worse : tuple of int
        Notes that moved farther out, by more than the errors of both readings explain.
    crept : tuple of int
        Of these the notes that were within tolerance and are no longer.
    left : tuple of int
        Notes that are outside now.
    """

    figure: str
    read: int
    before: int
    now: int
    worse: tuple[int, ...]
    crept: tuple[int, ...]
    left: tuple[int, ...]


def since(before: Regulation, now: Regulation) -> list[Moved]:
    """Every figure that was read both times.

    Parameters
    ----------
    before, now : Regulation
        Of the same notes, of the older sheet and of the newer one.
    """
    found = []
    wrong = [one.outside(one.before) for one in (before, now)]
    for k, figure in enumerate(KEPT):
        both = _read(before, figure) & _read(now, figure)
        if not np.any(both):
            continue
        worse = (
            both & wrong[1][:, k] & (_away(now, figure) - _away(before, figure) > SURE * _error(before, now, figure))
        )
        crept, left = worse & ~wrong[0][:, k], both & wrong[1][:, k]
        within = [int((both & ~flags[:, k]).sum()) for flags in wrong]
        lists = [tuple(now.notes[i] for i in np.flatnonzero(flags)) for flags in (worse, crept, left)]
        found.append(Moved(figure, int(both.sum()), within[0], within[1], *lists))
    return found


def _read(one: Regulation, figure: str) -> Flags:
    return np.isfinite(one.state.read[:, NAMES.index(figure)])


def _error(before: Regulation, now: Regulation, figure: str) -> Floats:
    k = NAMES.index(figure)
    return np.asarray(np.hypot(before.state.error[:, k], now.state.error[:, k]))


def _away(one: Regulation, figure: str) -> Floats:
    """How far a reading is from what is drawn; the level from the line."""
    k = NAMES.index(figure)
    drawn = one.table.drawn[:, k] if figure != "level" else 0.0
    return np.asarray(np.abs(one.state.read[:, k] - drawn))


def since_sheet(found: list[Moved]) -> Sheet:
    """A row for each figure."""
    columns = [
        Column("figure", text=True),
        *(
            Column(heading, "notes", 0)
            for heading in ("read\ntwice", "within\nbefore", "within\nnow", "worse", "crept")
        ),
    ]
    rows: list[list[Cell]] = [
        [BY_NAME[one.figure].heading, one.read, one.before, one.now, len(one.worse), len(one.crept)] for one in found
    ]
    return Sheet("progress", "Since the sheet before", columns, rows)


def since_told(before: Regulation, now: Regulation, name: Named, units: System = "trade") -> list[str]:
    """What has been done, what crept, and what is left, in sentences."""
    found = since(before, now)
    if not found:
        return ["No figure was read on both sheets: nothing can be said of what has changed."]
    lines = [_gain(found)]
    asked = {move.note for move in before.steps.moves if move.kind != "spring"} & set(now.notes)
    again = {move.note for move in now.steps.moves if move.kind != "spring"}
    if asked:
        rest = f"; still to do: {', '.join(map(name, sorted(asked & again)))}" if asked & again else ""
        done = len(asked - again)
        lines.append(f"Of {len(asked)} notes that the sheet before wanted set, {done} want nothing more{rest}.")
    for one in found:
        heading = BY_NAME[one.figure].heading
        if one.crept:
            nut = " (nuts that crept, or were turned without need)" if _by_nut(now, one.figure) else ""
            where = _named(now, one.crept, name, one.figure, units)
            lines.append(f"{heading}: was within tolerance and is no longer{nut}: {where}.")
        others = tuple(note for note in one.worse if note not in one.crept)
        if others:
            lines.append(f"{heading}: worse than before: {_named(now, others, name, one.figure, units)}.")
    return lines


def _gain(found: list[Moved]) -> str:
    parts = [f"{BY_NAME[one.figure].heading} {one.before} before, {one.now} now, of {one.read}" for one in found]
    return f"Within tolerance: {'; '.join(parts)}."


def _by_nut(one: Regulation, figure: str) -> bool:
    return figure == "level" if np.all(one.table.hung) else figure == "play"


def _named(one: Regulation, notes: tuple[int, ...], name: Named, figure: str, units: System) -> str:
    k, unit = NAMES.index(figure), BY_NAME[figure].unit
    said = {note: float(one.state.read[one.notes.index(note), k]) for note in notes}
    return ", ".join(
        f"{name(n)} ({format_value(v, unit, units) if math.isfinite(v) else '-'})" for n, v in said.items()
    )
