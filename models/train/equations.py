"""The equations of a train: Lagrange's equations as an explicit first-order system, checked in dimension."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import sympy as sp

from keyaction.models.algebra.builder import (
    Builder,
    Coordinate,
    Definition,
    Element,
    Observable,
    Outer,
    Param,
)
from keyaction.models.algebra.dimensions import check
from keyaction.models.algebra.lagrange import accelerations, coupled, free_inertia, lagrange
from keyaction.models.algebra.names import SHARED, Name
from keyaction.models.algebra.problem import OutletProblem
from keyaction.models.train.speech import watch_all
from keyaction.models.train.structure import Structure
from keyaction.models.train.train import part_named
from keyaction.models.units.quantity import Dimension, dimension

Expr = Any
ACCOUNTS = ("finger", "wind", "friction", "damping")
"""Where work goes: done by the finger, done by the wind, lost in dry friction, lost in felts and rods."""
LOST = ("friction", "damping")
"""Accounts of what is lost; every other one is of what comes in."""


@dataclass(frozen=True)
class StateRow:
    """One entry of the state vector."""

    name: str
    symbol: Expr
    unit: str
    doc: str
    kind: str
    """``coordinate``, ``speed``, ``slip``, ``pressure``, ``impulse`` or ``work``."""
    of: Name
    """Whose it is; for an account of work its name stands for the body."""


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
        Constants of a note, and what the finger does.
    outer : tuple of Outer
        Parameters that a drive may change as time goes.
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
    outer: tuple[Outer, ...]
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
        return sum(row.kind != "work" for row in self.states)


def _assemble(structure: Structure, rider: bool) -> Builder:
    builder = Builder(rider=rider)
    for i, member in enumerate(structure):
        builder.scope = member.name
        builder.ends = member.after, member.to
        if member.after is not None and member.part.role == "rod":
            builder.lead_from(member.after)
        box = next((other for other in structure[i:] if other.part.role == "box"), None)
        builder.box, builder.box_name = (box.part, box.name) if box else (None, "")
        with part_named(member.name):
            member.part.assemble(builder, member.name, member.shape)
    builder.close_pins()
    return builder


@lru_cache(maxsize=64)
def outlet_defects(structure: Structure) -> tuple[str, ...]:
    """Of a train that branches: the outlet that an earlier part does not have."""
    try:
        _assemble(structure, rider=False)
    except OutletProblem as problem:
        return (str(problem),)
    return ()


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
    named, groups = mass.copy(), coupled(mass)
    for i, c in enumerate(builder.coordinates):
        force, inertia = ("N", "kg") if c.unit == "m" else ("N*m", "kg*m^2")
        sum_of, about = Name(c.part, "G", c.piece), Name(c.part, "M", c.piece)
        told = f"sum of generalised forces on {c.name}"
        total[i] = builder.define("", total[i], force, told, sum_of, "body")
        told = f"inertia of {c.name} with what it carries"
        group = next(group for group in groups if i in group)
        symbol = builder.define("", free_inertia(mass, group, i), inertia, told, about, "body")
        if len(group) == 1:
            named[i, i] = symbol
    return mass, accelerations(named, total)


def derive(structure: Structure, rider: bool = False) -> System:
    """Derive the equations of a train.

    Parameters
    ----------
    structure : tuple of Member
        The parts in order.
    rider : bool
        Whether a mass is laid on the key in place of a finger.

    Raises
    ------
    keyaction.models.algebra.problem.DimensionProblem
        When a law does not agree in dimension.
    keyaction.models.train.train.PartProblem
        When a part raises an error of its own.
    """
    builder = _assemble(structure, rider)
    kinetic = sum((term for _, term in builder.kinetic), sp.S.Zero)
    potential = sum(builder.potential, sp.S.Zero)
    mass, acc = _accelerations(builder)
    accounts = (*ACCOUNTS, *(name for name in builder.powers if name not in ACCOUNTS))
    watch_all(builder)
    powers = [sum(builder.powers.get(name, []), sp.S.Zero) for name in accounts]
    work = [builder.symbols.new(Name(SHARED, "work", name)) for name in accounts]
    states = (
        *(_way(c) for c in builder.coordinates),
        *(_speed(c) for c in builder.coordinates),
        *(StateRow(s.symbol.name, s.symbol, s.unit, s.doc, s.kind, s.name) for s in builder.states),
        *(_account(name, symbol) for name, symbol in zip(accounts, work, strict=True)),
    )
    rates = (
        *(c.v for c in builder.coordinates),
        *acc,
        *(builder.state_rates[s.symbol] for s in builder.states),
        *powers,
    )
    builder.scope = SHARED
    builder.observe("energy", kinetic + potential, "J", "energy stored in the train")
    for element in builder.elements:
        force = "N" if element.unit == "m" else "N*m"
        builder.observe(f"stretch_{element.name}", element.stretch, element.unit, f"stretch, {element.doc}")
        builder.observe(f"force_{element.name}", element.force, force, f"force, {element.doc}")
    system = System(
        structure,
        states,
        tuple(rates),
        tuple(builder.params.values()),
        tuple(builder.inputs.values()),
        tuple(builder.outers.values()),
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


def _way(c: Coordinate) -> StateRow:
    return StateRow(f"q_{c.name}", c.q, c.unit, c.doc, "coordinate", Name(c.part, "q", c.piece))


def _speed(c: Coordinate) -> StateRow:
    return StateRow(f"v_{c.name}", c.v, c.speed_unit, f"speed, {c.doc}", "speed", Name(c.part, "v", c.piece))


def _account(name: str, symbol: Expr) -> StateRow:
    return StateRow(symbol.name, symbol, "J", f"work account: {name}", "work", Name(SHARED, "work", name))


@lru_cache(maxsize=64)
def derived(structure: Structure, rider: bool = False) -> System:
    """`derive`, remembered: the notes of a manual share one structure."""
    return derive(structure, rider)


def known_dimensions(system: System) -> dict[Expr, Dimension]:
    """Dimension of every symbol of the system."""
    known = {row.symbol: dimension(row.unit) for row in system.states}
    known |= {p.symbol: dimension(p.unit) for p in (*system.params, *system.inputs)}
    known |= {d.symbol: dimension(d.unit) for d in system.definitions}
    known |= {o.symbol: dimension(o.unit) for o in system.outer}
    known |= {o.rate: dimension(f"{o.unit}/s") for o in system.outer}
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
