"""Equations to code: a readable module of plain scalar functions, good for Python and for Numba alike."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import sympy as sp

from keyaction.models.train.equations import System
from keyaction.sim.code.layout import CHANGE, DRIVE, layout_of, layout_text
from keyaction.sim.code.printer import CodePrinter, free_symbol, needed, scheduled

Expr = Any

_HEAD = '''"""Generated from the equations of a train; made anew whenever they change. Do not edit.

{structure}
"""

from math import copysign, cos, sin, sqrt

from numpy import zeros


def pos(x):
    return x if x > 0.0 else 0.0


def step(x):
    return 1.0 if x > 0.0 else 0.0


def posroot(x):
    return sqrt(x) if x > 0.0 else 0.0


def pos32(x):
    return x * sqrt(x) if x > 0.0 else 0.0


def direction(x):
    return copysign(1.0, x)


def within(x):
    return 0.0 if x < 0.0 else (1.0 if x > 1.0 else x)


HELPERS = ("pos", "step", "posroot", "pos32", "direction", "within")
'''

_TAIL = '''def fill(t, y, p, d, out):
    """Rates of the states into an array that is there already."""
    rates(t, y, p, d, out)


def observe_all(t, y, p, d, out):
    """Recorded quantities at every instant, one row each."""
    for i in range(len(t)):
        observe(t[i], y[i], p, d, out[i])


def fill_jacobian(t, y, p, d, out):
    """Jacobian of the moving states into a zeroed array of all."""
    m = {m}
    flat = zeros(m * m)
    jacobian(t, y, p, d, flat)
    for i in range(m):
        for j in range(m):
            out[i, j] = flat[i * m + j]


STRAIGHT = ("rates", "observe", "jacobian")
COMPILED = ("fill", "observe_all", "fill_jacobian")
'''


def _unpack(symbols: Sequence[Any], array: str, used: set[Any]) -> list[str]:
    return [f"    {s.name} = {array}[{i}]" for i, s in enumerate(symbols) if s in used]


_WAY, _FORCE = (" + s*(".join(f"d[{i}]" for i in range(at, at + 6)) + ")" * 5 for at in (1, 7))
_DRIVEN = {
    "x_finger": _WAY,
    "v_finger": "d[2] + s*(2.0*d[3] + s*(3.0*d[4] + s*(4.0*d[5] + s*5.0*d[6])))",
    "f_finger": _FORCE,
    **{what: f"d[{DRIVE.index(what)}]" for what in ("k_finger", "alpha_finger", "m_rider")},
}
"""What the finger does, by the name of the input: polynomials of the time since the piece began, and constants."""


def _drive_lines(system: System, used: set[Expr]) -> list[str]:
    """What the finger does at time t."""
    lines = [f"    {one.symbol.name} = {_DRIVEN[one.name.what]}" for one in system.inputs if one.symbol in used]
    return ["    s = t - d[0]", *lines] if any("s*(" in line for line in lines) else lines


def _outer_lines(system: System, used: set[Expr]) -> list[str]:
    """Parameters that change from outside: from a value by a least-jerk change, and the rate of that."""
    lines = []
    for k, outer in enumerate(system.outer):
        at = len(DRIVE) + len(CHANGE) * k
        if used & {outer.symbol, outer.rate}:
            lines.append(f"    r = within((t - d[{at + 2}])*d[{at + 3}])")
        if outer.symbol in used:
            lines.append(f"    {outer.symbol.name} = d[{at}] + d[{at + 1}]*(r*r*r*(10.0 + r*(6.0*r - 15.0)))")
        if outer.rate in used:
            lines.append(f"    {outer.rate.name} = d[{at + 1}]*d[{at + 3}]*(30.0*r*r*(1.0 - r)*(1.0 - r))")
    return lines


def names_of(system: System) -> set[str]:
    """Spellings of a system's symbols: what nothing else in the code may be called."""
    named: tuple[Any, ...] = (*system.states, *system.params, *system.inputs, *system.definitions, *system.outer)
    return {one.symbol.name for one in named} | {one.rate.name for one in system.outer}


