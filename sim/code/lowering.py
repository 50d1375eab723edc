"""Expressions made fit for lanes of designs: no branch, no library call, constants taken out.

The same equations as `keyaction.sim.code.scalar` prints, rewritten so that a compiler can run many designs side by
side: whatever depends on parameters alone is computed once per design, sines and cosines come from one short
polynomial per coordinate (it holds to 1e-6 up to `keyaction.models.train.structure.TURN_LIMIT`), and roots from
reciprocal roots.
"""

from __future__ import annotations

from typing import Any

import sympy as sp

from keyaction.models.algebra.symbols import pos, pos32
from keyaction.models.train.equations import System
from keyaction.sim.code.printer import free_symbol

Expr = Any


class rsqrt(sp.Function):  # type: ignore[misc]  # SymPy ships no types
    """Reciprocal square root."""

    nargs = 1
    is_real = True


class Lowering:
    """Rewrites the expressions of one system; collects the constants and the turns whose sine is needed."""

    def __init__(self, system: System, taken: set[str]) -> None:
        self.taken = taken
        self.fixed = {p.symbol for p in system.params} | {sp.Symbol("h", real=True)}
        self.turns = {c.q for c in system.coordinates}
        self.constants: dict[Expr, Expr] = {}
        self.used_turns: dict[Expr, tuple[Expr, Expr]] = {}

    def constant(self, expr: Expr) -> Expr:
        """A name for an expression of parameters only."""
        if expr.is_number:
            return expr
        if expr not in self.constants:
            self.constants[expr] = free_symbol(f"c{len(self.constants)}", self.taken)
        return self.constants[expr]

    def _is_fixed(self, expr: Expr) -> bool:
        return not expr.free_symbols - self.fixed

    def __call__(self, expr: Expr) -> Expr:
        """The expression in lane form."""
        if self._is_fixed(expr):
            return self.constant(expr)
        if expr.is_Symbol:
            return expr
        if expr.func in (sp.sin, sp.cos):
            return self._turned(expr)
        if expr.is_Add or expr.is_Mul:
            return self._gathered(expr)
        if expr.is_Pow:
            return self._power(expr)
        if expr.func is pos32:
            part = pos(self(expr.args[0]))
            return part * part * rsqrt(part)
        return expr.func(*(self(arg) for arg in expr.args))

    def _gathered(self, expr: Expr) -> Expr:
        fixed = [arg for arg in expr.args if self._is_fixed(arg)]
        moving = [self(arg) for arg in expr.args if not self._is_fixed(arg)]
        return expr.func(self.constant(expr.func(*fixed)), *moving) if fixed else expr.func(*moving)

    def _turned(self, expr: Expr) -> Expr:
        offset, turn = expr.args[0].as_independent(*self.turns, as_Add=True)
        if turn not in self.turns:
            raise ValueError(f"{expr}: sine of something else than a coordinate and a fixed angle")
        if turn not in self.used_turns:
            self.used_turns[turn] = free_symbol(f"sin_{turn}", self.taken), free_symbol(f"cos_{turn}", self.taken)
        sine, cosine = self.used_turns[turn]
        s, c = self.constant(sp.sin(offset)), self.constant(sp.cos(offset))
        return sine * c + cosine * s if expr.func is sp.sin else cosine * c - sine * s

    def _power(self, expr: Expr) -> Expr:
        base, exponent = self(expr.base), expr.exp
        if exponent == sp.S.Half:
            return base * rsqrt(base)
        if exponent == -sp.S.Half:
            return rsqrt(base)
        if exponent.is_Rational and exponent.q == 4:
            quarter = rsqrt(base * rsqrt(base))
            return quarter ** (-exponent.p) if exponent.p < 0 else base * quarter ** (4 - exponent.p)
        return sp.Pow(base, exponent)
