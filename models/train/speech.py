"""When grooves speak and fall silent, and what tells of several that one key opens whether all of them do."""

from __future__ import annotations

from functools import reduce
from typing import TYPE_CHECKING, Any

from keyaction.models.algebra.names import SHARED

if TYPE_CHECKING:
    from keyaction.models.algebra.builder import Builder

Expr = Any
FULL = 0.9
"""Share of the box pressure at which a groove is full: where the speech delay ends."""
EMPTY = 0.1
"""Share at which it is empty: where the release delay ends."""
LEAST, MOST, GAP = "groove_least", "groove_most", "gap_most"
"""Observables of a train with several grooves: see `watch_all`."""


def watch_all(builder: Builder) -> None:
    """Of several grooves: pressures of one groove in the first box that is full, or empty, when all of them are.

    The least full of them lacks as much to full there as it lacks in its own box; the least empty one is as far beyond
    empty. `GAP` is the widest gap under any pallet. Where a box has no wind nothing is lacking, and a note that
    another hand holds is left out.
    """
    from keyaction.models.algebra.symbols import pos, step  # here: who asks for shares alone needs no SymPy

    if len(builder.wind) < 2:
        return

    def larger(a: Expr, b: Expr) -> Expr:
        return a + pos(b - a)

    builder.scope = SHARED
    lacking, beyond, gaps = [], [], []
    for p, box, smooth, gap, held in builder.wind:
        asked = step(box) * (1 - step(held))
        lacking.append(asked * (FULL * box - p) - (1 - asked) * smooth)
        beyond.append(asked * (p - EMPTY * box) - (1 - asked) * smooth)
        gaps.append(gap - 2 * step(held) * pos(gap))
    first = builder.wind[0][1]
    builder.observe(LEAST, FULL * first - reduce(larger, lacking), "Pa", "pressure of the least full groove")
    builder.observe(MOST, EMPTY * first + reduce(larger, beyond), "Pa", "pressure of the least empty groove")
    builder.observe(GAP, reduce(larger, gaps), "m", "widest gap under any pallet")