def _function(
    system: System,
    name: str,
    doc: str,
    results: Sequence[tuple[int, Expr]],
    definitions: Sequence[tuple[str, Any]],
) -> str:
    """A function ``name(t, y, p, d, out)`` that fills places of ``out`` with the results."""
    named = [*definitions, *((f"out[{i}]", expr) for i, expr in results)]
    printer = CodePrinter()
    body = [f"    {lhs} = {printer.doprint(expr)}" for lhs, expr in scheduled(named, "w", names_of(system))]
    used = set().union(*(expr.free_symbols for _, expr in named)) if named else set()
    head = [f"def {name}(t, y, p, d, out):", f'    """{doc}"""']
    head += _unpack([row.symbol for row in system.states], "y", used)
    head += _unpack([param.symbol for param in system.params], "p", used)
    return "\n".join([*head, *_drive_lines(system, used), *_outer_lines(system, used), *body, ""])


def _rates(system: System) -> str:
    kept = needed(system.definitions, system.rates)
    told = "Rates of the states y at time t into out."
    return _function(system, "rates", told, list(enumerate(system.rates)), [(d.symbol.name, d.expr) for d in kept])


def _observe(system: System) -> str:
    results = [o.expr for o in system.observables]
    kept = needed(system.definitions, results)
    told = "Recorded quantities at time t into out."
    return _function(system, "observe", told, list(enumerate(results)), [(d.symbol.name, d.expr) for d in kept])


def jacobian_entries(system: System) -> tuple[list[tuple[str, Any]], list[tuple[int, int, Any]]]:
    """Forward differentiation through the definitions: each partial derivative gets a name.

    Returns
    -------
    definitions : list of (name, expression)
        The system's definitions and their derivatives, in order.
    entries : list of (row, column, expression)
        Non-zero entries of d rate_i / d y_j, over the states that move the train.
    """
    n = system.motion_states
    index = {row.symbol: j for j, row in enumerate(system.states[:n])}
    slopes: dict[Any, dict[int, Any]] = {s: {j: sp.S.One} for s, j in index.items()}
    kept = needed(system.definitions, system.rates[:n])
    ordered: list[tuple[str, Any]] = []
    taken = names_of(system)

    def slope(expr: Any) -> dict[int, Any]:
        found: dict[int, Any] = {}
        for symbol in sorted(expr.free_symbols & slopes.keys(), key=lambda s: s.name):
            partial = sp.diff(expr, symbol)
            if partial.is_Number and partial.is_zero:  # of a term SymPy would deduce it at length
                continue
            for j, inner in slopes[symbol].items():
                found[j] = found.get(j, sp.S.Zero) + partial * inner
        return found

    for d in kept:
        ordered.append((d.symbol.name, d.expr))
        own = slope(d.expr)
        for j, expr in own.items():
            if expr.is_number:
                continue
            symbol = free_symbol(f"d_{d.symbol.name}_{j}", taken)
            ordered.append((symbol.name, expr))
            own[j] = symbol
        if own:
            slopes[d.symbol] = own
    entries = [(i, j, expr) for i, rate in enumerate(system.rates[:n]) for j, expr in slope(rate).items()]
    return ordered, entries


def _jacobian(system: System) -> str:
    ordered, entries = jacobian_entries(system)
    n = system.motion_states
    told = "d rates / d y of the moving states into the flat, zeroed array out, row by row."
    return _function(system, "jacobian", told, [(i * n + j, expr) for i, j, expr in entries], ordered)


def generate(system: System) -> str:
    """The text of the module for `system`: ``rates``, ``observe`` and ``jacobian``, and the names of its arrays."""
    structure = "\n".join(str(member) for member in system.structure)
    tail = _TAIL.format(m=system.motion_states)
    return "\n\n".join(
        [
            _HEAD.format(structure=structure),
            layout_text(layout_of(system)),
            _rates(system),
            _observe(system),
            _jacobian(system),
            tail,
        ]
    )
