"""A single train by hand, from the text of its case: moment balance at every pin, from the pallet to the key.

It reads the file by itself, knows nothing of the program's equations, and takes only what materials publish from it.
A rod acts on an arm in the direction in which it moves; `sense` is +1 on the way down, -1 up, 0 without friction.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from importlib.resources import files
from math import asin, cos, hypot, pi, sin, tan
from typing import Any

from beams import deflections, pulled_board
from demo_train import LIBRARY
from scipy.optimize import brentq

G = 9.80665
UNITS = {
    "mm": 1e-3, "in": 0.0254, "mm^2": 1e-6, "g": 1e-3, "N": 1.0, "N/m": 1.0, "N*mm": 1e-3, "deg": pi / 180,
    "mmH2O": G, "inH2O": 249.08891,
}  # fmt: skip
MOVES = {"up": (0.0, 1.0), "down": (0.0, -1.0), "level": (1.0, 0.0)}
HELPS = {"up": -1.0, "level": 0.0, "down": 1.0}
# What the cases leave to the program, all of it common practice: ends of rods (N/m), their fittings (kg), and pins
# (diameter in m, break-away in N m, pair of surfaces).
ENDS = {"tracker": 4e4, "sticker": 4e4, "pull-down": 6e4}
FITTING = 0.0005
PINS = {
    "key": (0.0025, 5e-4, "cloth-on-pin"),
    "square": (0.002, 2e-4, "cloth-on-pin"),
    "backfall": (0.002, 2e-4, "cloth-on-pin"),
    "roller": (0.003, 3e-4, "cloth-on-pin"),
    "pallet": (0.002, 5e-4, "leather-on-pin"),
}
LEAK, GAP_FLOW, FEET_FLOW = 2e-6, 0.61, 0.6
DIP_FORCE = 5.0

KINDS = (
    "direct-pin", "sticker-backfall", "square-rails", "hung-rollers", "hung-beam", "fan-trackers", "mixed-bass",
    "mixed-treble", "wire-rollers", "torsion-bar", "english-1882", "classical-french",
)  # fmt: skip
"""The cases, in the order of the README."""


def size(text: str) -> float:
    """``"7 1/2 in"`` in SI units."""
    number, unit = re.fullmatch(r"([-\d./ ]*\d) *(\D.*)", text).groups()
    return float(sum(Fraction(piece) for piece in number.split())) * UNITS[unit]


def read(value: Any, note: str) -> Any:
    """A value at a note; of control points only one that the file itself has."""
    if isinstance(value, dict):
        if "layout" in value:
            return None
        return read(value[note], note) if "between" in value else {key: read(one, note) for key, one in value.items()}
    if isinstance(value, list):
        return [read(one, note) for one in value]
    return size(value) if isinstance(value, str) and re.match(r"-?\d", value) else value


def text_of(name: str) -> dict[str, Any]:
    """A shipped case as TOML gives it."""
    return tomllib.loads(files("keyaction.cases").joinpath(f"kinds/{name}.toml").read_text(encoding="utf-8"))


def train_of(name: str, note: str, given: Mapping[str, Mapping[str, float]]) -> list[dict[str, Any]]:
    """The parts of a shipped case at a note; `given` is what its layout gives, by part (`_` for `-`)."""
    skipped = ("temperature", "humidity", "atmosphere")
    parts = []
    for row in text_of(name)["train"]:
        known = row.get("name", row["part"]).replace("-", "_")
        kept = {key: one for key, one in row.items() if key not in skipped}
        parts.append(read(kept, note) | given.get(known, {}) | {"kind": row["part"]})
    return parts


def of(material: str, what: str) -> float:
    return LIBRARY.get(material)[what].value


def along(material: str) -> float:
    """Modulus along the grain: a wood's is 1.10 times that of a bending test (Wood Handbook, FPL-GTR-190, ch. 5)."""
    return of(material, "E") * (1.10 if LIBRARY.get(material).kind == "wood" else 1.0)


