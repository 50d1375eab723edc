"""Linkages of public sets of benchmark problems, their equations derived by the program."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache

import numpy as np
import sympy as sp

from keyaction.models.algebra.lagrange import accelerations, lagrange
from keyaction.sim.code.kernel import Floats
from keyaction.sim.published.loops import TIME, Expr, Loop, close, speeds
from keyaction.sim.published.observation import Near, Observation, Source

LINKAGES = "Linkages, by the program's derivation"

SEVEN = Source("Test Set for IVP Solvers (Bari, CWI), Andrews' squeezing mechanism: seven bodies at 0.03 s", "read")
CAR = Source("Test Set for IVP Solvers (Bari, CWI), car axis at 3 s", "read")
CRANK = Source("B. Simeon, Math. Modelling of Systems 2 (1996) 1-18, slider crank at 0.1 s, in the Test Set for IVP "
               "Solvers; its rod gives by about 1e-5, ours is rigid", "read")  # fmt: skip
FOUR_BAR = Source("A test of a public library of symbolic mechanics: four bars of 0.13, 0.24, 0.21 and 0.34 m, "
                  "997 kg/m; accelerations from its published mass and forcing", "derived")  # fmt: skip
DISC = Source("A test of the same library: a disc rolls down a slope at 2/3 of g sin(alpha)", "read")

SIZES = {
    "m1": 0.04325, "m2": 0.00365, "m3": 0.02373, "m4": 0.00706, "m5": 0.07050, "m6": 0.00706, "m7": 0.05498,
    "I1": 2.194e-6, "I2": 4.410e-7, "I3": 5.255e-6, "I4": 5.667e-7, "I5": 1.169e-5, "I6": 5.667e-7, "I7": 1.912e-5,
    "xa": -0.06934, "ya": -0.00227, "xb": -0.03635, "yb": 0.03273, "xc": 0.014, "yc": 0.072, "c0": 4530.0,
    "l0": 0.07785, "d": 0.028, "da": 0.0115, "e": 0.02, "ea": 0.01421, "rr": 0.007, "ra": 0.00092, "ss": 0.035,
    "sa": 0.01874, "sb": 0.01043, "sc": 0.018, "sd": 0.02, "ta": 0.02308, "tb": 0.00916, "u": 0.04, "ua": 0.01228,
    "ub": 0.00449, "zf": 0.02, "zt": 0.04, "fa": 0.01421, "drive": 0.033,
}  # fmt: skip
"""kg, kg·m², m, N/m and N·m, as the test set gives them."""
BEGUN = (-0.0617138900142764496, 0.0, 0.455279819163070380, 0.222668390165885885, 0.487364979543842550,
         -0.222668390165885885, 1.23054744454982119)  # fmt: skip
ANGLES = (("beta", 15.81077119629904), ("Theta", -15.75637105984298), ("gamma", 0.04082224013073101),
          ("Phi", -0.5347301163226948), ("delta", 0.5244099658805304), ("Omega", 0.5347301163226948),
          ("epsilon", 1.048080741042263))  # fmt: skip
TURNING = (1139.920302151208, -1424.379294994111, 11.03291221937134, 19.29337464421385, 0.5735699284790808,
           -19.29337464421385, 0.3231791658026955)  # fmt: skip
MULTIPLIERS = (199.1753333731910, -29.75531228015052, 23.06654119098399, 31.45271365475927, 22.64249232082739,
               11.61740700019673)  # fmt: skip


@lru_cache(maxsize=1)
def squeezer() -> Loop:
    """Seven bodies in the plane with seven angles, three loops that close in a point, and one spring."""
    k = {name: sp.Symbol(name, real=True) for name in SIZES}
    q = sp.symbols(" ".join(name for name, _ in ANGLES), real=True)
    v = sp.symbols("v1:8", real=True)
    beta, theta, gamma, phi, delta, omega, eps = q
    cos, sin = sp.cos, sp.sin
    xa, ya, xb, yb, arm, tip = k["xa"], k["ya"], k["xb"], k["yb"], k["e"] - k["ea"], k["zf"] - k["fa"]
    bodies = (
        ((k["ra"] * cos(beta), k["ra"] * sin(beta)), beta),
        ((k["rr"] * cos(beta) - k["da"] * cos(beta + theta), k["rr"] * sin(beta) - k["da"] * sin(beta + theta)),
         beta + theta),
        ((xb + k["sa"] * sin(gamma) + k["sb"] * cos(gamma), yb - k["sa"] * cos(gamma) + k["sb"] * sin(gamma)), gamma),
        ((xa + k["zt"] * cos(delta) + arm * sin(phi + delta), ya + k["zt"] * sin(delta) - arm * cos(phi + delta)),
         phi + delta),
        ((xa + k["ta"] * cos(delta) - k["tb"] * sin(delta), ya + k["ta"] * sin(delta) + k["tb"] * cos(delta)), delta),
        ((xa + k["u"] * sin(eps) + tip * cos(omega + eps), ya - k["u"] * cos(eps) + tip * sin(omega + eps)),
         omega + eps),
        ((xa + k["ua"] * sin(eps) - k["ub"] * cos(eps), ya - k["ua"] * cos(eps) - k["ub"] * sin(eps)), eps),
    )  # fmt: skip
    kinetic = []
    for i, (place, turn) in enumerate(bodies, 1):
        kinetic += [k[f"m{i}"] * sum(speeds(x, q, v) ** 2 for x in place) / 2, k[f"I{i}"] * speeds(turn, q, v) ** 2 / 2]
    spring = sp.sqrt((k["sd"] * cos(gamma) + k["sc"] * sin(gamma) + xb - k["xc"]) ** 2
                     + (k["sd"] * sin(gamma) - k["sc"] * cos(gamma) + yb - k["yc"]) ** 2)  # fmt: skip
    potential = k["c0"] * (spring - k["l0"]) ** 2 / 2 - k["drive"] * beta
    x = k["rr"] * cos(beta) - k["d"] * cos(beta + theta)
    y = k["rr"] * sin(beta) - k["d"] * sin(beta + theta)
    loops = (
        x - k["ss"] * sin(gamma) - xb,
        y + k["ss"] * cos(gamma) - yb,
        x - k["e"] * sin(phi + delta) - k["zt"] * cos(delta) - xa,
        y + k["e"] * cos(phi + delta) - k["zt"] * sin(delta) - ya,
        x - k["zf"] * cos(omega + eps) - k["u"] * sin(eps) - xa,
        y - k["zf"] * sin(omega + eps) + k["u"] * cos(eps) - ya,
    )
    return close(kinetic, potential, loops, q, v, {k[name]: value for name, value in SIZES.items()})


@lru_cache(maxsize=1)
def squeezed() -> Floats:
    """Angles, speeds and multipliers at 0.03 s."""
    return squeezer().end((*BEGUN, *np.zeros(7)), 0.03)


@lru_cache(maxsize=1)
def squeezer_begun() -> Floats:
    """Accelerations and multipliers as it is let go."""
    return squeezer().solve(0.0, np.array((*BEGUN, *np.zeros(7))))


@lru_cache(maxsize=1)
def car_axis() -> Floats:
    """Places of both wheels' ends, speeds and multipliers at 3 s."""
    q = xl, yl, xr, yr = sp.symbols("xl yl xr yr", real=True)
    v = sp.symbols("v1:5", real=True)
    mass = sp.Float(10 * 1e-2**2 / 2)
    yb = sp.sin(10 * TIME) / 10
    xb = sp.sqrt(1 - yb**2)
    left, right = sp.sqrt(xl**2 + yl**2), sp.sqrt((xr - xb) ** 2 + (yr - yb) ** 2)
    potential = ((left - 0.5) ** 2 + (right - 0.5) ** 2) / 2 + mass * (yl + yr)
    loops = xl * xb + yl * yb, (xl - xr) ** 2 + (yl - yr) ** 2 - 1
    loop = close([mass * speed**2 / 2 for speed in v], potential, loops, q, v, {})
    return loop.end((0.0, 0.5, 1.0, 0.5, -0.5, 0.0, -0.5, 0.0), 3.0)


