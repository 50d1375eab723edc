"""What all notes share, told by as few causes as explain it: a line, a frame, a rail, or several of them."""

from __future__ import annotations

import numpy as np

from keyaction.models.readings.figures import NAMES
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.regulating.aims import FELT
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
    if not _moves_levels(table, plain):
        return plain
    off = _shared_off(table, figures)
    tried = [plan(table, figures, datum=_in_felts(-off["level"]))] if doubted else []
    if np.all(np.any(table.lifts != 0.0, axis=1)):
        tried.append(plan(table, figures, frame=_in_felts(_frame(table, off))))
    tried.append(plain)
    costs = [_cost(table, off, one) for one in tried]
    return next(one for one, cost in zip(tried, costs, strict=True) if cost <= min(costs) + _AS_GOOD)


def _moves_levels(table: Table, work: Plan) -> bool:
    """Whether a plan moves all levels together."""
    moved = [work.shown(kind, table.shares()) for kind in ("rest", "nut") if kind in work.common]
    return bool(moved) and abs(_change(table, sum(moved[1:], moved[0]), "level")) > table.aims.level / 2


def _shared_off(table: Table, figures: Floats) -> dict[str, float]:
    """By how much each length is off at the middle note, as it was read, m; only of those that enough notes have."""
    read = (figures + table.state.read - table.state.figures - table.drawn)[table.counts]
    columns = {name: read[:, NAMES.index(name)] for name in _MET}
    return {name: float(np.nanmedian(own)) for name, own in columns.items() if np.isfinite(own).sum() >= FEW}


def _frame(table: Table, off: dict[str, float]) -> float:
    """By how much the frame is to be raised, m: what level and play want together, least squares."""
    rises = {name: _change(table, table.lifts, name) for name in ("level", "play") if name in off}
    if off.get("play", 0.0) <= _no_play(table) + FELT:  # a feeler reads no less than nothing
        rises.pop("play", None)
    return -sum(rise * off[name] for name, rise in rises.items()) / sum(rise**2 for rise in rises.values())


def _no_play(table: Table) -> float:
    """What a play of nothing is off, m."""
    return -float(np.median(table.drawn[:, NAMES.index("play")]))


def _in_felts(way: float) -> float:
    return FELT * round(way / FELT)


def _change(table: Table, amounts: Floats, figure: str) -> float:
    rise = table.state.bench.rise[:, :, NAMES.index(figure)]
    return float(np.median(np.sum(rise * amounts, axis=1)))


def _cost(table: Table, off: dict[str, float], work: Plan) -> float:
    """Common moves, single ones as shares of them, and figures that the common moves do not go with."""
    single = float(np.mean(np.any(work.single != 0.0, axis=1))) / MOST
    return len(work.common) + bool(work.datum) + single + _missed(table, off, work)


def _missed(table: Table, off: dict[str, float], work: Plan) -> float:
    """How many lengths all notes share otherwise than they would, were that at fault which the common moves undo."""
    undone = [work.shown(kind, table.shares()) for kind in work.common]
    found = 0.0
    for figure, read in off.items():
        wanted = -sum(_change(table, one, figure) for one in undone)
        wanted -= work.datum if figure == "level" else 0.0
        wanted = max(wanted, _no_play(table)) if figure == "play" else wanted
        found += min(1.0, ((read - wanted) / table.aims.level) ** 2)
    return found
