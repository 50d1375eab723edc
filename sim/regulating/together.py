"""What all notes share, told by as few causes as explain it: a line, a frame, a rail, or several of them."""

from __future__ import annotations

import numpy as np

from keyaction.models.readings.figures import NAMES
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.regulating.fewest import FEW, MOST
from keyaction.sim.regulating.plan import Plan, Table, plan

_MET = ("level", "play", "dip")
"""Lengths that tell a line, a frame and a rail apart."""
_AS_GOOD = 0.25
"""Common moves by which one may do worse, and still be taken for the sake of what it leaves untouched (assumed)."""


def planned(table: Table, figures: Floats, doubted: bool = True) -> Plan:
    """The work, by the explanation of what all levels share that wants least.

    Levels that are off by themselves are put down to the straightedge before any rail, and a frame goes before a rail.

    Parameters
    ----------
    table : Table
    figures : (n, figures) array
        As the notes stand.
    doubted : bool
        Whether the line that levels were read from may be at fault.
    """
    plain = plan(table, figures)
    off = _level_off(table, plain)
    if not off:
        return plain
    tried = [plan(table, figures, datum=off)] if doubted else []
    if np.all(np.any(table.lifts != 0.0, axis=1)):
        tried.append(plan(table, figures, frame=off))
    tried.append(plain)
    costs = [_cost(table, figures, one) for one in tried]
    return next(one for one, cost in zip(tried, costs, strict=True) if cost <= min(costs) + _AS_GOOD)


def _level_off(table: Table, work: Plan) -> float:
    """By how much all levels are to be raised, m; 0 where they share nothing."""
    moved = [work.shown(kind, table.shares()) for kind in ("rest", "nut") if kind in work.common]
    if not moved:
        return 0.0
    by = _change(table, sum(moved[1:], moved[0]), "level")
    return round(by, 4) if abs(by) > table.aims.level / 2 else 0.0


def _change(table: Table, amounts: Floats, figure: str) -> float:
    rise = table.state.bench.rise[:, :, NAMES.index(figure)]
    return float(np.median(np.sum(rise * amounts, axis=1)))


def _cost(table: Table, figures: Floats, work: Plan) -> float:
    """Common moves, single ones as shares of them, and figures that the common moves do not go with."""
    single = float(np.mean(np.any(work.single != 0.0, axis=1))) / MOST
    return len(work.common) + bool(work.datum) + single + _missed(table, figures, work)


def _missed(table: Table, figures: Floats, work: Plan) -> float:
    """How many figures all notes share otherwise than they would, were that at fault which the common moves undo."""
    read = figures + table.state.read - table.state.figures - table.drawn
    undone = [work.shown(kind, table.shares()) for kind in work.common]
    found = 0.0
    for figure in _MET:
        own = read[table.counts, NAMES.index(figure)]
        if np.isfinite(own).sum() < FEW:
            continue
        wanted = -sum(_change(table, one, figure) for one in undone)
        if figure == "level":
            wanted -= work.datum
        if figure == "play":  # a feeler reads no less than nothing
            wanted = max(wanted, -float(np.median(table.drawn[:, NAMES.index(figure)])))
        found += min(1.0, ((float(np.nanmedian(own)) - wanted) / table.aims.level) ** 2)
    return found


def levels_alone(table: Table) -> tuple[str, ...]:
    """Of the lengths that would tell a straightedge from a rail, those that were hardly read."""
    read = np.isfinite(table.state.read[table.counts])
    return tuple(name for name in ("play", "dip") if read[:, NAMES.index(name)].sum() < FEW)