@lru_cache(maxsize=1)
def slider_crank() -> Floats:
    """Crank and rod angle, way of the slider, and their speeds at 0.1 s; the crank is driven at 150 rad/s."""
    q = crank, rod, slider = sp.symbols("crank rod slider", real=True)
    v = sp.symbols("v1:4", real=True)
    first, second, spin = 0.15, 0.30, 150.0
    middle = (first * sp.cos(crank) + second / 2 * sp.cos(rod), first * sp.sin(crank) + second / 2 * sp.sin(rod))
    kinetic = [sp.Float(0.002727) * v[0] ** 2 / 2, sp.Float(0.075552) * v[2] ** 2 / 2]
    kinetic += [sp.Float(0.151104) * speeds(x, q, v) ** 2 / 2 for x in middle]
    kinetic.append(sp.Float(0.0045339259 - 0.151104 * second**2 / 4) * v[1] ** 2 / 2)
    loops = (
        first * sp.sin(crank) + second * sp.sin(rod),
        slider - first * sp.cos(crank) - second * sp.cos(rod),
        crank - spin * TIME,
    )
    loop = close(kinetic, sp.S.Zero, loops, q, v, {})
    return loop.end((0.0, 0.0, first + second, spin, -spin * first / second, 0.0), 0.1)


@lru_cache(maxsize=1)
def four_bar() -> Floats:
    """Accelerations of the three joints of a loop of four bars, in relative angles."""
    lengths, line = (0.13, 0.24, 0.21, 0.34), 997.0
    q, v = sp.symbols("q1:4", real=True), sp.symbols("u1:4", real=True)
    tip: Sequence[Expr] = (sp.Float(lengths[0] / 2), sp.S.Zero)
    kinetic, angle = [], sp.S.Zero
    for length, turn in zip(lengths[1:], q, strict=True):
        angle += turn
        along = (sp.cos(angle), sp.sin(angle))
        for point, part in zip(tip, along, strict=True):
            kinetic.append(line * length * speeds(point + length / 2 * part, q, v) ** 2 / 2)
        kinetic.append(line * length**3 / 12 * speeds(angle, q, v) ** 2 / 2)
        tip = [point + length * part for point, part in zip(tip, along, strict=True)]
    loop = close(kinetic, sp.S.Zero, (tip[0] + sp.Float(lengths[0] / 2), tip[1]), q, v, {})
    there = (2.1, 0.6655470375077588, 2.527408138024188, 0.2, -0.17963733938852067, 0.1309060540601612)
    return loop.solve(0.0, np.array(there))[:3]


