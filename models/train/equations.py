"""The equations of a train: Lagrange's equations as an explicit first-order system, checked in dimension."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import sympy as sp

from keyaction.models.algebra.builder import Builder, Coordinate, Definition, Element, Observable, Param
from keyaction.models.algebra.dimensions import check
from keyaction.models.algebra.lagrange import accelerations, lagrange
from keyaction.models.parts import PARTS
from keyaction.models.parts.base import Shape
from keyaction.models.units.quantity import Dimension, dimension

Expr = Any
ACCOUNTS = ("finger", "wind", "friction", "damping")
"""Where work goes: done by the finger, done by the wind, lost in dry friction, lost in felts and rods."""

Structure = tuple[tuple[str, str, Shape], ...]
"""Kind, name and shape of every part, in order: all that the equations depend on."""


@dataclass(frozen=True)
class StateRow:
    """One entry of the state vector."""

    name: str
    symbol: Expr
    unit: str
    doc: str
    kind: str
    """``coordinate``, ``speed``, ``slip``, ``pressure`` or ``work``."""


@dataclass(frozen=True)
class System:
    """A train's equations.

    Attributes
    ----------
    states : tuple of StateRow
        The state vector: coordinates, their speeds, slips, pressures, and the work accounts.
    rates : tuple of expressions
        Time derivative of each state, in terms of states, parameters, inputs and definitions.
    params, inputs : tuple of Param
    definitions : tuple of Definition
        Intermediate expressions in the order in which they are computed.
    observables : tuple of Observable
    elements : tuple of Element
    coordinates : tuple of Coordinate
    mass : sympy.Matrix
        Mass matrix of the coordinates.
    """

    structure: Structure
    states: tuple[StateRow, ...]
    rates: tuple[Expr, ...]
    params: tuple[Param, ...]
    inputs: tuple[Param, ...]
    definitions: tuple[Definition, ...]
    observables: tuple[Observable, ...]
    elements: tuple[Element, ...]
    coordinates: tuple[Coordinate, ...]
    mass: Any
    kinetic: tuple[tuple[str, Expr], ...]
    potential: Expr

    @property
    def motion_states(self) -> int:
        """How many states move the train; the rest are accounts of work."""
        return len(self.states) - len(ACCOUNTS)


def _assemble(structure: Structure, rider: bool) -> Builder:
    builder = Builder(rider=rider)
    for kind, name, shape in structure:
        builder.scope = name
        PARTS[kind].assemble(builder, name, shape)
    builder.close_pins()
    return builder


def _accelerations(builder: Builder) -> tuple[Any, list[Expr]]:
    """Mass matrix as derived, and the accelerations by way of named inertias and force sums."""
    q = [c.q for c in builder.coordinates]
    v = [c.v for c in builder.coordinates]
    mass, inertia_forces = lagrange([term for _, term in builder.kinetic], q, v)
    names = {c.q: i for i, c in enumerate(builder.coordinates)}
    total = [-h for h in inertia_forces]
    for load in builder.loads:
        total[names[load.coordinate.q]] += load.expr
    for energy in builder.potential:
        # Elements enter by their force along the stretch; gravity by the slope of its potential.
        for symbol in energy.free_symbols & set(names):
            total[names[symbol]] -= sp.diff(energy, symbol)
    named = mass.copy()
    builder.scope = ""
    for i, c in enumerate(builder.coordinates):
        slug = c.name.replace("-", "_")
        force, inertia = ("N", "kg") if c.unit == "m" else ("N*m", "kg*m^2")
        total[i] = builder.define(f"G_{slug}", total[i], force, f"sum of generalised forces on {c.name}")
        if mass.is_diagonal():
            named[i, i] = builder.define(f"M_{slug}", mass[i, i], inertia, f"inertia of {c.name} with what it carries")
    return mass, accelerations(named, total)


def derive(structure: Structure, rider: bool = False) -> System:
    """Derive the equations of a train.

    Parameters
    ----------
    structure : tuple of (kind, name, shape)
        The parts in order.
    rider : bool
        Whether a mass is laid on the key in place of a finger.

    Raises
    ------
    keyaction.models.algebra.dimensions.DimensionProblem
        When a law does not agree in dimension.
    """
    builder = _assemble(structure, rider)
    kinetic = sum((term for _, term in builder.kinetic), sp.S.Zero)
    potential = sum(builder.potential, sp.S.Zero)
    mass, acc = _accelerations(builder)
    accounts = [(f"work_{name}", sum(builder.powers.get(name, []), sp.S.Zero)) for name in ACCOUNTS]
    states = (
        *(StateRow(f"q_{c.name}", c.q, c.unit, c.doc, "coordinate") for c in builder.coordinates),
        *(StateRow(f"v_{c.name}", c.v, c.speed_unit, f"speed, {c.doc}", "speed") for c in builder.coordinates),
        *(StateRow(s.symbol.name, s.symbol, s.unit, s.doc, s.kind) for s in builder.states),
        *(StateRow(name, sp.Symbol(name, real=True), "J", f"work account: {name[5:]}", "work") for name, _ in accounts),
    )
    rates = (
        *(c.v for c in builder.coordinates),
        *acc,
        *builder.state_rates,
        *(power for _, power in accounts),
    )
    builder.observe("energy", kinetic + potential, "J", "energy stored in the train")
    for element in builder.elements:
        builder.observe(
            f"stretch_{element.name}",
            element.stretch,
            "rad" if element.kind in ("twist", "spring") else "m",
            f"stretch, {element.doc}",
        )
        builder.observe(
            f"force_{element.name}",
            element.force,
            "N*m" if element.kind in ("twist", "spring") else "N",
            f"force, {element.doc}",
        )
    system = System(
        structure,
        states,
        tuple(rates),
        tuple(builder.params.values()),
        tuple(builder.inputs.values()),
        tuple(builder.definitions),
        tuple(builder.observables),
        tuple(builder.elements),
        tuple(builder.coordinates),
        mass,
        tuple(builder.kinetic),
        potential,
    )
    check_dimensions(system)
    return system


@lru_cache(maxsize=64)
def derived(structure: Structure, rider: bool = False) -> System:
    """`derive`, remembered: the notes of a manual share one structure."""
    return derive(structure, rider)


def known_dimensions(system: System) -> dict[Expr, Dimension]:
    """Dimension of every symbol of the system."""
    known = {row.symbol: dimension(row.unit) for row in system.states}
    known |= {p.symbol: dimension(p.unit) for p in (*system.params, *system.inputs)}
    known |= {d.symbol: dimension(d.unit) for d in system.definitions}
    return known


def check_dimensions(system: System) -> None:
    """Every definition, rate and observable has the dimension it says, or `DimensionProblem`."""
    known = known_dimensions(system)
    for d in system.definitions:
        check(d.expr, known[d.symbol], known, f"{d.doc} ({d.symbol})")
    second = dimension("s")
    for row, rate in zip(system.states, system.rates, strict=True):
        check(rate, known[row.symbol] / second, known, f"rate of {row.name}")
    for o in system.observables:
        check(o.expr, dimension(o.unit), known, o.name)
