"""Small mechanisms with known motions, through the program's builder, laws, generated code and integration."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from functools import lru_cache, partial

import numpy as np
import sympy as sp

from keyaction.models.algebra.builder import Builder, Port
from keyaction.models.algebra.laws import Felt
from keyaction.sim.motion.integrate import Motion
from keyaction.sim.published.bench import Bench, bench, tightened
from keyaction.sim.published.observation import Near, Observation, Source

MOTION, BLOW, RUB = "Swinging bars, by the whole path of a train", "Blows on felt", "Dry friction"
GRAVITY = 9.81
"""m/s², as the benchmarks have it."""

PENDULUM = Source("Library of computational benchmark problems for multibody dynamics, A01 (specification read): 1 kg, "
                  "1 m, g 9.81, let go from the horizontal; elliptic solution", "derived")  # fmt: skip
LADDER = Source("The same library, A02: two loops of bars of 1 kg and 1 m, 1 m/s at the top (specification read, "
                "upright start from memory); quadrature of its energy", "derived")  # fmt: skip
HERTZ = Source("H. Hertz, 1881: contact of a power-law spring lasts 2.9432 depth/speed, depth (5 m v²/4 K)^(2/5)",
               "from memory")  # fmt: skip
HUNT = Source("K. H. Hunt and F. R. E. Crossley, J. Appl. Mech. 42 (1975) 440-445: restitution 1 - alpha v for small "
              "alpha v", "from memory")  # fmt: skip
COULOMB = Source("Coulomb's friction, closed form: 1 m/s, mu 0.3, g 9.81", "derived")


def bob(builder: Builder) -> None:
    """A point mass on a massless rod; the angle from the horizontal, downwards."""
    mass, length = builder.param("m", "kg", "mass"), builder.param("l", "m", "length")
    body = builder.coordinate("rad", "angle", "rod")
    builder.inertia(body, mass * length**2)
    builder.weight(-mass * builder.param("gravity", "m/s^2", "gravity") * length * sp.sin(body.q))


def ladder(builder: Builder) -> None:
    """Two loops of bars: three uprights that turn alike about the ground, two level bars that they carry; from
    upright."""
    mass, length = builder.param("m", "kg", "mass of a bar"), builder.param("l", "m", "its length")
    body = builder.coordinate("rad", "angle", "upright")
    builder.inertia(body, 3 * mass * length**2 / 3 + 2 * mass * length**2)
    weight = mass * builder.param("gravity", "m/s^2", "gravity")
    builder.weight((3 * weight / 2 + 2 * weight) * length * sp.cos(body.q))


def ball(builder: Builder) -> None:
    """A ball and a felt; its way is counted from the felt's face into it."""
    body = builder.coordinate("m", "way", "ball")
    builder.inertia(body, builder.param("m", "kg", "mass"))
    felt = Felt(builder.param("K", "N/m^1.5", "stiffness"), builder.param("alpha", "s/m", "damping"))
    builder.element("", "felt", [(Port("face", body, body.q), 1)], felt, "felt")


def block(builder: Builder) -> None:
    """A block on a level plane."""
    mass, gravity = builder.param("m", "kg", "mass"), builder.param("gravity", "m/s^2", "gravity")
    body = builder.coordinate("m", "way", "block")
    builder.inertia(body, mass)
    pressed = builder.param("mu", "", "friction") * mass * gravity
    builder.dry_friction("u", Port("base", body, body.q), pressed, builder.param("reach", "m", "give"), "plane")


@lru_cache(maxsize=1)
def swing() -> Motion:
    """The pendulum for 5 s."""
    made = bench(bob, m=1.0, l=1.0, gravity=GRAVITY)
    return made.run({}, 5.0, tightened(1e-5, grid=1e-2))


def place(time: float) -> tuple[float, float]:
    """Where its mass is: to the side, and up."""
    motion = swing()
    angle = float(motion["q_rod"][round(time / 1e-2)])
    return math.cos(angle), -math.sin(angle)


@lru_cache(maxsize=1)
def turning() -> Motion:
    """The two loops for 10 s."""
    made = bench(ladder, m=1.0, l=1.0, gravity=GRAVITY)
    return made.run({"v_upright": 1.0}, 10.0, tightened(1e-6, grid=1e-2))


def passing(angle: float) -> float:
    """Instant (s) at which the uprights have turned by so much, by a cubic through four recorded instants."""
    motion = turning()
    turned = motion["q_upright"]
    i = int(np.searchsorted(turned, angle))
    near = slice(i - 2, i + 2)
    return float(np.polyfit(turned[near] - angle, motion.t[near], 3)[-1])


@lru_cache(maxsize=1)
def felt() -> Bench:
    """The ball on its felt."""
    return bench(ball, m=0.01, K=1e9, alpha=0.0)


