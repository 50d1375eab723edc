"""Equations for people: in text as one would type them, and in LaTeX."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping
from typing import Any

import sympy as sp
from sympy.printing.latex import LatexPrinter
from sympy.printing.str import StrPrinter

from keyaction.models.algebra.names import SHARED, Name, plain
from keyaction.models.fields.values import Derived
from keyaction.models.train.equations import System

WIDTH = 80
RATE = "d/dt "


class _Text(StrPrinter):  # type: ignore[misc]  # SymPy ships no types
    """max(0, x) for positive parts, |x| for size."""

    def _print_pos(self, expr: Any) -> str:
        return f"max(0, {self._print(expr.args[0])})"

    def _print_pos32(self, expr: Any) -> str:
        return f"max(0, {self._print(expr.args[0])})^1.5"

    def _print_size(self, expr: Any) -> str:
        return f"|{self._print(expr.args[0])}|"

    def _print_Pow(self, expr: Any, rational: bool = False) -> str:
        return str(super()._print_Pow(expr, rational)).replace("**", "^")


class _Latex(LatexPrinter):  # type: ignore[misc]  # SymPy ships no types
    """The same in LaTeX."""

    def _print_pos(self, expr: Any, exp: Any = None) -> str:
        inner = rf"\left\langle {self._print(expr.args[0])} \right\rangle_{{+}}"
        return inner if exp is None else rf"{inner}^{{{exp}}}"

    def _print_pos32(self, expr: Any, exp: Any = None) -> str:
        inner = rf"\left\langle {self._print(expr.args[0])} \right\rangle_{{+}}^{{3/2}}"
        return inner if exp is None else rf"\left({inner}\right)^{{{exp}}}"

    def _print_size(self, expr: Any, exp: Any = None) -> str:
        inner = rf"\left| {self._print(expr.args[0])} \right|"
        return inner if exp is None else rf"{inner}^{{{exp}}}"


def text(expr: Any) -> str:
    """An expression as typed text."""
    return str(_Text().doprint(expr)).replace("*", " * ")


_LETTERS = {
    "tau0": r"\tau_{0}",
    "tau": r"\tau",
    "alpha": r"\alpha",
    "delta": r"\delta",
    "rho": r"\rho",
    "phi": r"\varphi",
    "de": r"\dot e",
    "dip": "d",
}


def _names(system: System) -> dict[Any, str]:
    """LaTeX names: letter with its owner as a roman index, a dot for speeds."""
    named: tuple[Any, ...] = (*system.definitions, *system.params, *system.inputs)
    found = {one.symbol: _latex_name(_as_spelled(one.name, one.symbol.name)) for one in named}
    for row in system.states:
        of = row.of
        moving = row.kind == "speed"
        name = _latex_name(Name(of.part, "q", of.body) if moving else of)
        found[row.symbol] = rf"\dot{{{name[0]}}}{name[1:]}" if moving else name
    return found


def _as_spelled(name: Name, spelling: str) -> Name:
    """A name that is spelled without its owner is written without it too."""
    return Name(SHARED, name.what) if spelling == name.what else name


def _latex_name(name: Name) -> str:
    head, _, tail = name.what.partition("_")
    index = r"\,".join(piece.replace("_", r"\,") for piece in (tail, plain(name.part), plain(name.body)) if piece)
    letter = _LETTERS.get(head, head if len(head) == 1 else rf"\mathrm{{{head}}}")
    return rf"{letter}_{{\mathrm{{{index}}}}}" if index else letter


def sections(system: System) -> Iterator[tuple[str, list[tuple[str, Any, str, str]]]]:
    """The equations in reading order: heading, and (left side, right side, unit, meaning) of each."""
    first, friction, bodies = ([d for d in system.definitions if d.group == group] for group in ("", "pin", "body"))
    yield "Stretch and force of every rod, felt, shaft and spring; gap and flow", [_row(d) for d in first]
    yield "Load and friction of every pin", [_row(d) for d in friction]
    yield "Inertia and sum of generalised forces of every body (Lagrange)", [_row(d) for d in bodies]
    rates = [
        (f"{RATE}{row.symbol.name}", rate, f"{row.unit or '1'}/s", row.doc)
        for row, rate in zip(system.states, system.rates, strict=True)
    ]
    yield "First-order system", rates
    stored = [
        ("T", sum((term for _, term in system.kinetic), sp.S.Zero), "J", "kinetic energy"),
        ("V", system.potential, "J", "potential energy: weights, springs, rods, felts"),
    ]
    yield "Energies", stored


def _row(definition: Any) -> tuple[str, Any, str, str]:
    return definition.symbol.name, definition.expr, definition.unit, definition.doc


def as_text(system: System) -> str:
    """The equations in plain text, wrapped at 80 columns."""
    lines: list[str] = []
    for heading, rows in sections(system):
        lines += [heading, "-" * min(len(heading), WIDTH), ""]
        for left, right, unit, doc in rows:
            whole = f"{left} = {text(right)}"
            lines += textwrap.wrap(f"# {doc} ({unit or '1'})", WIDTH, subsequent_indent="# ")
            lines += textwrap.wrap(whole, WIDTH - 2, subsequent_indent="    ", break_long_words=False)
            lines.append("")
    return "\n".join(lines)


def as_latex(system: System) -> str:
    """The equations as a LaTeX document body (amsmath)."""
    names = _names(system)
    printer = _Latex({"symbol_names": names})
    known = {symbol.name: name for symbol, name in names.items()}
    lines: list[str] = []
    for heading, rows in sections(system):
        lines.append(rf"\subsection*{{{heading}}}")
        for left, right, unit, doc in rows:
            if left.startswith(RATE):
                shown = rf"\frac{{\mathrm d}}{{\mathrm d t}} {known[left.removeprefix(RATE)]}"
            else:
                shown = known.get(left, left)
            lines += [
                rf"% {doc} ({unit or '1'})",
                r"\begin{dmath*}",
                rf"{shown} = {printer.doprint(right)}",
                r"\end{dmath*}",
            ]
    return "\n".join([r"% needs \usepackage{breqn} (or replace dmath* by equation*)", *lines, ""])


def symbol_rows(system: System, values: Mapping[Name, Derived]) -> list[tuple[str, float | None, str, str]]:
    """Every symbol with value (None for states and what the drive sets), SI unit and meaning."""
    rows: list[tuple[str, float | None, str, str]] = [
        (row.symbol.name, None, row.unit or "1", row.doc) for row in system.states
    ]
    rows += [(p.symbol.name, None, p.unit or "1", p.doc) for p in system.inputs]
    rows += [(p.symbol.name, values[p.name].value, p.unit or "1", p.doc) for p in system.params]
    return rows
