"""Motions made by hand, whose figures are known, in the shape that `Record` reads."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from keyaction.models.algebra.names import FINGER
from keyaction.models.parts.side import PIECE
from keyaction.sim.code.layout import Body, Recorded
from keyaction.sim.figures.record import Record
from keyaction.sim.figures.repetition import Repetition
from keyaction.sim.motion import drives
from keyaction.sim.motion.drives import Drive
from keyaction.sim.motion.sounders import Sounder
from keyaction.sim.statics.kinematics import Link
from keyaction.sim.statics.press import Course, StaticPress

STEP = 1e-4


class Played:
    """A motion: columns by name on a grid of instants."""

    def __init__(self, drive: Drive, columns):
        self.drive = drive
        self.t = np.linspace(0.0, drive.end, round(drive.end / STEP) + 1)
        self.columns = {name: np.broadcast_to(make(self.t), self.t.shape) for name, make in columns.items()}
        self.y = np.zeros((len(self.t), 2))
        self.status = SimpleNamespace(ok=True, method="by hand")
        self.kernel = SimpleNamespace(bodies=(WHIPPING,), states=("q_rod-side", "v_rod-side"), elements=SLAPS)

    def __getitem__(self, name):
        return self.columns[name]


WHIPPING = Body("rod-side", "rod", PIECE, 0, "m")
SLAPS = tuple(Recorded(f"rod-{place}", "rod", place, "felt", "m") for place in ("slap", "slap_back"))


class Way(Course):
    """Equilibria along the key's way: columns by name, made from the travel from rest."""

    def __init__(self, sense, travel, columns):
        balance, n = SimpleNamespace(bottom="stretch_key-bottom", pad="stretch_finger", stiffness=2e4), len(travel)
        super().__init__(balance, sense, REST, travel.copy(), np.zeros((n, 2)), np.zeros((n, 0)), np.zeros(n))
        object.__setattr__(self, "columns", {
            name: np.broadcast_to(make(travel), travel.shape) for name, make in columns.items()
        })  # fmt: skip

    def __getitem__(self, name):
        return self.columns[name]


class HandPress(StaticPress):
    """A press of the one pallet there is, with no further stage."""

    sounders = (
        Sounder("pallet", "spring", "groove", "box", "seat_gap", "pallet_lift", "groove_pressure", 700.0, 1e-4),
    )

    @property
    def last_stage(self):
        return self.last_pluck


# The slow press by hand, SI units: from rest to where the bottom felt gives the dip force, and back.
DIP = 0.010  # where the key meets the bottom felt
GAP_AT = 0.002  # where the pallet leaves its seat
SLACK = 0.0005  # where the rod begins to pull
FRICTION = 0.1
PLUCK, FOLLOW = 1.6, 0.9
BOTTOM = 8000.0  # N/m of the bottom felt
BOX = 700.0
LIFT = 0.006
REST = 0.003  # where the key rests: travels count from there


def force_of(way):
    """Down: rises to PLUCK at the gap, falls within 0.5 mm to FOLLOW, stays, and rises on the felt."""
    curve = np.interp(way, [0.0, SLACK, GAP_AT, GAP_AT + 5e-4, DIP], [0.2, 0.2, PLUCK, FOLLOW, FOLLOW])
    return curve + BOTTOM * np.maximum(0.0, way - DIP)


def force_back(way):
    """Up: the curve without its pluck, less friction both ways."""
    return np.minimum(force_of(way), FOLLOW + BOTTOM * np.maximum(0.0, way - DIP)) - 2 * FRICTION


END = DIP + (5.0 - FOLLOW) / BOTTOM
"""Where the felt gives the dip force of 5 N."""


def slow_columns():
    return {
        "key_travel": lambda way: REST + way,
        "key_force": force_of,
        "seat_gap": lambda way: way - GAP_AT,
        "stretch_key-bottom": lambda way: way - DIP,
        "force_wire": lambda way: 0.05 + 900.0 * np.maximum(0.0, way - SLACK),
        "energy": lambda way: 0.01 + 0.4 * way + 3.0 * way**2,
        "stretch_finger": lambda way: 1e-4 + 0.01 * way,
        "pallet_lift": lambda way: 0.001 + np.minimum(way / DIP, 1.0) * (LIFT + GAP_AT),
        "groove_pressure": lambda way: 0.97 * BOX * (way > GAP_AT),
    }


