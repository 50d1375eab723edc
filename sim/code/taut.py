"""A train all taut and at rest, as code: its inertias and stiffnesses, from the parameters of many designs."""

from __future__ import annotations

from typing import Any

import sympy as sp

from keyaction.models.algebra.laws import Felt
from keyaction.models.train.equations import System
from keyaction.sim.code.printer import CodePrinter, scheduled
from keyaction.sim.code.scalar import names_of

Expr = Any

FELT_SQUEEZE = 0.5e-3
"""m of squeeze at which a felt's stiffness is taken."""

_HEAD = '''"""A train all taut, generated from its equations; made anew whenever they change. Do not edit.

{structure}
"""

from numpy import cos, sin, sqrt
'''


def taut_text(system: System) -> str:
    """The module: ``inertias(p)`` and ``stiffnesses(p)`` (n * n, row by row), of columns of parameters.

    Of inertias there are n, or n * n where they couple bodies.
    """
    q = [c.q for c in system.coordinates]
    at_rest = dict.fromkeys(q, 0)
    diagonal = system.mass.is_diagonal()
    entries = [system.mass[i, i] for i in range(len(q))] if diagonal else list(system.mass)
    inertias = [entry.subs(at_rest) for entry in entries]
    return "\n\n".join(
        [
            _HEAD.format(structure="\n".join(str(member) for member in system.structure)),
            _function(system, "inertias", "Inertia of each body; row by row where some are coupled.", inertias),
            _function(system, "stiffnesses", "Stiffness matrix, row by row.", list(_stiffness(system, at_rest))),
        ]
    )


def _stiffness(system: System, at_rest: dict[Any, int]) -> Any:
    index = {symbol: i for i, symbol in enumerate(at_rest)}
    stiff = sp.zeros(len(index), len(index))
    for element in system.elements:
        if element.kind == "finger":
            continue
        slope = [sp.S.Zero] * len(index)
        for port, sign in element.ends:
            slope[index[port.coordinate.q]] += sign * port.gradient.subs(at_rest)
        stiff += _softest(element.law) * sp.Matrix(slope) * sp.Matrix([slope])
    return stiff


def _softest(law: Any) -> Expr:
    """Stiffness of a law; a felt's at a set squeeze."""
    return sp.Rational(3, 2) * law.k * sp.sqrt(FELT_SQUEEZE) if isinstance(law, Felt) else law.k


def _function(system: System, name: str, doc: str, results: list[Expr]) -> str:
    named = [(f"out[{i}]", expr) for i, expr in enumerate(results)]
    used = set().union(*(expr.free_symbols for expr in results))
    unpacked = [f"    {p.symbol.name} = p[{i}]" for i, p in enumerate(system.params) if p.symbol in used]
    printer = CodePrinter()
    lines = [f"    {left} = {printer.doprint(expr)}" for left, expr in scheduled(named, "w", names_of(system))]
    head = [f"def {name}(p):", f'    """{doc}"""', f"    out = [0.0] * {len(results)}"]
    return "\n".join([*head, *unpacked, *lines, "    return out", ""])
