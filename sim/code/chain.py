"""How motion is carried through a train, as code: slopes of every rod's ends, and energies part by part."""

from __future__ import annotations

from typing import Any

import sympy as sp

from keyaction.models.algebra.builder import Element
from keyaction.models.train.equations import System
from keyaction.sim.code.layout import layout_of, layout_text
from keyaction.sim.code.printer import CodePrinter, scheduled
from keyaction.sim.code.scalar import names_of

Expr = Any
CARRY = ("rod", "bar", "twist", "coupler")
"""Kinds of element that carry motion on."""

_HEAD = '''"""Geometry of a train, generated from its equations; made anew whenever they change. Do not edit.

{structure}
"""

from math import cos, sin, sqrt
'''


def _function(system: System, name: str, doc: str, arguments: str, results: list[Expr]) -> str:
    named = [(f"out[{i}]", expr) for i, expr in enumerate(results)]
    used = set().union(*(expr.free_symbols for expr in results)) if results else set()
    unpacked = [
        f"    {symbol.name} = {array}[{i}]"
        for array, symbols in (
            ("q", [c.q for c in system.coordinates]),
            ("v", [c.v for c in system.coordinates]),
            ("p", [p.symbol for p in system.params]),
        )
        for i, symbol in enumerate(symbols)
        if symbol in used
    ]
    printer = CodePrinter(squares=False)
    lines = [f"    {left} = {printer.doprint(expr)}" for left, expr in scheduled(named, "w", names_of(system))]
    head = [f"def {name}({arguments}):", f'    """{doc}"""', f"    out = [0.0] * {len(results)}"]
    return "\n".join([*head, *unpacked, *lines, "    return out", ""])


def chain_text(system: System) -> str:
    """The module: ``slopes(q, p)``, ``energies(q, v, p)``, and which links and owners they are of."""
    index = {c.q: i for i, c in enumerate(system.coordinates)}
    carriers = _in_order([e for e in system.elements if e.kind in CARRY and len(e.ends) >= 2])
    front = next(e for e in system.elements if e.kind == "finger").ends[0][0]
    slopes = [front.gradient, *(port.gradient for e in carriers for port, _ in e.ends[:2])]
    links = tuple(
        (system.elements.index(e), index[e.ends[0][0].coordinate.q], index[e.ends[1][0].coordinate.q]) for e in carriers
    )
    owners = tuple(dict.fromkeys(owner for owner, _ in system.kinetic))
    energies = [sum((term for owner, term in system.kinetic if owner == name), sp.S.Zero) for name in owners]
    order = tuple(slip_owner(system, i) for i, row in enumerate(system.states) if row.kind == "slip")
    tables = f"LINKS = {links!r}\nOWNERS = {owners!r}\nSLIPS = {order!r}\n"
    about = "d travel / d coordinate: the key front, then both ends of each link."
    energy = "Kinetic energy of each owner."
    return "\n\n".join(
        [
            _HEAD.format(structure="\n".join(str(member) for member in system.structure)),
            layout_text(layout_of(system)) + tables,
            _function(system, "slopes", about, "q, p", slopes),
            _function(system, "energies", energy, "q, v, p", energies),
        ]
    )


def _in_order(carriers: list[Element]) -> list[Element]:
    """The links so that whatever moves a body stands before what the body moves; otherwise as they are."""
    found, left = list[Element](), list(carriers)
    while left:
        driven = {e.ends[1][0].coordinate for e in left}
        ready = next((e for e in left if e.ends[0][0].coordinate not in driven), left[0])
        found.append(ready)
        left.remove(ready)
    return found


def slip_owner(system: System, row: int) -> int:
    """Number of the coordinate whose speed drives a slip."""
    free = system.rates[row].free_symbols
    return next(i for i, c in enumerate(system.coordinates) if c.v in free)
