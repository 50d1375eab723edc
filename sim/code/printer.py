"""Expressions as code: the one printer, and the order in which common terms are computed."""

from __future__ import annotations

from collections.abc import Container, Iterable, Sequence
from itertools import count
from typing import Any

import sympy as sp
from sympy.printing.precedence import PRECEDENCE
from sympy.printing.pycode import PythonCodePrinter

Expr = Any


class CodePrinter(PythonCodePrinter):  # type: ignore[misc]  # SymPy ships no types
    """Scalar code with the functions of `keyaction.models.algebra.symbols`.

    With `floats` every number is a float and every power a product, which is what a compiler makes lanes of; with
    `squares` a symbol's square is a product too.
    """

    def __init__(self, floats: bool = False, squares: bool = True) -> None:
        super().__init__({"fully_qualified_modules": False})
        self.floats, self.squares = floats, squares

    def _plain(self, expr: Expr) -> str:
        return f"{expr.func.__name__}({self._print(expr.args[0])})"

    _print_pos = _print_step = _print_posroot = _print_pos32 = _print_direction = _print_rsqrt = _plain

    def _print_size(self, expr: Expr) -> str:
        return f"abs({self._print(expr.args[0])})"

    def _print_Integer(self, expr: Expr) -> str:
        return f"{int(expr)}.0" if self.floats else str(int(expr))

    def _print_Rational(self, expr: Expr) -> str:
        return repr(float(expr)) if self.floats else f"({expr.p}.0/{expr.q}.0)"

    def _number(self, expr: Expr) -> str:
        """pi and its like as their digits: generated code imports no names for them."""
        return repr(float(expr))

    _print_Pi = _print_Exp1 = _print_GoldenRatio = _print_EulerGamma = _print_Catalan = _number
    _print_TribonacciConstant = _number

    def _print_Pow(self, expr: Expr, rational: bool = False) -> str:  # noqa: ARG002  SymPy's signature
        inner, exponent = self.parenthesize(expr.base, PRECEDENCE["Mul"] + 1), expr.exp
        if self.floats and exponent.is_Integer:
            product = "*".join([inner] * abs(int(exponent)))
            return f"({product})" if exponent > 0 else f"(1.0/({product}))"
        return self._root(expr) or self._power(inner, expr)

    def _root(self, expr: Expr) -> str:
        """Square and fourth roots by the processor's own root."""
        roots = {
            sp.S.Half: "sqrt({})",
            -sp.S.Half: "(1.0/sqrt({}))",
            sp.Rational(1, 4): "sqrt(sqrt({}))",
            sp.Rational(-1, 4): "(1.0/sqrt(sqrt({})))",
        }
        found = roots.get(expr.exp)
        return found.format(self._print(expr.base)) if found else ""

    def _power(self, inner: str, expr: Expr) -> str:
        if expr.exp == 2:
            return f"({inner}*{inner})" if expr.base.is_Symbol and self.squares else f"{inner}**2"
        return f"(1.0/{inner})" if expr.exp == -1 else f"{inner}**({self._print(expr.exp)})"


def needed(definitions: Sequence[Any], results: Iterable[Expr]) -> list[Any]:
    """Only the definitions that the results rest on, in order."""
    wanted = set().union(*(expr.free_symbols for expr in results)) if results else set()
    kept = []
    for definition in reversed(definitions):
        if definition.symbol in wanted:
            kept.append(definition)
            wanted |= definition.expr.free_symbols
    return kept[::-1]


def free_symbol(name: str, taken: set[str]) -> Expr:
    """A symbol of a name that nothing in the code has yet; `taken` holds it from now on."""
    while name in taken:
        name += "_"
    taken.add(name)
    return sp.Symbol(name, real=True)


def scheduled(named: Sequence[tuple[str, Expr]], prefix: str, taken: Container[str] = ()) -> list[tuple[str, Expr]]:
    """Assignments in an order in which each can be computed, common terms taken out.

    Parameters
    ----------
    named : sequence of (name, expression)
        In the order in which they may rest on each other.
    prefix : str
        Of the names of common terms; a different one for each block of a function.
    taken : container of str
        Names that common terms must not have.
    """
    symbols = (sp.Symbol(name) for i in count() if (name := f"{prefix}{i}") not in taken)
    shared, reduced = sp.cse([expr for _, expr in named], symbols=symbols, order="none", list=False)
    waiting, known = list(shared), set[str]()
    pending = {name for name, _ in named} | {symbol.name for symbol, _ in shared}
    lines: list[tuple[str, Expr]] = []

    def settle() -> None:
        """Emit the common terms whose symbols are all known by now."""
        moved = True
        while moved:
            moved = False
            for pair in list(waiting):
                if all(s.name in known or s.name not in pending for s in pair[1].free_symbols):
                    lines.append((pair[0].name, pair[1]))
                    known.add(pair[0].name)
                    waiting.remove(pair)
                    moved = True

    settle()
    for (name, _), expr in zip(named, reduced, strict=True):
        lines.append((name, expr))
        known.add(name)
        settle()
    return lines
