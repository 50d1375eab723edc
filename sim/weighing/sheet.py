"""The weigh-off as a sheet, and what the laid masses say beside the statics."""

from __future__ import annotations

from collections.abc import Sequence

from keyaction.models.notes import Naming, note_name
from keyaction.models.units.quantity import System
from keyaction.sim.tables.sheet import Cell, Column, Sheet, in_units, value
from keyaction.sim.weighing.weighoff import WeighOff, Weights

_SHARES = (
    ("friction", "friction", "friction at the key"),
    ("spring_and_balance", "spring,\nbalance", "spring and balance at the key"),
    ("wind", "wind", "wind at the key"),
    ("closing", "closing\nat eye", "closing margin at the eye, wind off"),
)
_KINDS = (("down", "down-weight"), ("hold", "hold weight"), ("up", "up-weight"))
NOTE = (
    "on, off: wind on, wind off. down: smallest load that takes the key through the pluck; hold: smallest that keeps "
    "it at the bottom; up: largest that it lifts until the pallet seats. friction: (down - up) / 2, wind off; spring, "
    "balance: (down + up) / 2, wind off; wind: down, on less off. closing: spring less weight and hinge friction of "
    "the pallet by itself, wind off. '-': no load opens it, or the key stays down, which leaves no friction or "
    "balance to weigh; 0: the key stays down."
)


def weigh_sheet(found: Sequence[WeighOff], naming: Naming, units: System, brief: bool = False) -> Sheet:
    """All notes: the weights by statics, and the shares of friction, spring and wind.

    Parameters
    ----------
    found : sequence of WeighOff
    naming : {"scientific", "trade", "german"}
    units : {"trade", "si"}
    brief : bool
        Short headings for a terminal, and no column that says why a note failed.
    """
    columns = [Column("note", text=True)]
    for wind in ("on", "off"):
        columns += [
            in_units(f"{wind}\n{kind}" if brief else f"{words}, wind {wind}", "N", units, 1) for kind, words in _KINDS
        ]
    columns += [in_units(short if brief else words, "N", units, 1) for _, short, words in _SHARES]
    rows: list[list[Cell]] = []
    for one in found:
        figures = [*_three(one.on), *_three(one.off), *(getattr(one, name) for name, _, _ in _SHARES)]
        cells: list[Cell] = ["failed"] if one.failed and brief else [value(figures[0], "N", units)]
        cells += ["" if one.failed and brief else value(figure, "N", units) for figure in figures[1:]]
        rows.append([note_name(one.note, naming), *cells])
    if not brief:
        columns.append(Column("status", text=True))
        for row, one in zip(rows, found, strict=True):
            row.append(f"failed: {one.failed}" if one.failed else "ok")
    return Sheet("weigh-off", "Weigh-off at the key front, by statics", columns, rows, NOTE)


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
