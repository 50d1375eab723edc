"""Collects what the parts of a train contribute: bodies, energies, forces, slip and pressure states."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

import sympy as sp

from keyaction.models.algebra.laws import Law, dry_friction, slip_rate
from keyaction.models.algebra.names import SHARED, Name, spelled
from keyaction.models.algebra.problem import OutletProblem
from keyaction.models.algebra.register import Symbols

Expr = Any


@dataclass(frozen=True)
class Param:
    """A constant of the equations, or what a drive sets from outside."""

    name: Name
    symbol: Expr
    unit: str
    doc: str


@dataclass(frozen=True)
class Outer:
    """What changes from outside as time goes: a parameter's course and its rate."""

    name: Name
    symbol: Expr
    rate: Expr
    unit: str
    doc: str


@dataclass(frozen=True)
class State:
    """A first-order state that is no coordinate or speed: slip of a pin, pressure of a groove."""

    name: Name
    symbol: Expr
    unit: str
    doc: str
    kind: str


@dataclass(frozen=True)
class Coordinate:
    """One degree of freedom: zero at rest, positive in the playing direction.

    `name` is for people; `part` is whose it is, and `piece` which of the part's bodies, where it has several;
    `number` counts the masses along a rod from 1.
    """

    name: str
    part: str
    piece: str
    number: int
    unit: str
    q: Expr
    v: Expr
    doc: str

    @property
    def speed_unit(self) -> str:
        return f"{self.unit}/s"


@dataclass(frozen=True)
class Shift:
    """A way of a port that is set from outside, beside its body's own: its rate, and whose work that is.

    `hold` is a state of kind ``impulse`` that sums the force against what shifts it, `share` the way per way of that.
    """

    way: Expr
    rate: Expr
    account: str
    hold: Expr | None = None
    share: Expr = sp.S.One


@dataclass(frozen=True)
class Port:
    """A point of a body where a rod, felt or finger acts along a fixed line.

    `travel` is the way along that line as an expression of the body's coordinate; `along` the direction
    of the load in the body's plane as two components, for the load of the body's pin; `shift` what is added
    where the body's pin is itself moved; `beside` the same point as a second body carries it: both travels add.
    """

    name: str
    coordinate: Coordinate
    travel: Expr
    along: tuple[Expr, Expr] = (sp.S.One, sp.S.Zero)
    pin: Name | None = None
    shift: Shift | None = None
    beside: Port | None = None

    @property
    def gradient(self) -> Expr:
        return sp.diff(self.travel, self.coordinate.q)

    @property
    def shares(self) -> tuple[Port, ...]:
        """The port, and those of the other bodies that carry its point."""
        return (self, *(self.beside.shares if self.beside else ()))

    @property
    def way(self) -> Expr:
        """Travel of the point, all bodies together."""
        return sum((one.travel for one in self.shares), sp.S.Zero)

    @property
    def speed(self) -> Expr:
        """Its rate, what is set from outside apart."""
        return sum((one.gradient * one.coordinate.v for one in self.shares), sp.S.Zero)


@dataclass(frozen=True)
class Definition:
    """A named intermediate expression, in the order in which it is computed.

    `group` is ``pin``, ``body`` or empty: where it is read.
    """

    name: Name
    symbol: Expr
    expr: Expr
    unit: str
    doc: str
    group: str = ""


@dataclass(frozen=True)
class Element:
    """Something that is stretched between ports and answers by a law.

    `ends` are ports with +1 (its travel stretches the element) or -1 (relieves it). `name` is for people; `part`
    is whose it is, and `place` where on it, where there are several.
    """

    name: str
    part: str
    place: str
    kind: str
    unit: str
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
    """A quantity worth recording at every instant: its title, and whose and what it is."""

    name: str
    expr: Expr
    unit: str
    doc: str
    part: str = ""
    what: str = ""


@dataclass(frozen=True)
class Pin:
    """A pivot with dry friction: capacity tau0 + c N, N being the resultant of the loads on it."""

    name: Name
    title: str
    coordinate: Coordinate
    tau0: Expr
    lever: Expr


@dataclass(frozen=True)
class Valve:
    """A pallet as the wind sees it: its gap, the opening below, the volume swept per turn, the area pressed on.

    `hinge` is the pin that carries what spring and wind leave over, `seat` the gap at the eye, below zero while shut;
    `jointed` are other bodies of the same pallet with the volume that each sweeps per turn.
    """

    coordinate: Coordinate
    gap: Expr
    slot: Expr
    moment: Expr
    area: Expr
    hinge: Name
    seat: Expr = sp.S.Zero
    jointed: tuple[tuple[Coordinate, Expr], ...] = ()

    @property
    def bodies(self) -> tuple[tuple[Coordinate, Expr], ...]:
        """All its bodies with the volume that each sweeps per turn."""
        return ((self.coordinate, self.moment), *self.jointed)