def ways(slow, end):
    """The press down and up, with columns replaced; every kink of the usual ones is a place of its own."""
    axis = np.unique(np.concatenate([np.linspace(0.0, end, 2001), [SLACK, GAP_AT, GAP_AT + 5e-4, DIP, end]]))
    columns = slow_columns() | (slow or {})
    back = columns | {"key_force": force_back}
    return HandPress(Way(1, axis, columns), Way(-1, axis[::-1], back))


# The standard stroke by hand: key travel rises evenly through 1 mm at 2 ms, and so on.
def stroke_drive():
    return drives.stroke(0.04, 0.15, 0.04, 0.011)


def filling(t):
    """Groove: empty until 5 ms, then 10 % of the box pressure each millisecond; empties from 200 ms, 20 % each."""
    up = np.clip((t - 0.005) / 0.010, 0.0, 1.0)
    down = np.clip((t - 0.200) / 0.005, 0.0, 1.0)
    return BOX * (up - down)


def gap(t):
    """Opens at 1 m/s from 4 ms to 6 mm, shuts by 230 ms; then opens twice more: once by 0.2 mm, once by 0.02 mm."""
    whole = np.clip((t - 0.004) * 1.0, -1e-4, LIFT) - np.clip((t - 0.220) * 1.0, 0.0, LIFT + 1e-4)
    again = 3e-4 * np.maximum(0.0, 1 - np.abs(t - 0.250) / 0.005)
    little = 1.2e-4 * np.maximum(0.0, 1 - np.abs(t - 0.280) / 0.005)
    return whole + again + little


def side(t):
    """A rod that goes 1 mm to one side and lies on the comb, 3 mm to the other by 20 ms, and back."""
    return 1e-3 - 4e-3 * np.maximum(0.0, 1 - np.abs(t - 0.020) / 0.010) + 2e-3 * np.maximum(0.0, 1 - t / 0.005)


def stroke_columns():
    return {
        "q_rod-side": side,
        "v_rod-side": lambda t: np.gradient(side(t), t),
        "stretch_rod-slap": lambda t: side(t) - 0.5e-3,
        "stretch_rod-slap_back": lambda t: -side(t) - 2e-3,
        "key_travel": lambda t: REST + np.minimum(0.5 * t, DIP),
        "key_force": lambda t: 3.0 - ((t - 0.025) / 0.010) ** 2,
        "groove_pressure": filling,
        "seat_gap": gap,
        "pallet_lift": lambda t: 0.001 + np.maximum(0.0, 0.0075 - 40.0 * (t - 0.03) ** 2),
    }


DERIVED = {"box": {"p_box": BOX}, "pallet": {"closing_no_wind": 1.1}}


def part(name, **derived):
    figures = {key: SimpleNamespace(value=value) for key, value in derived.items()}
    return SimpleNamespace(name=name, values=SimpleNamespace(derived=figures))


def hand_made(slow=None, stroke=None, rods=("wire",), waves=(2e-4, 3e-4), **more) -> Record:
    """A record of motions made by hand; columns of the press and stroke may be replaced."""
    parts = [part("key"), *(part(f"rod-{i}", wave_time=wave) for i, wave in enumerate(waves))]
    train = SimpleNamespace(
        parts=parts,
        key=parts[0],
        box_pressure=more.get("box", DERIVED["box"])["p_box"],
        structure=("by", "hand"),
        role=lambda role: part(role, **{**DERIVED[role], **more.get(role, {})}),
    )
    model = SimpleNamespace(train=train, parameters=lambda: np.zeros(1))
    strokes = SimpleNamespace(dip_force=5.0)
    press = ways(slow, more.get("end", END))
    standard = Played(stroke_drive(), stroke_columns() | (stroke or {}))
    record = Record(model, strokes, press, standard, {}, Repetition(11.3, "not full", 9))
    links = tuple(Link(Recorded(rod, rod, "", "rod", "m"), 0, 1) for rod in rods)
    elements = {("key", "bottom"): Recorded("key-bottom", "key", "bottom", "felt", "m")}
    elements[FINGER, ""] = Recorded("finger", FINGER, "", "finger", "m")
    record.__dict__["kinematics"] = SimpleNamespace(
        links=links,
        to=lambda part: tuple(range(len(links))),  # noqa: ARG005
        layout=SimpleNamespace(element=lambda owner, place="": elements[owner, place]),
        coordinates=("key", "pallet"),
        effective_masses=lambda q, p: {"key": 0.04, "rod-1": 0.01, "groove": 0.005},  # noqa: ARG005
    )
    record.__dict__["modes"] = SimpleNamespace(frequencies=np.array([25.0, 90.0]))
    return record
