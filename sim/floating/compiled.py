"""The loop over notes on a rail, compiled once for all trains and kept, or plain where their equations are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from keyaction.sim.chord.compiled import compiled_loop, lists_of
from keyaction.sim.code.kernel import Kernel
from keyaction.sim.floating import loop


@dataclass(frozen=True)
class Loop:
    """The functions of `keyaction.sim.floating.loop`, and the lists that they take: the notes' functions, arrays."""

    together: Any
    slopes: Any
    watch: Any
    fills: Any
    watches: Any
    places: Any
    body: Any


def loop_of(kernels: Sequence[Kernel], places: Sequence[Any], body: Sequence[Any]) -> Loop:
    """The loop over notes with these equations and arrays; plain unless all of them are compiled."""
    functions = [kernel.fill for kernel in kernels], [kernel.observe_all for kernel in kernels]
    if not all(kernel.compiled for kernel in kernels):
        return Loop(loop.together, loop.slopes, loop.watch, *functions, list(places), list(body))
    made = _compiled()
    return Loop(made.together, made.slopes, made.watch, *lists_of(*functions, places, body))


@lru_cache(maxsize=1)
def _compiled() -> Any:
    return compiled_loop(loop, "rail_loop", ("linked", "stopped", "rubbing", "of_rail"), _signatures)


def _signatures(kept: Any) -> dict[str, Any]:
    types, row, table = kept.types, kept.ROW, kept.TABLE
    fills, watches = types.ListType(kept.FILL), types.ListType(kept.WATCH)
    places, body = types.ListType(kept.PLACES), types.ListType(row)
    moved = (types.float64, row, row, row)
    return {
        "together": (fills, places, body, *moved, row),
        "slopes": (fills, places, body, *moved, row, types.int64, table),
        "watch": (watches, places, types.int64, row, table, row, row, table),
    }
