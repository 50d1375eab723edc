"""The loop over notes, compiled once for all trains and kept, or plain where their equations are."""

from __future__ import annotations

import hashlib
import inspect
import platform
import sys
import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from keyaction.sim.chord import loop
from keyaction.sim.code.cache import kept_text, module_of
from keyaction.sim.code.kernel import Kernel, installed


@dataclass(frozen=True)
class Loop:
    """The functions of `keyaction.sim.chord.loop`, and the lists that they take: the notes' own functions, arrays."""

    together: Any
    slopes: Any
    watch: Any
    fills: Any
    watches: Any
    places: Any
    air: Any


def loop_of(kernels: Sequence[Kernel], places: Sequence[Any], air: Sequence[Any]) -> Loop:
    """The loop over notes with these equations and arrays; plain unless all of them are compiled."""
    functions = [kernel.fill for kernel in kernels], [kernel.observe_all for kernel in kernels]
    if not all(kernel.compiled for kernel in kernels):
        return Loop(loop.together, loop.slopes, loop.watch, *functions, list(places), list(air))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # functions as arguments are new to Numba, and it says so each time
        made, lists = _compiled()
        fills, watches, whole, rows = lists.no_fills(), lists.no_watches(), lists.no_places(), lists.no_rows()
        pairs = ((lists.add_fill, fills), (lists.add_watch, watches), (lists.add_places, whole), (lists.add_row, rows))
        for (add, into), found in zip(pairs, (*functions, places, air), strict=True):
            for one in found:
                add(into, one)
    return Loop(made.together, made.slopes, made.watch, fills, watches, whole, rows)


@lru_cache(maxsize=1)
def _compiled() -> tuple[Any, Any]:
    from keyaction.sim.chord import lists
    from keyaction.sim.code.compiled import compiled

    sources = inspect.getsource(loop), inspect.getsource(lists)
    about = sources, installed("numba"), installed("numpy"), sys.version, platform.machine()
    name = f"chord_{hashlib.sha256(repr(about).encode()).hexdigest()[:24]}"
    made, kept = (_kept(f"{name}_{which}", text) for which, text in zip(("loop", "lists"), sources, strict=True))
    own = {"no_cpython_wrapper": True, "no_cfunc_wrapper": True, "nogil": True}
    for inner in ("escaping", "linked", "of_air"):
        setattr(made, inner, compiled(getattr(made, inner), **own))
    for name, signature in _signatures(kept).items():
        where = made if name in loop.COMPILED else kept
        plain = getattr(where, "add" if name.startswith("add_") else name)
        found: Any = compiled(plain, nogil=True)
        found.compile(signature)
        found.disable_compile()
        setattr(where, name, found)
    return made, kept


def _kept(name: str, source: str) -> Any:
    """The module of that source, kept as a file: Numba keeps what it compiles beside it."""
    return module_of(*kept_text(f"{name}.py", lambda: source), f"keyaction_generated_{name}")


def _signatures(kept: Any) -> dict[str, Any]:
    """Of what Python calls: the types fixed, so that one compilation serves all."""
    types, row, table = kept.types, kept.ROW, kept.TABLE
    fills, watches = types.ListType(kept.FILL), types.ListType(kept.WATCH)
    places, air = types.ListType(kept.PLACES), types.ListType(row)
    moved = (types.float64, row, row, row)
    return {
        "no_fills": (),
        "no_watches": (),
        "no_places": (),
        "no_rows": (),
        "add_fill": (fills, kept.FILL),
        "add_watch": (watches, kept.WATCH),
        "add_places": (places, kept.PLACES),
        "add_row": (air, row),
        "together": (fills, places, air, *moved, row),
        "slopes": (fills, places, air, *moved, row, types.int64, table),
        "watch": (watches, places, types.int64, row, table, row, row, table),
    }
