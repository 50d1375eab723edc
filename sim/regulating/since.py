"""What has come of the work: a sheet held against one that was read before."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from keyaction.models.readings.figures import BY_NAME, NAMES
from keyaction.models.units.quantity import System, format_value
from keyaction.sim.motion.integrate import Floats
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
        Of those how many were and are within tolerance.
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
    within = [one.kept.within(one.state.read) for one in (before, now)]
    off = [one.kept.off(one.state.read) for one in (before, now)]
    for k, figure in enumerate(KEPT):
        both = np.isfinite(off[0][:, k]) & np.isfinite(off[1][:, k])
        if not np.any(both):
            continue
        error = _error(before, now, figure)
        worse = both & (off[1][:, k] > 0.0) & (_away(now, figure) - _away(before, figure) > SURE * error)
        crept = worse & within[0][:, k]
        left = both & ~within[1][:, k]
        notes = now.notes
        found.append(
            Moved(
                figure, int(both.sum()), int(within[0][both, k].sum()), int(within[1][both, k].sum()),
                *(tuple(notes[i] for i in np.flatnonzero(flags)) for flags in (worse, crept, left)),
            )
        )  # fmt: skip
    return found


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
    asked, done = _done(before, now)
    if asked:
        left = [name(note) for note in asked if note not in done]
        rest = f"; still to do: {', '.join(left)}" if left else ""
        lines.append(f"Of {len(asked)} notes that were to be set by the sheet before, {len(done)} are right now{rest}.")
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


def _done(before: Regulation, now: Regulation) -> tuple[list[int], list[int]]:
    """Notes at which the older sheet asked for single work at key and nut, and which of them are right now."""
    off = now.kept.off(now.state.read)[:, [KEPT.index(figure) for figure in ("level", "dip", "play")]]
    places = {note: i for i, note in enumerate(now.notes)}
    asked = list(dict.fromkeys(move.note for move in before.steps.moves if move.kind != "spring"))
    asked = [note for note in sorted(asked) if note in places and np.any(np.isfinite(off[places[note]]))]
    return asked, [note for note in asked if not np.nanmax(off[places[note]]) > 0.0]


def _by_nut(one: Regulation, figure: str) -> bool:
    return figure == "level" if np.all(one.table.hung) else figure == "play"


def _named(one: Regulation, notes: tuple[int, ...], name: Named, figure: str, units: System) -> str:
    k, unit = NAMES.index(figure), BY_NAME[figure].unit
    said = {note: float(one.state.read[one.notes.index(note), k]) for note in notes}
    return ", ".join(
        f"{name(n)} ({format_value(v, unit, units) if math.isfinite(v) else '-'})" for n, v in said.items()
    )