def fixed(equation: Callable[[float], float], start: float = 0.0) -> float:
    """Fixed point of force = equation(force): friction depends on the force that it adds to."""
    force = start
    for _ in range(80):
        force = equation(force)
    return force


def felt(table: Mapping[str, Any]) -> float:
    """N/m^1.5."""
    return of(table["material"], "stiffness") * table["area"] / table["thickness"] ** 1.5


@dataclass(frozen=True)
class Bar:
    """A cross-section: area (m2), second moment in the plane in which it bends, torsion constant (m4), shear factor."""

    area: float
    second: float
    torsion: float
    factor: float = 5 / 6

    def stiffness(self, material: str) -> tuple[float, float]:
        return along(material) * self.second, of(material, "G") * self.area * self.factor


def rectangle(breadth: float, deep: float) -> Bar:
    # Saint-Venant's J of a square, 0.14058 a^4; no other rectangle is twisted here.
    return Bar(breadth * deep, breadth * deep**3 / 12, 0.1405770 * deep**4)


def bar_of(part: Mapping[str, Any]) -> Bar:
    shape = part["section"]
    if shape == "round":
        d = part["diameter"]
        return Bar(pi * d**2 / 4, pi * d**4 / 64, pi * d**4 / 32, 9 / 10)
    return rectangle(part["thickness"], part["width"]) if shape == "rectangle" else rectangle(*[part["width"]] * 2)


def cantilever(long: float, bar: Bar, material: str) -> float:
    return deflections([0.0, long], *bar.stiffness(material), (0,), {1: 1.0}, (0,))[1]


class Rod:
    """A rod with its fittings, and what gives in series with it (m/N)."""

    def __init__(self, part: Mapping[str, Any], hooks: float) -> None:
        bar, material = bar_of(part), part["material"]
        self.weight = (of(material, "density") * bar.area * part["length"] + 2 * FITTING) * G * HELPS[part["moves"]]
        slant = part.get("splay") or 0.0  # a travel u stretches it by u cos, and cos of its pull is in the line of u
        gives = (part["length"] / (along(material) * bar.area) + 2 / ENDS[part["kind"]]) / cos(slant) ** 2
        self.stiffness = 1 / (gives + hooks)
        self.moves = MOVES[part["moves"]]
        self.slack = part.get("lost_motion", 0.0)
        # Guides hold both ends against the side pull.
        self.rubs = 2 * tan(slant) * part["guides"]["coefficient"] if "guides" in part else 0.0

    def carries(self, load: Callable[[float], float], sense: int) -> float:
        """Its force, N, of the load at the arm that it moves, which may hang on that force; half of it weighs there."""
        return fixed(lambda t: load(t) - self.weight / 2 + sense * self.rubs * abs(t))


class Pin:
    """Break-away torque and friction coefficient times radius of a part's pin."""

    def __init__(self, part: Mapping[str, Any]) -> None:
        diameter, self.unloaded, pair = PINS[part["kind"]]
        given = part.get("pin", {})
        diameter, self.unloaded = given.get("diameter", diameter), given.get("breakaway", self.unloaded)
        pair = given.get("friction", pair)
        self.c = given.get("coefficient", of(pair, "coefficient")) * diameter / 2

    def torque(self, load: float) -> float:
        return self.unloaded + self.c * load


