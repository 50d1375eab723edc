"""Equations to code: a readable module of plain scalar functions, good for Python and for Numba alike."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import sympy as sp
from sympy.printing.pycode import PythonCodePrinter

from keyaction.models.train.equations import System

DRIVE = (
    "t_start",
    *(f"x{i}" for i in range(6)),
    *(f"f{i}" for i in range(6)),
    "k_finger",
    "alpha_finger",
    "m_rider",
)
"""Layout of the drive vector: start of the piece, polynomials of way and force, the finger or the mass."""

_HEAD = '''"""Generated from the equations of a train; made anew whenever they change. Do not edit.

{structure}
"""

from math import copysign, cos, sin, sqrt

from numpy import empty, zeros


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


HELPERS = ("pos", "step", "posroot", "pos32", "direction")
'''

_TAIL = '''def rates_of(t, y, p, d):
    """Rates of the states as a new array."""
    out = empty({n})
    rates(t, y, p, d, out)
    return out


def observe_all(t, y, p, d, out):
    """Recorded quantities at every instant, one row each."""
    for i in range(len(t)):
        observe(t[i], y[i], p, d, out[i])


def jacobian_of(t, y, p, d):
    """Jacobian of the moving states, padded with zero rows and columns for the work accounts."""
    n, m = {n}, {m}
    flat = zeros(m * m)
    jacobian(t, y, p, d, flat)
    whole = zeros((n, n))
    for i in range(m):
        for j in range(m):
            whole[i, j] = flat[i * m + j]
    return whole


COMPILED = ("rates", "observe", "jacobian", "rates_of", "observe_all", "jacobian_of")
'''


class _Printer(PythonCodePrinter):  # type: ignore[misc]
    """Scalar Python with the safe functions of `keyaction.models.algebra.symbols`."""

    def __init__(self) -> None:
        super().__init__({"fully_qualified_modules": False})

    def _plain(self, expr: Any) -> str:
        return f"{expr.func.__name__}({self._print(expr.args[0])})"

    _print_pos = _print_step = _print_posroot = _print_pos32 = _print_direction = _plain

    def _print_size(self, expr: Any) -> str:
        return f"abs({self._print(expr.args[0])})"

    def _print_Pow(self, expr: Any, rational: bool = False) -> str:  # noqa: ARG002
        base, exponent = expr.base, expr.exp
        inner = self.parenthesize(base, sp.printing.precedence.PRECEDENCE["Mul"] + 1)
        if exponent == 2:
            return f"({inner}*{inner})" if base.is_Symbol else f"{inner}**2"
        roots = {
            sp.S.Half: "sqrt({})",
            -sp.S.Half: "(1.0/sqrt({}))",
            sp.Rational(1, 4): "sqrt(sqrt({}))",
            sp.Rational(-1, 4): "(1.0/sqrt(sqrt({})))",
        }
        if exponent in roots:
            return roots[exponent].format(self._print(base))
        if exponent == -1:
            return f"(1.0/{inner})"
        return f"{inner}**({self._print(exponent)})"

    def _print_Rational(self, expr: Any) -> str:
        return f"({expr.p}.0/{expr.q}.0)"


def _lines(assignments: Iterable[tuple[str, Any]], printer: _Printer) -> list[str]:
    return [f"    {name} = {printer.doprint(expr)}" for name, expr in assignments]


def needed(definitions: Sequence[Any], results: Iterable[Any]) -> list[Any]:
    """Only the definitions that the results rest on, in order."""
    wanted = set().union(*(expr.free_symbols for expr in results)) if results else set()
    kept = []
    for definition in reversed(definitions):
        if definition.symbol in wanted:
            kept.append(definition)
            wanted |= definition.expr.free_symbols
    return kept[::-1]


def _unpack(symbols: Sequence[Any], array: str, used: set[Any]) -> list[str]:
    return [f"    {s.name} = {array}[{i}]" for i, s in enumerate(symbols) if s in used]


def _drive_lines(used: set[str]) -> list[str]:
    """The drive's polynomials at time t."""
    lines = []
    if used & {"x_finger", "v_finger", "f_finger"}:
        lines.append("    s = t - d[0]")
    if "x_finger" in used:
        lines.append("    x_finger = d[1] + s*(d[2] + s*(d[3] + s*(d[4] + s*(d[5] + s*d[6]))))")
    if "v_finger" in used:
        lines.append("    v_finger = d[2] + s*(2.0*d[3] + s*(3.0*d[4] + s*(4.0*d[5] + s*5.0*d[6])))")
    if "f_finger" in used:
        lines.append("    f_finger = d[7] + s*(d[8] + s*(d[9] + s*(d[10] + s*(d[11] + s*d[12]))))")
    lines += [
        f"    {name} = d[{DRIVE.index(name)}]" for name in ("k_finger", "alpha_finger", "m_rider") if name in used
    ]
    return lines


