"""Functions of the force laws that are safe everywhere: no branch, no root of a negative number.

SymPy's common-subexpression pass hoists terms out of ``Piecewise`` branches, so a guarded root would be
taken where its guard is false. These functions carry their guard inside and know their own derivatives.
"""

from __future__ import annotations

from typing import Any

import sympy as sp
from sympy import Rational, cos, sin

__all__ = ["Rational", "cos", "direction", "larger", "pos", "pos32", "posroot", "sin", "size", "step"]


class step(sp.Function):  # type: ignore[misc]  # SymPy ships no types
    """1 for a positive argument, else 0."""

    nargs = 1

    @classmethod
    def eval(cls, x: Any) -> Any:
        return (sp.S.One if x > 0 else sp.S.Zero) if x.is_number else None

    def fdiff(self, argindex: int = 1) -> Any:  # noqa: ARG002  SymPy's signature
        return sp.S.Zero


class pos(sp.Function):  # type: ignore[misc]  # SymPy ships no types
    """The positive part of the argument."""

    nargs = 1

    @classmethod
    def eval(cls, x: Any) -> Any:
        return sp.Max(x, 0) if x.is_number else None

    def fdiff(self, argindex: int = 1) -> Any:  # noqa: ARG002  SymPy's signature
        return step(self.args[0])


class posroot(sp.Function):  # type: ignore[misc]  # SymPy ships no types
    """Square root of the positive part."""

    nargs = 1

    @classmethod
    def eval(cls, x: Any) -> Any:
        return sp.sqrt(sp.Max(x, 0)) if x.is_number else None


class pos32(sp.Function):  # type: ignore[misc]  # SymPy ships no types
    """The positive part to the power 3/2: the compression law of felt."""

    nargs = 1

    @classmethod
    def eval(cls, x: Any) -> Any:
        return sp.Max(x, 0) ** sp.Rational(3, 2) if x.is_number else None

    def fdiff(self, argindex: int = 1) -> Any:  # noqa: ARG002  SymPy's signature
        return sp.Rational(3, 2) * posroot(self.args[0])


class direction(sp.Function):  # type: ignore[misc]  # SymPy ships no types
    """+1 or -1 with the sign of the argument (+1 at zero)."""

    nargs = 1

    def fdiff(self, argindex: int = 1) -> Any:  # noqa: ARG002  SymPy's signature
        return sp.S.Zero


class size(sp.Function):  # type: ignore[misc]  # SymPy ships no types
    """Absolute value of a real argument."""

    nargs = 1

    @classmethod
    def eval(cls, x: Any) -> Any:
        return sp.Abs(x) if x.is_number else None

    def fdiff(self, argindex: int = 1) -> Any:  # noqa: ARG002  SymPy's signature
        return direction(self.args[0])


def larger(a: Any, b: Any) -> Any:
    """The larger of two expressions."""
    return a + pos(b - a)
