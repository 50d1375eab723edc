"""The loop over notes, compiled once for all trains and kept, or plain where their equations are."""

from __future__ import annotations

import hashlib
import inspect
import platform
import sys
import warnings
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from types import ModuleType
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
    made = _compiled()
    return Loop(made.together, made.slopes, made.watch, *lists_of(*functions, places, air))


def lists_of(
    fills: Sequence[Any], watches: Sequence[Any], places: Sequence[Any], rows: Sequence[Any]
) -> tuple[Any, Any, Any, Any]:
    """Rates, observers, arrays of whole numbers and of floats, as compiled loops take them."""
    lists = _lists()
    made = lists.no_fills(), lists.no_watches(), lists.no_places(), lists.no_rows()
    adds = lists.add_fill, lists.add_watch, lists.add_places, lists.add_row
    with _quiet():
        for add, into, found in zip(adds, made, (fills, watches, places, rows), strict=True):
            for one in found:
                add(into, one)
    return made


def compiled_loop(
    source: ModuleType, name: str, inner: Sequence[str], signatures: Callable[[Any], Mapping[str, Any]]
) -> Any:
    """A loop's module with its functions compiled, and kept.

    Parameters
    ----------
    source : module
    name : str
        By which it is kept.
    inner : sequence of str
        Its functions that only others of it call, those first that call no other.
    signatures : callable
        Of the module of the lists and their types; types of every other function, fixed, so that one compilation
        serves all.
    """
    from keyaction.sim.code.compiled import compiled

    made = _kept(name, inspect.getsource(source))
    own = {"no_cpython_wrapper": True, "no_cfunc_wrapper": True, "nogil": True}
    for one in inner:
        setattr(made, one, compiled(getattr(made, one), **own))
    for one, signature in signatures(_lists()).items():
        _compile(made, one, one, signature)
    return made


@lru_cache(maxsize=1)
def _compiled() -> Any:
    return compiled_loop(loop, "chord_loop", ("escaping", "linked", "of_air"), _signatures)


@lru_cache(maxsize=1)
def _lists() -> Any:
    from keyaction.sim.chord import lists

    kept = _kept("chord_lists", inspect.getsource(lists))
    lists_of_type = kept.types.ListType
    kinds = {"fills": kept.FILL, "watches": kept.WATCH, "places": kept.PLACES, "rows": kept.ROW}
    adds = {"fills": "add_fill", "watches": "add_watch", "places": "add_places", "rows": "add_row"}
    for many, kind in kinds.items():
        _compile(kept, f"no_{many}", f"no_{many}", ())
        _compile(kept, adds[many], "add", (lists_of_type(kind), kind))
    return kept


def _compile(module: Any, name: str, plain: str, signature: Any) -> None:
    """Put a function of the module in place, compiled for these types and no others."""
    from keyaction.sim.code.compiled import compiled

    with _quiet():
        found: Any = compiled(getattr(module, plain), nogil=True)
        found.compile(signature)
        found.disable_compile()
    setattr(module, name, found)


@contextmanager
def _quiet() -> Iterator[None]:
    """Functions as arguments are new to Numba, and it says so each time."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        yield


def _kept(name: str, source: str) -> Any:
    """The module of that source, kept as a file: Numba keeps what it compiles beside it."""
    about = source, installed("numba"), installed("numpy"), sys.version, platform.machine()
    whole = f"{name}_{hashlib.sha256(repr(about).encode()).hexdigest()[:24]}"
    return module_of(*kept_text(f"{whole}.py", lambda: source), f"keyaction_generated_{whole}")


def _signatures(kept: Any) -> dict[str, Any]:
    types, row, table = kept.types, kept.ROW, kept.TABLE
    fills, watches = types.ListType(kept.FILL), types.ListType(kept.WATCH)
    places, air = types.ListType(kept.PLACES), types.ListType(row)
    moved = (types.float64, row, row, row)
    return {
        "together": (fills, places, air, *moved, row),
        "slopes": (fills, places, air, *moved, row, types.int64, table),
        "watch": (watches, places, types.int64, row, table, row, row, table),
    }