Outlet = tuple[str, str]
"""A part's name and the name of one of its outlets."""
OUT = "out"
"""The outlet that the next rod in the list takes unless it says otherwise."""
IN = "in"
"""Where the rod before a part hooks on."""


@dataclass
class Builder:
    """The growing model of one note. Parts call its methods in train order, from the finger to the wind.

    Attributes
    ----------
    rider : bool
        Whether a mass lies on the key in place of a finger.
    box : type, optional
        The part that is the pallet box of the part being assembled; `box_name` is its name.
    ends : pair of (str, str)
        Of a coupler: where it takes hold, and what it moves.
    wind : list
        Of every groove its pressure, its box's, the drop below which its flow creeps, the gap under its pallet, and
        the force with which another hand holds its key.
    held : expression
        That force for the train being assembled.
    """

    rider: bool = False
    symbols: Symbols = field(default_factory=Symbols)
    params: dict[Name, Param] = field(default_factory=dict)
    inputs: dict[Name, Param] = field(default_factory=dict)
    outers: dict[Name, Outer] = field(default_factory=dict)
    coordinates: list[Coordinate] = field(default_factory=list)
    states: list[State] = field(default_factory=list)
    state_rates: dict[Expr, Expr] = field(default_factory=dict)
    definitions: list[Definition] = field(default_factory=list)
    kinetic: list[tuple[str, Expr]] = field(default_factory=list)
    potential: list[Expr] = field(default_factory=list)
    elements: list[Element] = field(default_factory=list)
    loads: list[Load] = field(default_factory=list)
    pins: list[Pin] = field(default_factory=list)
    observables: list[Observable] = field(default_factory=list)
    powers: dict[str, list[Expr]] = field(default_factory=dict)
    pin_loads: dict[Name, list[tuple[Expr, tuple[Expr, ...]]]] = field(default_factory=dict)
    outlets: dict[Outlet, Port] = field(default_factory=dict)
    inlets: dict[Outlet, Port] = field(default_factory=dict)
    start: Port | None = None
    valve: Valve | None = None
    waiting: list[Valve] = field(default_factory=list)
    rod: Callable[[Port, Port], None] | None = None
    scope: str = ""
    box: Any = None
    box_name: str = ""
    ends: tuple[Outlet | None, Outlet | None] = (None, None)
    held: Expr = sp.S.Zero
    wind: list[tuple[Expr, ...]] = field(default_factory=list)

    # -- names ---------------------------------------------------------------------------------------
    def _name(self, what: str, body: str = "") -> Name:
        return Name(self.scope, what, body)

    def param(self, what: str, unit: str, doc: str, part: str | None = None, alone: bool = False) -> Expr:
        """A constant of the current part, or of `part`, as a symbol; asking twice gives the same one.

        `alone` spells it without its part as long as no other is spelled so.
        """
        name = Name(self.scope if part is None else part, what)
        if name not in self.params:
            symbol = self.symbols.new(name, what if alone else None)
            self.params[name] = Param(name, symbol, unit, doc if alone else f"{name.part}: {doc}")
        return self.params[name].symbol

    def constant(self, what: str, unit: str, doc: str) -> Expr:
        """A constant that all parts share."""
        return self.param(what, unit, doc, part=SHARED, alone=True)

    def input(self, what: str, unit: str, doc: str) -> Expr:
        """A quantity of the finger that the drive sets."""
        name = Name(SHARED, what)
        if name not in self.inputs:
            self.inputs[name] = Param(name, self.symbols.new(name, what), unit, doc)
        return self.inputs[name].symbol

    def outer(self, what: str, unit: str, doc: str, part: str | None = None) -> Outer:
        """A parameter of the current part (or of `part`) that a drive may change as time goes, with its rate."""
        name = Name(self.scope if part is None else part, what)
        if name not in self.outers:
            self.param(what, unit, doc, part=name.part)
            course, rate = (self.symbols.new(Name(name.part, name.what, body)) for body in ("course", "rate"))
            self.outers[name] = Outer(name, course, rate, unit, doc)
        return self.outers[name]

    def define(self, what: str, expr: Expr, unit: str, doc: str, name: Name | None = None, group: str = "") -> Expr:
        """Name an intermediate expression."""
        name = name or self._name(what)
        symbol = self.symbols.new(name)
        self.definitions.append(Definition(name, symbol, expr, unit, doc, group))
        return symbol

    # -- bodies --------------------------------------------------------------------------------------
    def coordinate(self, unit: str, doc: str, piece: str = "", part: str | None = None, number: int = 0) -> Coordinate:
        """A new degree of freedom of the current part (or of `part`): its only body, or one of several."""
        part = self.scope if part is None else part
        q, v = (self.symbols.new(Name(part, what, piece)) for what in ("q", "v"))
        made = Coordinate(self.symbols.title(part, piece), part, piece, number, unit, q, v, doc)
        self.coordinates.append(made)
        return made

    def inertia(self, coordinate: Coordinate, inertia: Expr) -> None:
        """Kinetic energy of a body about its own coordinate."""
        self.kinetic.append((self.scope, inertia * coordinate.v**2 / 2))

    def point_mass(self, port: Port, mass: Expr) -> None:
        """A mass carried along a port's line (half a rod)."""
        self.kinetic.append((self.scope, mass * port.speed**2 / 2))

    def weight(self, potential: Expr) -> None:
        """Potential energy of gravity."""
        self.potential.append(potential)

    def outlet(self, port: Port, name: str = OUT) -> None:
        """A place from which rods may lead on; the one called `OUT` is where the next rod in the list begins."""
        self.outlets[self.scope, name] = port
        if name == OUT:
            self.start = port

    def lead_from(self, outlet: Outlet) -> None:
        """Begin the next rod at an outlet of an earlier part.

        Raises
        ------
        OutletProblem
            If that part has no outlet of that name.
        """
        if outlet not in self.outlets:
            there = ", ".join(name for part, name in self.outlets if part == outlet[0]) or "none"
            raise OutletProblem(f"{self.scope}: {outlet[0]} has no outlet '{outlet[1]}'; it has {there}")
        self.start = self.outlets[outlet]

    def place(self, where: Outlet) -> Port:
        """Where a rod hooks on: an outlet, or the inlet (called `IN`), of an earlier part.

        Raises
        ------
        OutletProblem
            If that part has none of that name.
        """
        there = {**self.inlets, **self.outlets}
        if where not in there:
            names = ", ".join(name for part, name in there if part == where[0]) or "none"
            raise OutletProblem(f"{self.scope}: {where[0]} has no end '{where[1]}'; it has {names}")
        return there[where]

    def arrive(self, inlet: Port) -> None:
        """Join the waiting rod, if there is one, to the inlet of the next body."""
        if self.rod is None or self.start is None:
            raise ValueError(f"{inlet.name}: a tracker, sticker or pull-down must lead to it")
        self.inlets[self.scope, IN] = inlet
        here, rod, self.rod = self.scope, self.rod, None
        rod(self.start, inlet)
        self.scope = here

    def opens(self, valve: Valve) -> None:
        """A pallet, which waits for its spring and its groove; several that wait feed the next groove together."""
        self.valve = valve
        self.waiting.append(valve)

    def fed(self) -> tuple[Valve, ...]:
        """The pallets that feed the groove being assembled."""
        found, self.waiting = tuple(self.waiting), []
        return found

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
        ends = [*ends, *((one, sign) for port, sign in ends for one in port.shares[1:])]
        shifts = [(sign, port.shift) for port, sign in ends if port.shift is not None]
        stretch = sum((sign * port.travel for port, sign in ends), offset - slack)
        rate = sum((sign * port.gradient * port.coordinate.v for port, sign in ends), drive_rate)
        for sign, shift in shifts:
            stretch, rate = stretch + sign * shift.way, rate + sign * shift.rate
        e = self.define(f"e_{base}" if base else "e", stretch, unit, f"stretch, {doc}")
        de = self.define(f"de_{base}" if base else "de", rate, f"{unit}/s", f"rate of stretch, {doc}")
        f = self.define(f"F_{base}" if base else "F", law.force(e, de), force_unit, f"force, {doc}")
        for port, sign in ends:
            self.loads.append(Load(port.coordinate, -sign * f * port.gradient, "element"))
            if port.pin:
                self.bears(port.pin, f, port.along)
        for sign, shift in shifts:
            self.powers.setdefault(shift.account, []).append(sign * f * shift.rate)
            if shift.hold is not None:
                self.rate(shift.hold, self.state_rates[shift.hold] + sign * f * shift.share)
        self.potential.append(law.energy(e))
        self.powers.setdefault("damping", []).append((f - law.force(e, sp.S.Zero)) * de)
        name = self.symbols.title(self.scope, base, among="element")
        made = Element(name, self.scope, base, kind, unit, tuple(ends), e, de, f, law, doc, slack)
        self.elements.append(made)
        return made

    def load(self, coordinate: Coordinate, expr: Expr, account: str) -> None:
        """A generalised force whose work is booked under `account`."""
        self.loads.append(Load(coordinate, expr, account))
        self.powers.setdefault(account, []).append(expr * coordinate.v)

    def pin(self, name: str, coordinate: Coordinate, weight: Expr = sp.S.Zero) -> Name:
        """A pivot of the current part; its friction is added when all loads on it are known."""
        tau0 = self.param(f"tau0_{name}" if name else "tau0", "N*m", "break-away torque of the unloaded pin")
        lever = self.param(f"c_{name}" if name else "c", "m", "friction coefficient times pin radius")
        key = self._name(name or "pin")
        self.pins.append(Pin(key, spelled(key), coordinate, tau0, lever))
        self.bears(key, weight, (1, 0))
        return key

    def bears(self, pin: Name, force: Expr, along: tuple[Expr, ...]) -> None:
        """A force on a body whose counterpart its pin carries: its direction in the body's plane, and along the pin."""
        self.pin_loads.setdefault(pin, []).append((force, along))

    def state(self, what: str | Name, unit: str, doc: str, kind: str) -> Expr:
        """A first-order state of the current part; `rate` says how it changes."""
        name = what if isinstance(what, Name) else self._name(what)
        symbol = self.symbols.new(name)
        self.states.append(State(name, symbol, unit, doc, kind))
        return symbol

    def impulse(self, what: str, doc: str) -> Expr:
        """A sum of forces of the current part over time, which moves nothing; asking twice gives the same one."""
        name = self._name(what)
        known = next((one.symbol for one in self.states if one.name == name), None)
        if known is not None:
            return known
        symbol = self.state(name, "N*s", doc, "impulse")
        self.rate(symbol, sp.S.Zero)
        return symbol

    def rate(self, state: Expr, rate: Expr) -> None:
        """The rate of a first-order state."""
        self.state_rates[state] = rate

    def dry_friction(self, name: str | Name, port: Port, capacity: Expr, reach: Expr, doc: str) -> Expr:
        """Coulomb friction along a port's travel; of a point that two bodies carry it would be no law of one slip."""
        if port.beside is not None:
            raise ValueError(f"{port.name}: nothing rubs along a point that two bodies carry; take the guides out")
        speed = port.gradient * port.coordinate.v
        slip = self.state(name, "", f"slip state, {doc}", "slip")
        self.rate(slip, slip_rate(slip, speed, reach))
        lag = self.constant("t_slip", "s", "damping of a bushing's give, as its force per rate of slip")
        force = dry_friction(capacity, slip, speed, reach, lag)
        self.loads.append(Load(port.coordinate, -force * port.gradient, "friction"))
        self.powers.setdefault("friction", []).append(force * speed)
        return slip

    def close_pins(self) -> None:
        """Add the friction of every pin, now that the rods on both sides are known."""
        floor = self.constant("N_floor", "N", "load below which the resultant on a pin is rounded off")
        reach = self.constant("phi_slip", "rad", "turn within which a bushing gives before it slips")
        for pin in self.pins:
            loads = self.pin_loads.get(pin.name, [])
            across, beside, endways = (
                sum((force * along[axis] for force, along in loads if axis < len(along)), sp.S.Zero)
                for axis in range(3)
            )
            part, what = pin.name.part, pin.name.what
            load, cap, slip = (Name(part, f"{letter}_{what}") for letter in ("N", "tau", "u"))
            resultant = sp.sqrt(across**2 + beside**2 + endways**2 + floor**2)
            force = self.define("", resultant, "N", f"load on {pin.title}", load, "pin")
            torque = self.define("", pin.tau0 + pin.lever * force, "N*m", f"friction of {pin.title}", cap, "pin")
            turning = Port(pin.title, pin.coordinate, pin.coordinate.q)
            self.dry_friction(slip, turning, torque, reach, pin.title)

    def observe(self, what: str, expr: Expr, unit: str, doc: str) -> None:
        """Record `expr` in every motion; a second of the same kind is named after its part as well."""
        title = self.symbols.title(what, "", "observable", self.scope)
        self.observables.append(Observable(title, expr, unit, doc, self.scope, what))
