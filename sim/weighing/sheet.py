"""The weigh-off as a sheet, and what the laid masses say beside the statics."""

from __future__ import annotations

import math
from collections.abc import Sequence

from keyaction.models.notes import Naming, note_name
from keyaction.models.units.quantity import System
from keyaction.sim.figures.verdict import Fate
from keyaction.sim.tables.sheet import Cell, Column, Sheet, in_units, value
from keyaction.sim.weighing.weighoff import WeighOff, Weights

_SHARES = (
    ("friction", "fric-\ntion", "friction at the key"),
    ("spring_and_balance", "bal-\nance", "spring and balance at the key"),
    ("wind", "wind", "wind at the key"),
    ("closing", "closing\nat eye", "closing margin at the eye, wind off"),
)
_KINDS = (("down", "down-weight"), ("hold", "hold weight"), ("up", "up-weight"))
NOTE = (
    "on, off: wind on, wind off. down: smallest load that takes the key through the pluck, the last of several; hold: "
    "smallest that keeps it at the bottom; up: largest that it lifts until all pallets seat. friction: (down - up) / "
    "2, wind off; balance, with the spring: (down + up) / 2, wind off; wind: down, on less off. closing: spring less "
    "weight and hinge friction of the first pallet, wind off. '-': none, as the pallet never opens or stands open "
    "unplayed, or as the key stays down or plucks more than once; 0: the key stays down."
)
_MOST = 6
"""Notes of one verdict of which each has its reason told."""


def weigh_sheet(found: Sequence[WeighOff], naming: Naming, units: System, brief: bool = False) -> Sheet:
    """All notes: the weights by statics, and the shares of friction, spring and wind.

    Parameters
    ----------
    found : sequence of WeighOff
    naming : {"scientific", "trade", "german"}
    units : {"trade", "si"}
    brief : bool
        Short headings for a terminal, and no column for what is wrong with a note.
    """
    columns = [Column("note", text=True)]
    for wind in ("on", "off"):
        columns += [
            in_units(f"{wind}\n{kind}" if brief else f"{words}, wind {wind}", "N", units, 1) for kind, words in _KINDS
        ]
    columns += [in_units(short if brief else words, "N", units, 1) for _, short, words in _SHARES]
    rows: list[list[Cell]] = [[note_name(one.note, naming), *_cells(one, units, brief)] for one in found]
    if not brief:
        columns.append(Column("status", text=True, head_only=True))
        for row, one in zip(rows, found, strict=True):
            row.append(status(one))
    return Sheet("weigh-off", "Weigh-off at the key front, by statics", columns, rows, NOTE, wrong(found, naming))


def _cells(one: WeighOff, units: System, brief: bool) -> list[Cell]:
    figures = [*_three(one.on), *_three(one.off), *(getattr(one, name) for name, _, _ in _SHARES)]
    cells: list[Cell] = [value(figure, "N", units) for figure in figures]
    if brief and one.failed and one.verdict.fate is Fate.UNKNOWN:
        blank = ["" if math.isnan(figure) else cell for figure, cell in zip(figures, cells, strict=True)]
        return ["failed", *blank[1:]]
    return cells


def status(one: WeighOff) -> str:
    """What is wrong with a note: its verdict, or why it could not be weighed; "ok" where nothing is."""
    if one.verdict.fate is Fate.UNKNOWN:
        return f"failed: {one.failed}" if one.failed else "ok"
    return "ok" if one.verdict.sound else str(one.verdict)


def wrong(found: Sequence[WeighOff], naming: Naming) -> list[str]:
    """What is wrong with notes: of each kind their names and, note by note, the reasons; like ones share a line."""
    kinds: dict[str, dict[str, list[str]]] = {}
    for one in found:
        kind, _, reason = status(one).partition(": ")
        if kind != "ok":
            kinds.setdefault(kind, {}).setdefault(reason, []).append(note_name(one.note, naming))
    lines = []
    for kind, reasons in kinds.items():
        for reason, notes in list(reasons.items())[:_MOST]:
            lines.append(f"{', '.join(notes)}: {kind}{f': {reason}' if reason else ''}")
        left = [note for notes in list(reasons.values())[_MOST:] for note in notes]
        if left:
            lines.append(f"{', '.join(left)}: {kind}")
    return lines


def _three(weights: Weights) -> tuple[float, float, float]:
    return weights.down, weights.hold, weights.up


def laid_sheet(found: Sequence[WeighOff], naming: Naming, units: System) -> Sheet:
    """The notes on which masses were laid: statics beside masses."""
    columns = [Column("note", text=True), Column("wind", text=True)]
    for kind, _ in _KINDS:
        columns += [in_units(f"{kind}\nstatics", "N", units, 1), in_units(f"{kind}\nmasses", "N", units, 0)]
    rows: list[list[Cell]] = []
    for one in found:
        for wind, static, laid in (("on", one.on, one.laid_on), ("off", one.off, one.laid_off)):
            if laid:
                pairs = zip(_three(static), _three(laid), strict=True)
                figures = [value(figure, "N", units) for pair in pairs for figure in pair]
                rows.append([note_name(one.note, naming), wind, *figures])
    title = "Simulated masses laid on the key and let go, to the gram"
    return Sheet("laid-masses", title, columns, rows)
