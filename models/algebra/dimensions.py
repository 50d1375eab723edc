"""Dimension check of an expression: a sum of a length and a force is found before anything is integrated."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from functools import reduce
from operator import mul
from typing import Any

import sympy as sp

from keyaction.models.algebra.problem import DimensionProblem
from keyaction.models.algebra.symbols import direction, pos, pos32, posroot, size, step
from keyaction.models.units.quantity import Dimension, dimension_words

NONE = Dimension()


def _power(dim: Dimension, exponent: Any) -> Dimension:
    exact = sp.nsimplify(exponent, rational=True)
    return dim ** Fraction(int(exact.p), int(exact.q))


def _same(dims: list[Dimension], expr: Any, where: str) -> Dimension:
    for other in dims[1:]:
        if other != dims[0]:
            raise DimensionProblem(f"{where}: adds {dimension_words(dims[0])} and {dimension_words(other)} in {expr}")
    return dims[0]


def _nothing(expr: Any) -> bool:
    """Whether it is the number 0; whether a term is zero SymPy would deduce at length."""
    return bool(expr.is_Number and expr.is_zero)


def dimension_of(expr: Any, known: Mapping[Any, Dimension], where: str) -> Dimension:
    """Dimension of `expr`, or `DimensionProblem`.

    Parameters
    ----------
    expr : expression
    known : mapping of symbol to dimension
    where : str
        Named in the message: whose law this is.
    """
    if expr.is_number:
        return NONE
    if expr.is_Symbol:
        return known[expr]
    inner = [dimension_of(arg, known, where) for arg in expr.args if not _nothing(arg)]
    if expr.is_Add:
        return _same(inner, expr, where)
    if expr.is_Mul:
        return reduce(mul, inner, NONE)
    if expr.is_Pow:
        if not expr.exp.is_number:
            raise DimensionProblem(f"{where}: the exponent in {expr} is not a number")
        return _power(inner[0], expr.exp)
    return _of_function(expr, inner[0], where)


def _of_function(expr: Any, dim: Dimension, where: str) -> Dimension:
    if isinstance(expr, sp.sin | sp.cos):
        if dim != NONE:
            raise DimensionProblem(f"{where}: {expr} takes an angle and is given {dimension_words(dim)}")
        return NONE
    if isinstance(expr, step | direction):
        return NONE
    if isinstance(expr, pos | size):
        return dim
    if isinstance(expr, pos32):
        return _power(dim, sp.Rational(3, 2))
    if isinstance(expr, posroot):
        return _power(dim, sp.Rational(1, 2))
    raise DimensionProblem(f"{where}: no dimension rule for {expr.func.__name__}")


def check(expr: Any, expected: Dimension, known: Mapping[Any, Dimension], where: str) -> None:
    """Raise `DimensionProblem` unless `expr` has the dimension `expected`."""
    found = dimension_of(expr, known, where) if not _nothing(expr) else expected
    if found != expected:
        raise DimensionProblem(f"{where}: {dimension_words(expected)} is needed and {expr} is {dimension_words(found)}")
