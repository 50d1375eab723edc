"""Expressions made fit for lanes of designs: no branch, no library call, constants taken out.

The same equations as `keyaction.sim.code.scalar` prints, rewritten so that a compiler can run many designs side by
side: whatever depends on parameters alone is computed once per design, sines and cosines come from one short
polynomial per coordinate, and roots from reciprocal roots.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import sympy as sp
from sympy.printing.precedence import PRECEDENCE
from sympy.printing.pycode import PythonCodePrinter

from keyaction.models.algebra.symbols import pos, pos32
from keyaction.models.train.equations import System

Expr = Any
TURN_LIMIT = 0.5
"""rad up to which the polynomials for sine and cosine hold to 1e-6."""


class rsqrt(sp.Function):  # type: ignore[misc]  # SymPy ships no types
    """Reciprocal square root."""

    nargs = 1
    is_real = True


class Lowering:
    """Rewrites the expressions of one system; collects the constants and the turns whose sine is needed."""

    def __init__(self, system: System) -> None:
        self.fixed = {p.symbol for p in system.params} | {sp.Symbol("h", real=True)}
        self.turns = {c.q for c in system.coordinates}
        self.constants: dict[Expr, Expr] = {}
        self.used_turns: dict[Expr, tuple[Expr, Expr]] = {}

    def constant(self, expr: Expr) -> Expr:
        """A name for an expression of parameters only."""
        if expr.is_number:
            return expr
        if expr not in self.constants:
            self.constants[expr] = sp.Symbol(f"c{len(self.constants)}", real=True)
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
        sine, cosine = sp.Symbol(f"sin_{turn}", real=True), sp.Symbol(f"cos_{turn}", real=True)
        self.used_turns[turn] = sine, cosine
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


class LanePrinter(PythonCodePrinter):  # type: ignore[misc]  # SymPy ships no types
    """Scalar Python of floats only; the compiler makes lanes of it."""

    def __init__(self) -> None:
        super().__init__({"fully_qualified_modules": False})

    def _plain(self, expr: Any) -> str:
        return f"{expr.func.__name__}({self._print(expr.args[0])})"

    _print_pos = _print_rsqrt = _print_step = _print_direction = _plain

    def _print_size(self, expr: Any) -> str:
        return f"abs({self._print(expr.args[0])})"

    def _print_Rational(self, expr: Any) -> str:
        return repr(float(expr))

    def _print_Integer(self, expr: Any) -> str:
        return f"{int(expr)}.0"

    def _print_Pow(self, expr: Any, rational: bool = False) -> str:  # noqa: ARG002  SymPy's signature
        base = self.parenthesize(expr.base, PRECEDENCE["Mul"] + 1)
        exponent = expr.exp
        if exponent.is_Integer:
            product = "*".join([base] * abs(int(exponent)))
            return f"({product})" if exponent > 0 else f"(1.0/({product}))"
        return f"{base}**({self._print(exponent)})"


def assignments(definitions: Iterable[tuple[str, Expr]], results: Iterable[tuple[str, Expr]], prefix: str) -> list[str]:
    """Lines that compute definitions and results in order, common terms first taken out.

    Parameters
    ----------
    definitions, results : (name, expression)
        In the order in which they may rest on each other.
    prefix : str
        Of the names of common terms; a different one for each block of a function.
    """
    named = [*definitions, *results]
    shared, reduced = sp.cse([expr for _, expr in named], symbols=sp.numbered_symbols(prefix), order="none", list=False)
    printer = LanePrinter()
    waiting = list(shared)
    known: set[str] = set()
    pending = {name for name, _ in named} | {symbol.name for symbol, _ in shared}
    lines: list[str] = []

    def settle() -> None:
        moved = True
        while moved:
            moved = False
            for pair in list(waiting):
                if all(s.name in known or s.name not in pending for s in pair[1].free_symbols):
                    lines.append(f"{pair[0].name} = {printer.doprint(pair[1])}")
                    known.add(pair[0].name)
                    waiting.remove(pair)
                    moved = True

    settle()
    for (name, _), expr in zip(named, reduced, strict=True):
        lines.append(f"{name} = {printer.doprint(expr)}")
        known.add(name)
        settle()
    return lines
