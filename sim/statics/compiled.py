"""The follower of equilibria, compiled once for all trains, or plain where the equations are."""

from __future__ import annotations

import inspect
from functools import lru_cache
from pathlib import Path
from typing import Any

from keyaction.sim.code.kernel import load_module
from keyaction.sim.statics import path


@lru_cache(maxsize=2)
def follower(compiled: bool) -> Any:
    """The function `keyaction.sim.statics.path.follow`.

    Parameters
    ----------
    compiled : bool
        Whether the equations that it will be given are compiled by Numba.
    """
    if not compiled:
        return path.follow
    from numba import njit as typed_njit

    njit: Any = typed_njit

    module = load_module(Path(inspect.getfile(path)), "keyaction_statics_compiled")
    inner: Any = {"no_cpython_wrapper": True, "no_cfunc_wrapper": True}  # nobody calls these but each other
    for name in module.COMPILED[:-1]:
        setattr(module, name, njit(cache=True, nogil=True, error_model="numpy", **inner)(getattr(module, name)))
    name = module.COMPILED[-1]
    return njit(_signature(), cache=True, nogil=True, error_model="numpy")(getattr(module, name))


def _signature() -> Any:
    """Of `follow`: the equations as functions of a fixed type, so that one compilation serves them all."""
    from numba import types as typed_types

    types: Any = typed_types

    row, table = types.float64[::1], types.float64[:, ::1]
    rates = types.FunctionType(types.void(types.float64, row, row, row, row))
    slopes = types.FunctionType(types.void(types.float64, row, row, row, table))
    observe = types.FunctionType(types.void(row, table, row, row, table))
    places = types.int64[::1]
    given = (rates, slopes, observe, row, row, places, places, places, places, row, row, places, row, types.float64)
    return types.Tuple((types.int64, table, table, table, table, table, table))(*given, row, row, row, row)
