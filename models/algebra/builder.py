"""Collects what the parts of a train contribute: bodies, energies, forces, slip and pressure states."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

import sympy as sp

from keyaction.models.algebra.laws import Law, dry_friction, slip_rate

Expr = Any


@dataclass(frozen=True)
class Param:
    """A constant of the equations."""

    symbol: Expr
    unit: str
    doc: str


@dataclass(frozen=True)
class State:
    """A first-order state that is no coordinate or speed: slip of a pin, pressure of a groove."""

    symbol: Expr
    unit: str
    doc: str
    kind: str


@dataclass(frozen=True)
class Coordinate:
    """One degree of freedom: zero at rest, positive in the playing direction."""

    name: str
    unit: str
    q: Expr
    v: Expr
    doc: str

    @property
    def speed_unit(self) -> str:
        return f"{self.unit}/s"


@dataclass(frozen=True)
class Port:
    """A point of a body where a rod, felt or finger acts along a fixed line.

    `travel` is the way along that line as an expression of the body's coordinate; `along` the direction
    of the load in the body's plane as two components, for the load of the body's pin.
    """

    name: str
    coordinate: Coordinate
    travel: Expr
    along: tuple[Expr, Expr] = (sp.S.One, sp.S.Zero)
    pin: str | None = None

    @property
    def gradient(self) -> Expr:
        return sp.diff(self.travel, self.coordinate.q)


@dataclass(frozen=True)
class Definition:
    """A named intermediate expression, in the order in which it is computed."""

    symbol: Expr
    expr: Expr
    unit: str
    doc: str


@dataclass(frozen=True)
class Element:
    """Something that is stretched between ports and answers by a law.

    `ends` are ports with +1 (its travel stretches the element) or -1 (relieves it).
    """

    name: str
    kind: str
    ends: tuple[tuple[Port, int], ...]
    stretch: Expr
    rate: Expr
    force: Expr
    law: Law
    doc: str
    slack: Expr = sp.S.Zero


@dataclass(frozen=True)
class Load:
    """A generalised force on one coordinate. `account` is where its work goes: ``damping``, ``wind`` ..."""

    coordinate: Coordinate
    expr: Expr
    account: str


@dataclass(frozen=True)
class Observable:
    """A quantity worth recording at every instant."""

    name: str
    expr: Expr
    unit: str
    doc: str


@dataclass(frozen=True)
class Pin:
    """A pivot with dry friction: capacity tau0 + c N, N being the resultant of the loads on it."""

    name: str
    coordinate: Coordinate
    tau0: Expr
    lever: Expr
    weight: Expr


@dataclass(frozen=True)
class Valve:
    """A pallet as the wind sees it: its gap, the opening below, and the volume swept per turn."""

    coordinate: Coordinate
    gap: Expr
    slot: Expr
    moment: Expr


@dataclass
class Builder:
    """The growing model of one note. Parts call its methods in train order, from the finger to the wind."""

    rider: bool = False
    params: dict[str, Param] = field(default_factory=dict)
    inputs: dict[str, Param] = field(default_factory=dict)
    coordinates: list[Coordinate] = field(default_factory=list)
    states: list[State] = field(default_factory=list)
    state_rates: list[Expr] = field(default_factory=list)
    definitions: list[Definition] = field(default_factory=list)
    kinetic: list[tuple[str, Expr]] = field(default_factory=list)
    potential: list[Expr] = field(default_factory=list)
    elements: list[Element] = field(default_factory=list)
    loads: list[Load] = field(default_factory=list)
    pins: list[Pin] = field(default_factory=list)
    observables: list[Observable] = field(default_factory=list)
    powers: dict[str, list[Expr]] = field(default_factory=dict)
    pin_loads: dict[str, list[tuple[Expr, tuple[Expr, Expr]]]] = field(default_factory=dict)
    outlet: Port | None = None
    valve: Valve | None = None
    rod: Callable[[Port, Port], None] | None = None
    scope: str = ""

    # -- names ---------------------------------------------------------------------------------------
    def _name(self, base: str) -> str:
        return f"{base}_{self.scope}".replace("-", "_") if self.scope else base

    def param(self, base: str, unit: str, doc: str) -> Expr:
        """A constant of the current part, as a symbol; asking twice gives the same one."""
        name = self._name(base)
        if name not in self.params:
            self.params[name] = Param(sp.Symbol(name, real=True), unit, f"{self.scope}: {doc}" if self.scope else doc)
        return self.params[name].symbol

    def constant(self, name: str, unit: str, doc: str) -> Expr:
        """A constant that all parts share."""
        if name not in self.params:
            self.params[name] = Param(sp.Symbol(name, real=True), unit, doc)
        return self.params[name].symbol

    def input(self, name: str, unit: str, doc: str) -> Expr:
        """A quantity that the drive sets from outside."""
        if name not in self.inputs:
            self.inputs[name] = Param(sp.Symbol(name, real=True), unit, doc)
        return self.inputs[name].symbol

    def define(self, base: str, expr: Expr, unit: str, doc: str) -> Expr:
        """Name an intermediate expression."""
        symbol = sp.Symbol(self._name(base), real=True)
        self.definitions.append(Definition(symbol, expr, unit, doc))
        return symbol

    # -- bodies --------------------------------------------------------------------------------------
    def coordinate(self, name: str, unit: str, doc: str) -> Coordinate:
        """A new degree of freedom."""
        slug = name.replace("-", "_")
        made = Coordinate(name, unit, sp.Symbol(f"q_{slug}", real=True), sp.Symbol(f"v_{slug}", real=True), doc)
        self.coordinates.append(made)
        return made

    def inertia(self, coordinate: Coordinate, inertia: Expr) -> None:
        """Kinetic energy of a body about its own coordinate."""
        self.kinetic.append((self.scope, inertia * coordinate.v**2 / 2))

    def point_mass(self, port: Port, mass: Expr) -> None:
        """A mass carried along a port's line (half a rod)."""
        self.kinetic.append((self.scope, mass * (port.gradient * port.coordinate.v) ** 2 / 2))

    def weight(self, potential: Expr) -> None:
        """Potential energy of gravity."""
        self.potential.append(potential)

    def arrive(self, inlet: Port) -> None:
        """Join the waiting rod, if there is one, to the inlet of the next body."""
        if self.rod is None or self.outlet is None:
            raise ValueError(f"{inlet.name}: a tracker, sticker or pull-down must lead to it")
        here, rod, self.rod = self.scope, self.rod, None
        rod(self.outlet, inlet)
        self.scope = here

    # -- forces --------------------------------------------------------------------------------------
    def element(
        self,
        base: str,
        kind: str,
        ends: Sequence[tuple[Port, int]],
        law: Law,
        doc: str,
        unit: str = "m",
        offset: Expr = sp.S.Zero,
        slack: Expr = sp.S.Zero,
        drive_rate: Expr = sp.S.Zero,
    ) -> Element:
        """Put `law` between ports: stretch = sum of sign x travel + offset - slack."""
        force_unit = "N" if unit == "m" else "N*m"
        stretch = sum((sign * port.travel for port, sign in ends), offset - slack)
        rate = sum((sign * port.gradient * port.coordinate.v for port, sign in ends), drive_rate)
        e = self.define(f"e_{base}" if base else "e", stretch, unit, f"stretch, {doc}")
        de = self.define(f"de_{base}" if base else "de", rate, f"{unit}/s", f"rate of stretch, {doc}")
        f = self.define(f"F_{base}" if base else "F", law.force(e, de), force_unit, f"force, {doc}")
        for port, sign in ends:
            self.loads.append(Load(port.coordinate, -sign * f * port.gradient, "element"))
            if port.pin:
                self.pin_loads.setdefault(port.pin, []).append((f, port.along))
        self.potential.append(law.energy(e))
        self.powers.setdefault("damping", []).append((f - law.force(e, sp.S.Zero)) * de)
        made = Element(f"{self.scope}-{base}" if base else self.scope, kind, tuple(ends), e, de, f, law, doc, slack)
        self.elements.append(made)
        return made

    def load(self, coordinate: Coordinate, expr: Expr, account: str) -> None:
        """A generalised force whose work is booked under `account`."""
        self.loads.append(Load(coordinate, expr, account))
        self.powers.setdefault(account, []).append(expr * coordinate.v)

    def pin(self, name: str, coordinate: Coordinate, weight: Expr = sp.S.Zero) -> str:
        """A pivot of the current part; its friction is added when all loads on it are known."""
        tau0 = self.param(f"tau0_{name}" if name else "tau0", "N*m", "break-away torque of the unloaded pin")
        lever = self.param(f"c_{name}" if name else "c", "m", "friction coefficient times pin radius")
        key = self._name(name or "pin")
        self.pins.append(Pin(key, coordinate, tau0, lever, weight))
        return key

    def first_order(self, base: str, rate: Expr, unit: str, doc: str, kind: str) -> Expr:
        """A state with its own rate equation."""
        symbol = sp.Symbol(self._name(base), real=True)
        return self.add_state(symbol, rate, unit, doc, kind)

    def add_state(self, symbol: Expr, rate: Expr, unit: str, doc: str, kind: str) -> Expr:
        self.states.append(State(symbol, unit, doc, kind))
        self.state_rates.append(rate)
        return symbol

    def dry_friction(self, base: str, port: Port, capacity: Expr, reach: Expr, doc: str) -> Expr:
        """Coulomb friction along a port's travel."""
        speed = port.gradient * port.coordinate.v
        slip = sp.Symbol(self._name(base), real=True)
        self.add_state(slip, slip_rate(slip, speed, reach), "", f"slip state, {doc}", "slip")
        lag = self.constant("t_slip", "s", "damping of a bushing's give, as its force per rate of slip")
        force = dry_friction(capacity, slip, speed, reach, lag)
        self.loads.append(Load(port.coordinate, -force * port.gradient, "friction"))
        self.powers.setdefault("friction", []).append(force * speed)
        return slip

    def close_pins(self) -> None:
        """Add the friction of every pin, now that the rods on both sides are known."""
        self.scope = ""
        floor = self.constant("N_floor", "N", "load below which the resultant on a pin is rounded off")
        reach = self.constant("phi_slip", "rad", "turn within which a bushing gives before it slips")
        for pin in self.pins:
            loads = self.pin_loads.get(pin.name, [])
            across = sum((f * along[0] for f, along in loads), pin.weight)
            beside = sum((f * along[1] for f, along in loads), sp.S.Zero)
            load = self.define(f"N_{pin.name}", sp.sqrt(across**2 + beside**2 + floor**2), "N", f"load on {pin.name}")
            cap = self.define(f"tau_{pin.name}", pin.tau0 + pin.lever * load, "N*m", f"friction of {pin.name}")
            turning = Port(pin.name, pin.coordinate, pin.coordinate.q)
            self.dry_friction(f"u_{pin.name}", turning, cap, reach, pin.name)

    def observe(self, name: str, expr: Expr, unit: str, doc: str) -> None:
        """Record `expr` in every motion."""
        self.observables.append(Observable(name, expr, unit, doc))


def arm(builder: Builder, coordinate: Coordinate, base: str, along: tuple[Expr, Expr], pin: str | None) -> Port:
    """A port at the end of an arm: s(q) = r [sin(q + delta) - sin(delta)].

    The rod is long compared with the arm; its own swing adds a relative error of about
    (r / L) (1 - cos q), below 1 % for rods longer than the arm and strokes up to 0.14 rad.
    """
    r = builder.param(f"r_{base}", "m", f"{base} arm")
    delta = builder.param(f"delta_{base}", "rad", f"{base} arm, angle before square at rest")
    travel = r * (sp.sin(coordinate.q + delta) - sp.sin(delta))
    return Port(f"{coordinate.name}.{base}", coordinate, travel, along, pin)