@dataclass(frozen=True)
class Hand:
    """One note of a case by hand."""

    parts: tuple[Mapping[str, Any], ...]
    sense: int = 1

    def part(self, kind: str) -> Mapping[str, Any]:
        return next(part for part in self.parts if part["kind"] == kind)

    @cached_property
    def run(self) -> list[Mapping[str, Any]]:
        """Key, rods and levers."""
        return [part for part in self.parts if part["kind"] in (*ENDS, *PINS)]

    @cached_property
    def ratios(self) -> list[float]:
        """Way of every rod per way of the key's front, by arms alone; the last one's is the eye's."""
        key, *levers = self.run[:-1:2]
        found = [key["arm"] / key["front"]]
        for lever in levers:
            found.append(found[-1] * lever["out_arm"] / lever["in_arm"])
        return found

    def envelope(self) -> float:
        """Pluck (N) on the back of an envelope: arms square, no friction; what closes the pallet, and what weighs."""
        closing = self.wind * self.sealed[1] + self.spring[0] - self.weight[1]
        rods = sum(rod.weight * ratio for rod, ratio in zip(self.rods, self.ratios, strict=True))
        key = self.part("key")
        return closing / self.part("pallet")["eye"] * self.ratios[-1] - rods - _stick(key)[0] / key["front"]

    # -- the pallet ------------------------------------------------------------------------------------------
    @cached_property
    def far(self) -> float:
        """From the hinge to the far end of the opening, m."""
        return self.part("pallet")["hinge_to_opening"] + self.part("pallet")["opening_length"]

    @cached_property
    def sealed(self) -> tuple[float, float]:
        """Area that the wind presses on (m2) and its moment about the hinge (m3)."""
        pallet = self.part("pallet")
        m = pallet["sealing_margin"]
        near, far = max(pallet["hinge_to_opening"] - m, 0.0), self.far + m
        across = pallet["opening_width"] + 2 * m
        return across * (far - near), across * (far**2 - near**2) / 2

    @cached_property
    def weight(self) -> tuple[float, float]:
        """Of the pallet, N, and its moment about the hinge, N m; all of them open downwards."""
        pallet = self.part("pallet")
        over = pallet.get("overlap", 0.003)
        whole = self.far + over
        volume = pallet["thickness"] * (pallet["opening_width"] + 2 * over) * whole
        weight = of(pallet["material"], "density") * volume * G
        return weight, weight * whole / 2

    @cached_property
    def spring(self) -> tuple[float, float, float]:
        """Moment on the shut pallet (N m), its rise per turn (N m), and the force that bears on the hinge (N)."""
        spring = self.part("spring")
        at = spring["at"]
        if bar := spring.get("bar"):
            k = of(bar["material"], "G") * pi * bar["diameter"] ** 4 / 32 / bar["length"]
            return k * bar["set"], k, 0.0  # in the hinge's axis: a couple
        if wire := spring.get("wire"):
            bending = of(wire["material"], "E") * pi * wire["diameter"] ** 4 / 64
            coil = pi * wire["coil_diameter"] * wire["turns"]
            rate = bending / (wire["arm"] ** 2 * coil + 2 * wire["arm"] ** 3 / 3)
            force = rate * (wire["free_gape"] - wire["closed_gape"])
        else:
            rate, force = spring["rate"], spring["force"]
        return force * at, rate * at**2, force

    @cached_property
    def seat(self) -> tuple[float, float]:
        """Its stiffness (N/m^1.5), and the place of its resultant, m."""
        near = self.part("pallet")["hinge_to_opening"]
        return felt(self.part("pallet")["seat"]), 2 / 3 * (self.far**3 - near**3) / (self.far**2 - near**2)

    @property
    def wind(self) -> float:
        return self.part("box")["pressure"]

    @cached_property
    def opens(self) -> float:
        """Turn at which the seat is left, rad: the seat carries wind, spring and weight."""
        stiffness, place = self.seat
        load = self.wind * self.sealed[1] + self.spring[0] - self.weight[1]
        return (load / (place * stiffness)) ** (2 / 3) / place

    @property
    def feet(self) -> float:
        return sum(stop["area"] for stop in self.part("groove")["stops"] if stop["drawn"])

    def opening(self, turn: float) -> float:
        """Free opening at a turn beyond the seat, m2: front, rear and two sides."""
        pallet = self.part("pallet")
        near, w = pallet["hinge_to_opening"], pallet["opening_width"]
        return turn * (w * self.far + w * near + self.far**2 - near**2)

    def groove(self, turn: float) -> float:
        """Pressure in the groove: as much flows in as out, flow going with the root of the drop."""
        gap = self.opening(max(turn - self.opens, 0.0))
        slot = self.part("pallet")["opening_length"] * self.part("pallet")["opening_width"]
        r = GAP_FLOW * gap * slot / hypot(gap, slot) / (FEET_FLOW * (self.feet + LEAK))
        return self.wind * r**2 / (1 + r**2)

    def pull(self, turn: float) -> float:
        """Force of the last rod, N."""
        pallet, pin = self.part("pallet"), Pin(self.part("pallet"))
        stiffness, place = self.seat
        seated = stiffness * max(place * (self.opens - turn), 0.0) ** 1.5
        left = self.wind - self.groove(turn)
        moment, rise, force = self.spring
        closing = left * self.sealed[1] + moment + rise * turn - self.weight[1] * cos(turn) - seated * place
        if force:
            force += rise * turn / self.part("spring")["at"]
        shutting = left * self.sealed[0] + force - self.weight[0] - seated
        arm = pallet["eye"] * cos(turn)
        return self.rods[-1].carries(lambda t: (closing + self.sense * pin.torque(abs(shutting - t))) / arm, self.sense)

    # -- the run ---------------------------------------------------------------------------------------------
    @cached_property
    def rods(self) -> list[Rod]:
        run = self.run
        return [
            Rod(run[i], self._give(run[i - 1], "out") + self._give(run[i + 1], "in")) for i in range(1, len(run), 2)
        ]

    def _give(self, part: Mapping[str, Any], end: str) -> float:
        """How far a part bends where a rod hooks on, m/N."""
        kind = part["kind"]
        if kind == "key":
            return self._key_gives(part)
        if kind == "pallet":
            over, deep = part.get("overlap", 0.003), part["thickness"]
            bar = rectangle(part["opening_width"] + 2 * over, deep)
            return pulled_board(self.far + over, part["eye"], *bar.stiffness(part["material"]))
        if kind != "roller":
            return cantilever(part[f"{end}_arm"], rectangle(part["thickness"], part["width"]), part["material"])
        shaft = bar_of(part)
        beside = part.get("pin_to_arm", 0.015)
        places = [0.0, beside, part["length"] + 2 * beside]
        bends = deflections(places, *shaft.stiffness(part["material"]), (0, 2), {1: 1.0})[1]
        if part.get("arms") == "bent":
            return bends + cantilever(part[f"{end}_arm"], shaft, part["material"])
        arm = rectangle(part["arm_thickness"], part["arm_width"])
        return bends + cantilever(part[f"{end}_arm"], arm, part["arm_material"])

    @staticmethod
    def _key_gives(part: Mapping[str, Any]) -> float:
        """On its pin and the finger: beyond the pin (balanced), or between them (hung)."""
        bar = rectangle(part["width"], part["height"]).stiffness(part["material"])
        arm, front = part["arm"], part["front"]
        if part["balance"] == "balanced":
            return deflections([0.0, front, front + arm], *bar, (0, 1), {2: 1.0})[2]
        return deflections([0.0, arm, front], *bar, (0, 2), {1: 1.0})[1]

    def key(self, turn: float) -> tuple[float, float]:
        """Force (N) and way (m) at the key's front with the pallet turned by `turn`; no felt of the key."""
        run, pull, way = self.run, self.pull(turn), self.part("pallet")["eye"] * sin(turn)
        for i in range(len(run) - 2, 1, -2):
            rod, before = self.rods[i // 2], self.rods[i // 2 - 1]
            pull, way = self._lever(run[i - 1], pull, rod, before, way + pull / rod.stiffness + rod.slack)
        rod = self.rods[0]
        return self._front(run[0], pull, rod, way + pull / rod.stiffness + rod.slack)

    def _lever(self, part: Mapping[str, Any], pull: float, rod: Rod, before: Rod, way: float) -> tuple[float, float]:
        """Force of the rod at the in arm and way of that arm, of those at the out arm."""
        pin, arm = Pin(part), part["out_arm"]
        turn = asin(way / arm)
        moment, weight = (pull - rod.weight / 2) * arm * cos(turn), self._lever_weight(part)
        others: tuple[Any, ...] = ((-pull, rod.moves),)
        if part["kind"] == "roller":  # each end on a pin of its own, with half of the weight
            weight /= 2
            moment += self.sense * pin.torque(_resultant(weight, *others))
            turn += moment * part["length"] / (of(part["material"], "G") * bar_of(part).torsion)
            others = ()
        arm = part["in_arm"] * cos(turn)
        found = before.carries(
            lambda t: (moment + self.sense * pin.torque(_resultant(weight, (t, before.moves), *others))) / arm,
            self.sense,
        )
        return found, part["in_arm"] * sin(turn)

    @staticmethod
    def _lever_weight(part: Mapping[str, Any]) -> float:
        arms = part["in_arm"] + part["out_arm"]
        if part["kind"] != "roller":
            return of(part["material"], "density") * part["width"] * part["thickness"] * arms * G
        bar = bar_of(part)
        if part.get("arms") == "bent":
            return of(part["material"], "density") * bar.area * (part["length"] + arms) * G
        own = of(part["arm_material"], "density") * part["arm_width"] * part["arm_thickness"] * arms
        return (of(part["material"], "density") * bar.area * part["length"] + own) * G

    def _front(self, key: Mapping[str, Any], pull: float, rod: Rod, way: float) -> tuple[float, float]:
        turn, pin = asin(way / key["arm"]), Pin(key)
        moment, weight = _stick(key)
        load = ((pull - rod.weight / 2) * key["arm"] - moment) * cos(turn)
        bears = pull if key["balance"] == "balanced" else -pull
        reach = key["front"] * cos(turn)
        force = fixed(lambda p: (load + self.sense * pin.torque(abs(p + bears + weight))) / reach)
        return force, key["front"] * sin(turn)

    # -- what is asked of it ---------------------------------------------------------------------------------
    def rest(self) -> float:
        """Way of a hung key from where the drawing has it to where spring and wind carry it, m."""
        smooth = Hand(self.parts, 0)
        turn = brentq(lambda q: smooth.key(q)[0], -self.opens, self.opens, xtol=1e-12)
        return smooth.key(turn)[1]

    def pluck(self) -> tuple[float, float]:
        """Force (N) and way from the drawing (m) at which the pallet leaves its seat."""
        return self.key(self.opens)

    def bottom(self) -> tuple[float, float]:
        """Key's way from the drawing, and lift of the eye off its seat (m), as 5 N press the key into its felt."""
        key = self.part("key")
        stiffness = felt(key["bottom_felt"])

        def over(turn: float) -> float:
            force, way = self.key(turn)
            return force + stiffness * max(way - key["dip"], 0.0) ** 1.5 - DIP_FORCE

        most = 2 * key["dip"] * self.ratios[-1] / self.part("pallet")["eye"]
        turn = brentq(over, self.opens, most, xtol=1e-12)
        return self.key(turn)[1], self.part("pallet")["eye"] * (sin(turn) - sin(self.opens))


def _stick(key: Mapping[str, Any]) -> tuple[float, float]:
    """Moment (N m, front-heavy positive) and weight (N) of a key and its leads."""
    front, tail = key["stick_front"], key["stick_tail"]
    stick = of(key["material"], "density") * key["width"] * key["height"] * (front + tail)
    leads = [(lead["mass"], lead["at"]) for lead in key.get("leads", ())]
    moment = stick * (front - tail) / 2 + sum(mass * at for mass, at in leads)
    return moment * G, (stick + sum(mass for mass, _ in leads)) * G


def _resultant(weight: float, *forces: tuple[float, tuple[float, float]]) -> float:
    """Load on a pin, N: forces along the ways of their rods, and a weight downwards."""
    return hypot(sum(force * way[0] for force, way in forces), sum(force * way[1] for force, way in forces) - weight)