def _function(
    system: System,
    name: str,
    doc: str,
    results: Sequence[tuple[str, Any]],
    definitions: Sequence[tuple[str, Any]],
) -> str:
    """A function ``name(t, y, p, d, out)`` that fills ``out`` with the results."""
    printer = _Printer()
    symbols = sp.numbered_symbols("w")
    names = [lhs for lhs, _ in definitions]
    exprs = [rhs for _, rhs in definitions] + [expr for _, expr in results]
    shared, reduced = sp.cse(exprs, symbols=symbols, order="none", list=False)
    body, ready = [], dict(zip(names, reduced, strict=False))
    waiting = list(shared)
    used = set().union(*(expr.free_symbols for expr in exprs)) if exprs else set()
    defined: set[str] = set()
    pool = set(names)

    def flush() -> None:
        """Emit the common terms whose symbols are all known by now."""
        going = True
        while going:
            going = False
            for pair in list(waiting):
                if all(
                    s.name in defined or (s.name not in pool and not s.name.startswith("w"))
                    for s in pair[1].free_symbols
                ):
                    body.extend(_lines([(pair[0].name, pair[1])], printer))
                    defined.add(pair[0].name)
                    waiting.remove(pair)
                    going = True

    flush()
    for lhs in names:
        body.extend(_lines([(lhs, ready[lhs])], printer))
        defined.add(lhs)
        flush()
    outs = [f"    out[{i}] = {printer.doprint(expr)}" for i, expr in enumerate(reduced[len(names) :])]
    head = [f"def {name}(t, y, p, d, out):", f'    """{doc}"""']
    head += _unpack([row.symbol for row in system.states], "y", used)
    head += _unpack([param.symbol for param in system.params], "p", used)
    head += _drive_lines({s.name for s in used})
    return "\n".join([*head, *body, *outs, ""])


def _rates(system: System) -> str:
    results = [(row.name, rate) for row, rate in zip(system.states, system.rates, strict=True)]
    kept = needed(system.definitions, [expr for _, expr in results])
    return _function(
        system,
        "rates",
        "Rates of the states y at time t into out.",
        results,
        [(d.symbol.name, d.expr) for d in kept],
    )


def _observe(system: System) -> str:
    results = [(o.name, o.expr) for o in system.observables]
    kept = needed(system.definitions, [expr for _, expr in results])
    return _function(
        system,
        "observe",
        "Recorded quantities at time t into out.",
        results,
        [(d.symbol.name, d.expr) for d in kept],
    )


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

    def slope(expr: Any) -> dict[int, Any]:
        found: dict[int, Any] = {}
        for symbol in sorted(expr.free_symbols & slopes.keys(), key=lambda s: s.name):
            partial = sp.diff(expr, symbol)
            if partial.is_zero:
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
            symbol = sp.Symbol(f"d_{d.symbol.name}_{j}", real=True)
            ordered.append((symbol.name, expr))
            own[j] = symbol
        if own:
            slopes[d.symbol] = own
    entries = [(i, j, expr) for i, rate in enumerate(system.rates[:n]) for j, expr in slope(rate).items()]
    return ordered, entries


def _jacobian(system: System) -> str:
    ordered, entries = jacobian_entries(system)
    n = system.motion_states
    text = _function(
        system,
        "jacobian",
        "d rates / d y of the moving states into the flat, zeroed array out, row by row.",
        [(f"{i},{j}", expr) for i, j, expr in entries],
        ordered,
    )
    for k, (i, j, _) in enumerate(entries):
        text = text.replace(f"    out[{k}] = ", f"    OUT[{i * n + j}] = ", 1)
    return text.replace("    OUT[", "    out[")


def generate(system: System) -> str:
    """The text of the module for `system`: ``rates``, ``observe`` and ``jacobian``, and the names of its arrays."""
    structure = "\n".join(f"{kind} {name} {shape}" for kind, name, shape in system.structure)
    names = [
        f"STATES = {tuple(row.name for row in system.states)!r}",
        f"PARAMETERS = {tuple(p.symbol.name for p in system.params)!r}",
        f"DRIVE = {DRIVE!r}",
        f"OBSERVABLES = {tuple(o.name for o in system.observables)!r}",
        "",
    ]
    tail = _TAIL.format(n=len(system.states), m=system.motion_states)
    return "\n\n".join(
        [
            _HEAD.format(structure=structure),
            "\n".join(names),
            _rates(system),
            _observe(system),
            _jacobian(system),
            tail,
        ]
    )