def rolling_disc() -> float:
    """Its acceleration over g sin(alpha)."""
    m, g, radius, alpha = sp.symbols("m g r alpha", positive=True)
    y, speed = sp.symbols("y v", real=True)
    kinetic = [m * speed**2 / 2, (m * radius**2 / 2) * (speed / radius) ** 2 / 2]
    mass, forces = lagrange(kinetic, [y], [speed])
    (down,) = accelerations(mass, [m * g * sp.sin(alpha) - forces[0]])
    return float(sp.cancel(down / (g * sp.sin(alpha))))


def at(figures: Callable[[], Floats], i: int, scale: float = 1.0) -> Callable[[], float]:
    """One of several figures that are computed together."""
    return lambda: scale * float(figures()[i])


def _squeezer() -> Iterator[Observation]:
    why = "seven digits of the reference solution"
    loose = "ours no longer change in their tenth digit; the source's multipliers hold to six or seven"
    for i, (name, found) in enumerate(ANGLES):
        yield Observation(LINKAGES, f"angle {name}", Near(found, relative=1e-7, why=why), "rad", SEVEN,
                          at(squeezed, i))  # fmt: skip
    for i, ((name, _), found) in enumerate(zip(ANGLES, TURNING, strict=True)):
        yield Observation(LINKAGES, f"speed of {name}", Near(found, relative=1e-6, why="six digits"), "rad/s", SEVEN,
                          at(squeezed, 7 + i))  # fmt: skip
    for i, found in enumerate(MULTIPLIERS):
        yield Observation(LINKAGES, f"multiplier {i + 1}", Near(found, relative=1e-5, why=loose), "N", SEVEN,
                          at(squeezed, 14 + i))  # fmt: skip
    begun = ((0, "start, acceleration of beta", 14222.4439199541, "rad/s²"),
             (1, "start, acceleration of Theta", -10666.8329399656, "rad/s²"),
             (7, "start, multiplier 1", 98.5668703962410897, "N"),
             (8, "start, multiplier 2", -6.12268834425566, "N"))  # fmt: skip
    for i, words, found, unit in begun:
        yield Observation(LINKAGES, words, Near(found, relative=1e-8), unit, SEVEN,
                          at(squeezer_begun, i))  # fmt: skip


def _others() -> Iterator[Observation]:
    places = (("left, x", 0.0493455784275402809), ("left, y", 0.496989460230171154),
              ("right, x", 1.04174252488542152), ("right, y", 0.373911027265361257))  # fmt: skip
    for i, (words, found) in enumerate(places):
        yield Observation(LINKAGES, words, Near(found, relative=1e-7), "m", CAR,
                          at(car_axis, i))  # fmt: skip
    for i, found in enumerate((-0.00473688659084893, -0.00110468033125734)):  # the source's sign is the other one
        yield Observation(LINKAGES, f"1000 x multiplier {i + 1}", Near(1e3 * found, relative=1e-6), "", CAR,
                          at(car_axis, 8 + i, -1e3))  # fmt: skip
    bends = "the source's rod bends and stretches"
    for i, words, found, unit in ((1, "angle of the rod", -0.3311734988256260, "rad"),
                                  (2, "way of the slider", 0.1697373328427860, "m")):  # fmt: skip
        yield Observation(LINKAGES, words, Near(found, absolute=1e-5, why=bends), unit, CRANK,
                          at(slider_crank, i))  # fmt: skip
    for i, found in enumerate((0.004875813577, -0.019901808572, 0.012180573114)):
        yield Observation(LINKAGES, f"joint {i + 1}", Near(1e3 * found, relative=1e-8), "mrad/s²", FOUR_BAR,
                          at(four_bar, i, 1e3))  # fmt: skip
    yield Observation(LINKAGES, "acceleration over g sin(alpha)", Near(2 / 3, relative=1e-12), "", DISC, rolling_disc)


OBSERVATIONS = (*_squeezer(), *_others())
