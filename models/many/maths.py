"""Functions of a number, or of the numbers of many designs: of a plain number those of Python's `math`."""

from __future__ import annotations

import math
import operator
from collections.abc import Callable, Iterable
from functools import reduce
from typing import Any

from keyaction.models.many.many import Many

__all__ = ["cos", "cosh", "exp", "expm1", "isfinite", "larger", "largest", "least", "number", "sin",
           "smaller", "sqrt", "tan", "tanh", "written"]  # fmt: skip


def number(value: Any) -> float:
    """A figure as a number, as `float` gives it; of many designs theirs, which pass for one number."""
    found: Any = value if value.__class__ is Many else float(value)
    return found  # type: ignore[no-any-return]


def written(value: float, how: Callable[[float], str]) -> str:
    """A figure as text."""
    return value.told(how) if isinstance(value, Many) else how(value)


def isfinite(value: float) -> bool:
    """Whether it is neither infinite nor NaN."""
    return value.where_finite() if isinstance(value, Many) else math.isfinite(value)


def larger(first: float, second: float) -> float:
    """As `max`; of many designs of each the larger, whichever that is."""
    return _chosen(first, second, operator.gt)


def smaller(first: float, second: float) -> float:
    """As `min`; of many designs of each the smaller, whichever that is."""
    return _chosen(first, second, operator.lt)


def _chosen(first: float, second: float, beats: Callable[[Any, Any], Any]) -> float:
    """The second where it beats the first."""
    if isinstance(first, Many):
        return first.chosen(second, beats)
    if isinstance(second, Many):
        return second.chosen(first, beats, turned=True)
    return second if beats(second, first) else first


def largest(values: Iterable[float]) -> float:
    """As `max` of some figures."""
    return reduce(larger, values)


def least(values: Iterable[float]) -> float:
    """As `min` of some figures."""
    return reduce(smaller, values)


def sqrt(value: float) -> float:
    """As `math.sqrt`."""
    return value.root() if isinstance(value, Many) else math.sqrt(value)


def _of_each(function: Callable[[float], float]) -> Callable[[float], float]:
    def of(value: float) -> float:
        return value.each(function) if isinstance(value, Many) else function(value)

    of.__name__, of.__doc__ = function.__name__, f"As `math.{function.__name__}`."
    return of


sin, cos, tan = _of_each(math.sin), _of_each(math.cos), _of_each(math.tan)
exp, expm1, cosh, tanh = _of_each(math.exp), _of_each(math.expm1), _of_each(math.cosh), _of_each(math.tanh)
