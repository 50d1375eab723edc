"""Lists as compiled code takes them: of equations, functions of one fixed type each, and of arrays."""

from __future__ import annotations

from typing import Any

from numba import types as numba_types
from numba.typed import List

types: Any = numba_types
ROW, TABLE = types.float64[::1], types.float64[:, ::1]
FILL = types.FunctionType(types.void(types.float64, ROW, ROW, ROW, ROW))
WATCH = types.FunctionType(types.void(ROW, TABLE, ROW, ROW, TABLE))
PLACES = types.int64[::1]


def no_fills() -> Any:
    """An empty list of rates."""
    return List.empty_list(FILL)


def no_watches() -> Any:
    """An empty list of observers."""
    return List.empty_list(WATCH)


def no_places() -> Any:
    """An empty list of whole numbers' arrays."""
    return List.empty_list(PLACES)


def no_rows() -> Any:
    """An empty list of arrays."""
    return List.empty_list(ROW)


def add(functions: Any, one: Any) -> None:
    """Put one more into a list."""
    functions.append(one)