@lru_cache(maxsize=8)
def blow(loss: float) -> Motion:
    """One contact at 0.5 m/s with alpha v = `loss`, well past its end."""
    speed = 0.5
    depth = contact_depth(speed)
    tolerances = tightened(1e-5, grid=depth / speed / 500)
    return felt().run({"v_ball": speed}, 12 * depth / speed, tolerances, alpha=loss / speed)


def contact_depth(speed: float) -> float:
    """m, without losses."""
    return float((5 * 0.01 * speed**2 / (4 * 1e9)) ** 0.4)


def restitution(loss: float) -> float:
    """Speed after over speed before."""
    return -float(blow(loss)["v_ball"][-1]) / 0.5


def contact_time() -> float:
    """Of a contact without losses, over depth/speed."""
    motion = blow(0.0)
    inside = np.flatnonzero(motion["q_ball"] > 0.0)
    last = int(inside[-1])
    t, x = motion.t[[last, last + 1]], motion["q_ball"][[last, last + 1]]
    return float(t[0] + x[0] / (x[0] - x[1]) * (t[1] - t[0])) * 0.5 / contact_depth(0.5)


def deepest() -> float:
    """Of the same contact, over the law's depth."""
    return float(blow(0.0)["q_ball"].max()) / contact_depth(0.5)


@lru_cache(maxsize=1)
def slid() -> Motion:
    """A block that slides to its rest."""
    made = bench(block, m=1.0, gravity=GRAVITY, mu=0.3, reach=1e-6)
    return made.run({"v_block": 1.0}, 0.5, tightened(1e-3))


def stopped() -> float:
    """Instant at which it stops, s."""
    motion = slid()
    i = int(np.argmax(motion["v_block"] <= 0.0))
    before, after = motion["v_block"][[i - 1, i]]
    return float(motion.t[i - 1] + before / (before - after) * (motion.t[i] - motion.t[i - 1]))


def _rows() -> Iterator[Observation]:
    room = "the library asks for 1e-3 m"
    for time, along, up in ((1, -0.98629175, -0.16501085), (2, 0.79356620, -0.60848393), (5, 0.94230544, -0.33475434)):
        for axis, found, i in (("x", along, 0), ("y", up, 1)):
            yield Observation(MOTION, f"pendulum, {axis} at {time} s", Near(found, absolute=1e-6, why=room), "m",
                              PENDULUM, _coordinate(time, i))  # fmt: skip
    for words, turn, found in (("first passage of the bottom", math.pi, 0.971257),
                               ("full turn", 2 * math.pi, 1.942515)):  # fmt: skip
        yield Observation(MOTION, words, Near(found, absolute=2e-6, why="last digit, and interpolation"), "s", LADDER,
                          partial(passing, turn))  # fmt: skip
    for words, found, function in (("x of the first corner at 10 s", 0.328458, np.sin),
                                   ("y of the first corner at 10 s", 0.944519, np.cos)):  # fmt: skip
        yield Observation(MOTION, words, Near(found, absolute=1e-6), "m", LADDER, _corner(function))
    yield Observation(MOTION, "energy of the bars after 10 s", Near(35.835, absolute=1e-6, why="J: it is kept"), "J",
                      LADDER, lambda: float(turning()["energy"][-1]))  # fmt: skip
    yield Observation(BLOW, "depth over the law's", Near(1.0, relative=1e-5), "", HERTZ, deepest)
    yield Observation(BLOW, "contact time x speed/depth", Near(2.9432, relative=1e-3), "", HERTZ, contact_time)
    for loss in (0.02, 0.05):
        small = Near(1 - loss, absolute=loss**2, why="the rule leaves out the square of alpha v")
        yield Observation(BLOW, f"restitution at alpha v {loss:g}", small, "", HUNT, partial(restitution, loss))
    give = "the surface gives by 1 µm"
    yield Observation(RUB, "way to the stop, v²/2 mu g", Near(1e3 / (0.6 * GRAVITY), absolute=1.1e-3, why=give), "mm",
                      COULOMB, lambda: 1e3 * float(slid()["q_block"].max()))  # fmt: skip
    yield Observation(RUB, "time to the stop, v/mu g", Near(1e3 / (0.3 * GRAVITY), absolute=5e-3, why=give), "ms",
                      COULOMB, lambda: 1e3 * stopped())  # fmt: skip


def _coordinate(time: float, i: int) -> Callable[[], float]:
    return lambda: place(time)[i]


def _corner(function: Callable[[float], float]) -> Callable[[], float]:
    return lambda: float(function(turning()["q_upright"][-1]))


OBSERVATIONS = tuple(_rows())
