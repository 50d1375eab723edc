"""The follower of equilibria, compiled once for all trains, or plain where the equations are."""

from __future__ import annotations

import hashlib
import inspect
import platform
import sys
import warnings
from collections.abc import Sequence
from functools import lru_cache
from typing import Any

from keyaction.sim.code.cache import kept_text, module_of
from keyaction.sim.code.kernel import installed
from keyaction.sim.statics import equilibria, events, following, linear, path, slopes

LOOPS: tuple[Any, ...] = linear, equilibria, events, path
"""Modules of the loops that follow a path, those that are called before those that call."""


@lru_cache(maxsize=2)
def follower(compiled: bool) -> Any:
    """The function `keyaction.sim.statics.following.follow`.

    Parameters
    ----------
    compiled : bool
        Whether the equations that it will be given are compiled by Numba.
    """
    if not compiled:
        return following.follow
    from numba.core.errors import NumbaExperimentalFeatureWarning

    from keyaction.sim.code.compiled import compiled as compile_

    modules = (*LOOPS, following)
    source = [inspect.getsource(module) for module in modules]
    name = _name("statics", source)
    own = {"no_cpython_wrapper": True, "no_cfunc_wrapper": True, "nogil": True}  # nobody calls these but each other
    made: dict[str, Any] = {}
    for module, text in zip(modules, source, strict=True):
        kept = _kept(f"{name}_{module.__name__.rpartition('.')[2]}", text)
        vars(kept).update({inner: made[inner] for inner in made if inner in vars(kept)})
        for inner in module.COMPILED:
            made[inner] = compile_(getattr(kept, inner), **({"nogil": True} if inner == "follow" else own))
            setattr(kept, inner, made[inner])
    found = made["follow"]
    with warnings.catch_warnings():  # so many arguments are handed over in a tuple, with the equations in it
        warnings.simplefilter("ignore", NumbaExperimentalFeatureWarning)
        found.compile(_signature())
    found.disable_compile()
    return found


@lru_cache(maxsize=2)
def slopes_of_many(compiled: bool) -> Any:
    """The function `keyaction.sim.statics.slopes.stiffness_by_mass`, as `follower` gives its own."""
    if not compiled:
        return slopes.stiffness_by_mass
    from numba import types as numba_types

    from keyaction.sim.code.compiled import compiled as compile_

    types: Any = numba_types
    row, table = types.float64[::1], types.float64[:, ::1]
    source = inspect.getsource(slopes)
    found: Any = compile_(_kept(_name("slopes", [source]), source).stiffness_by_mass, nogil=True)
    one = types.FunctionType(types.void(types.float64, row, row, row, table))
    found.compile((one, table, table, table, types.int64, types.float64[:, :, ::1]))
    found.disable_compile()
    return found


def _name(kind: str, sources: Sequence[str]) -> str:
    """A name that changes with all that changes the compiled form."""
    about = sources, installed("numba"), installed("numpy"), sys.version, platform.machine()
    return f"{kind}_{hashlib.sha256(repr(about).encode()).hexdigest()[:24]}"


def _kept(name: str, source: str) -> Any:
    """The module of that source, kept as a file: Numba keeps what it compiles beside it."""
    return module_of(*kept_text(f"{name}.py", lambda: source), f"keyaction_generated_{name}")


def _signature() -> Any:
    """Of `follow`: the equations as functions of a fixed type, so that one compilation serves them all."""
    from numba import types as numba_types

    types: Any = numba_types
    row, table = types.float64[::1], types.float64[:, ::1]
    rates = types.FunctionType(types.void(types.float64, row, row, row, row))
    slopes = types.FunctionType(types.void(types.float64, row, row, row, table))
    observe = types.FunctionType(types.void(row, table, row, row, table))
    places = types.int64[::1]
    structure = places, places, places, places, row, row, places, places
    return (rates, slopes, observe, row, row, *structure, row, types.float64, row, row, row, row, types.int64)
