"""The shortest train, key > pull-down > pallet, and its equilibria by hand: sizes, levers and moments only."""

from __future__ import annotations

from dataclasses import dataclass
from math import asin, cos, sin, sqrt

from demo_train import LIBRARY, train_of
from scipy.optimize import brentq

from keyaction.sim.motion.note import NoteModel

G = 9.80665
FRONT, ARM, EYE, AT = 0.400, 0.250, 0.165, 0.100
PRESSURE = 70 * G
STIFFNESS = 2e4
"""Of the pull-down with its ends, N/m."""
KEY_PIN, PALLET_PIN = (5e-4, 2e-4), (4e-4, 3e-4)
"""Break-away torque (N m), and friction coefficient times pin radius (m)."""
KEY_WEIGHT, KEY_MOMENT = 0.2 * G, 0.10
"""N, and N m, front-heavy."""
PALLET_MASS = 0.060
SPRING, RATE = 2.6, 20.0

HUNG = (
    (
        "key",
        "key",
        {
            "balance": "tail-hinged",
            "front": FRONT,
            "arm": ARM,
            "dip": 0.0095,
            "inertia": 0.01,
            "balance_moment": KEY_MOMENT,
            "mass": 0.2,
            "rest_felt.material": "key-felt",
            "rest_felt.thickness": 0.004,
            "rest_felt.area": 1.5e-4,
            "bottom_felt.material": "key-felt",
            "bottom_felt.thickness": 0.004,
            "bottom_felt.area": 2e-4,
            "pin.diameter": 0.002,
            "pin.coefficient": KEY_PIN[1] / 0.001,
            "pin.breakaway": KEY_PIN[0],
        },
    ),
    ("pull-down", "wire", {"stiffness": STIFFNESS, "mass": 1e-3, "moves": "level", "damping": 3.0}),
    (
        "pallet",
        "pallet",
        {
            "opening_length": 0.190,
            "opening_width": 0.014,
            "hinge_to_opening": 0.012,
            "sealing_margin": 0.0015,
            "eye": EYE,
            "opens": "down",
            "mass": PALLET_MASS,
            "overlap": 0.003,
            "seat.material": "pallet-felt",
            "seat.thickness": 0.003,
            "seat.area": 1.5e-3,
            "pin.diameter": 0.002,
            "pin.coefficient": PALLET_PIN[1] / 0.001,
            "pin.breakaway": PALLET_PIN[0],
        },
    ),
    ("spring", "spring", {"at": AT, "force": SPRING, "rate": RATE}),
    ("groove", "groove", {"volume": 1e-3, "feet_area": 60e-6, "leak": 2e-6, "gap_flow": 0.61, "feet_flow": 0.6}),
    ("box", "box", {"pressure": PRESSURE, "temperature": 293.15, "humidity": 0.5, "atmosphere": 101325.0}),
)
"""Kind, name and fields in SI units."""

SMOOTH = {f"{part}.pin.{what}": 0.0 for part in ("key", "pallet") for what in ("breakaway", "coefficient")}
"""Overrides that take the friction away."""


def hung(**overrides: object) -> NoteModel:
    """The short train ready to play, with dotted overrides."""
    return NoteModel(train_of(HUNG, **overrides))


@dataclass(frozen=True)
class Hand:
    """The train by hand; `sense` +1 down, -1 up, 0 without friction; `wind` the box pressure, Pa.

    The seat keeps the squeeze that spring and full wind gave it, whatever the wind is now.
    """

    sense: int = 0
    wind: float = PRESSURE
    spring: float = SPRING
    front: float = FRONT
    feet: float = 60e-6

    @property
    def sealed(self) -> float:
        near, far, across = 0.012 - 0.0015, 0.202 + 0.0015, 0.014 + 2 * 0.0015
        return across * (far**2 - near**2) / 2

    @property
    def weight(self) -> float:
        return PALLET_MASS * G * (0.202 + 0.003) / 2

    @property
    def squeeze(self) -> tuple[float, float, float]:
        """Of the seat at rest with full wind (m); its stiffness (N/m^1.5) and place (m)."""
        stiffness = LIBRARY.get("pallet-felt")["stiffness"].value * 1.5e-3 / 0.003**1.5
        place = 2 / 3 * (0.202**3 - 0.012**3) / (0.202**2 - 0.012**2)
        load = AT * self.spring - self.weight + PRESSURE * self.sealed
        return (load / (place * stiffness)) ** (2 / 3), stiffness, place

    @property
    def opens(self) -> float:
        """Turn at which the seat is left, rad."""
        squeeze, _, place = self.squeeze
        return squeeze / place

    def groove(self, turn: float) -> float:
        """Pressure in the groove (Pa): as much flows in by gap and slot as out by toes and leak.

        Flow goes with the root of the drop, and below about 1 Pa with the drop.
        """
        open_by = max(turn - self.opens, 0.0)
        gap = open_by * (0.014 * 0.202 + 0.014 * 0.012 + 0.202**2 - 0.012**2)
        slot = 0.190 * 0.014
        inlet, outlet = 0.61 * gap * slot / sqrt(gap**2 + slot**2), 0.6 * (self.feet + 2e-6)
        return brentq(lambda p: inlet * creeping(self.wind - p) - outlet * creeping(p), 0.0, self.wind, xtol=1e-12)

    def closing(self, turn: float) -> float:
        """Moment that closes the pallet, N m: wind, spring, less weight and seat."""
        squeeze, stiffness, place = self.squeeze
        seat = place * stiffness * max(squeeze - place * turn, 0.0) ** 1.5
        wind = (self.wind - self.groove(turn)) * self.sealed
        return wind + AT * self.spring + RATE * AT**2 * turn - self.weight * cos(turn) - seat

    def shutting(self, turn: float) -> float:
        """Force that closes the pallet, N: wind, spring, less weight and seat."""
        squeeze, stiffness, place = self.squeeze
        seat = stiffness * max(squeeze - place * turn, 0.0) ** 1.5
        wind = (self.wind - self.groove(turn)) * (0.014 + 2 * 0.0015) * (0.190 + 2 * 0.0015)
        return wind + self.spring + RATE * AT * turn - PALLET_MASS * G - seat

    def pull(self, turn: float) -> float:
        """Of the pull-down, N, with the friction of the pallet's pin, which carries what the pull leaves over."""
        closing, shutting, (unloaded, rubs) = self.closing(turn), self.shutting(turn), PALLET_PIN
        return fixed(lambda t: (closing + self.sense * (unloaded + rubs * abs(shutting - t))) / (EYE * cos(turn)))

    def key(self, turn: float) -> tuple[float, float]:
        """Force (N) and way (m) at the front with the pallet turned by `turn`."""
        pull = self.pull(turn)
        way = asin((EYE * sin(turn) + pull / STIFFNESS) / ARM)
        load = pull * ARM * cos(way) - KEY_MOMENT * cos(way)
        force = fixed(
            lambda f: (
                (load + self.sense * (KEY_PIN[0] + KEY_PIN[1] * abs(f - pull + KEY_WEIGHT))) / (self.front * cos(way))
            )
        )
        return force, self.front * sin(way)


def creeping(drop: float) -> float:
    """Root of a pressure drop, linear far below 1 Pa."""
    return drop / (drop**2 + 1.0) ** 0.25


def fixed(equation, force: float = 1.0) -> float:
    """Fixed point of force = equation(force)."""
    for _ in range(60):
        force = equation(force)
    return force
