"""Runs to trace: a key, levers, a pallet, and the rods between them."""

from __future__ import annotations

import math

from hypothesis import strategies as st
from scipy.optimize import brentq

from keyaction.models.instrument.trace import Rod, Station

ARM = st.floats(0.02, 0.12)
SIDES = st.sampled_from(["left", "right", ""])


def key(eye=(0.45, 0.0), kind="key", arm=0.2, front=0.23):
    """A key with its eye there."""
    back = arm if kind == "key" else -arm
    return Station("key", kind, (eye[0] - back, eye[1]), front, arm)


def lever(name, axis, arms=(0.05, 0.05), kind="square", side=""):
    return Station(name, kind, axis, *arms, side)


def pallet(eye, hinge=0.2, side=""):
    return Station("pallet", "pallet", eye, hinge, None, side)


def rods(*words):
    """Rods by name; those that push have a `+` before it."""
    return tuple(Rod(word.lstrip("+"), "sticker" if word[0] == "+" else "tracker", word[0] == "+") for word in words)


SQUARES = (key(), lever("lower", (0.5, -0.6)), lever("upper", (2.3, -0.6)), pallet((2.35, 0.6)))
"""Balanced key, 600 mm down, 1800 mm level, 1200 mm up."""
THREE = rods("riser", "level", "drop")


@st.composite
def random_runs(draw, least=0, splayed=False):
    """Stations, rods, sides of a run whose axes stand at random, and a lever's or rod's name if it is splayed."""
    count, kind = draw(st.integers(least, 4)), draw(st.sampled_from(["key", "key-hung"]))
    words = [draw(st.sampled_from(["", "+"])) + f"rod{i}" for i in range(count + 1)]
    upwards = (kind == "key") == (words[0][0] == "+")
    at, stations = (0.0, 0.0), [key((0.0, 0.0), kind)]
    for i in range(count + 1):
        # The first rod leads about the way that the key's eye goes, or straight away from it.
        away = (math.pi if i else 0.5) * draw(st.floats(-1.0, 1.0))
        angle, far = away + (math.pi / 2 if upwards else -math.pi / 2), draw(st.floats(0.3, 1.5))
        at = (at[0] + far * math.cos(angle), at[1] + far * math.sin(angle))
        if i < count:
            stations.append(lever(f"lever{i}", at, (draw(ARM), draw(ARM)), side=draw(SIDES)))
    stations.append(pallet(at, draw(ARM)))
    names = [word.lstrip("+") for word in words] + [one.part for one in stations[1:-1]]
    return tuple(stations), rods(*words), draw(st.sampled_from(names)) if splayed else ""


def turned(point, axis, angle):
    """A point after a turn about an axis that lies across."""
    back, up = point[1] - axis[1], point[2] - axis[2]
    c, s = math.cos(angle), math.sin(angle)
    return point[0], axis[1] + c * back - s * up, axis[2] + s * back + c * up


def played(path, angle):
    """Turns of key, levers and pallet (rad) when the key is turned by `angle`, every rod keeping its length."""
    turns = [angle]
    for leg, before, behind in zip(path.legs, path.turns, path.turns[1:], strict=False):
        start = turned(leg.start, before.far, turns[-1])

        def stretch(t, leg=leg, start=start, axis=behind.near):
            return math.dist(start, turned(leg.end, axis, t)) - leg.length

        turns.append(brentq(stretch, -0.2, 0.2, xtol=1e-15, rtol=1e-14))
    return turns
