"""Mechanics with published answers, through the program's own derivation, laws, code and integration."""

from math import atan, cos, log, sin, sqrt

import numpy as np
import pytest
import sympy as sp
from demo_train import FRICTIONLESS, LIBRARY, demo
from motions import hands_off, tightened
from scipy.optimize import brentq
from scipy.special import ellipj, ellipk
from spellings import figures
from tiny import bench

from keyaction.models.algebra.builder import Port
from keyaction.models.algebra.lagrange import lagrange
from keyaction.models.algebra.laws import Felt
from keyaction.sim.code.kernel import load_kernel

G = 9.81


# ------------------------------------------------------------------------------------------- bouncing ball
def ball(builder):
    """A ball that falls on felt; its way is counted downwards from the felt's face."""
    mass = builder.param("m", "kg", "mass")
    body = builder.coordinate("m", "way down", "ball")
    builder.inertia(body, mass)
    builder.weight(-mass * builder.param("gravity", "m/s^2", "gravity") * body.q)
    felt = Felt(builder.param("K", "N/m^1.5", "stiffness"), builder.param("alpha", "s/m", "damping"))
    builder.element("", "felt", [(Port("face", body, body.q), 1)], felt, "felt")


@pytest.fixture(scope="module")
def dropped():
    return bench(ball, m=0.01, gravity=G, K=1e9, alpha=0.0)


TIGHT = tightened(1e-5, max_step=2e-3, grid=2e-5)


def restitution(a, speed):
    """Hunt and Crossley's law solved exactly: m v dv/dx = -K x^1.5 (1 + a v) going in and out gives
    v/a - ln(1 + a v)/a^2 the same on both ways; gravity during the contact left out."""

    def stored(v):
        return v / a - log(1 + a * v) / a**2

    highest = min(1.0, (1 - 1e-12) / (a * speed))
    return brentq(lambda e: stored(-e * speed) - stored(speed), 1e-6, highest)


def bounce(mechanism, height, alpha, duration):
    """Drop it and return the speeds just before and just after its one contact, and that contact's length."""
    motion = mechanism.run({"q_ball": -height}, duration, TIGHT, alpha=alpha)
    assert motion.status.ok
    touching = np.flatnonzero(motion["q_ball"] > 0.0)
    before, after = touching[0] - 1, touching[-1] + 1
    assert after < len(motion.t) - 1
    fall, rise = (2 * G * -motion["q_ball"][i] for i in (before, after))
    speed_in = sqrt(motion["v_ball"][before] ** 2 + fall)
    speed_out = sqrt(motion["v_ball"][after] ** 2 + rise)
    return speed_in, speed_out, motion


def contact(mechanism, speed, alpha):
    """One contact alone, its weight left out: from the felt's face at `speed` until well clear of it again."""
    depth = (5 * 0.01 * speed**2 / (4 * 1e9)) ** 0.4
    motion = mechanism.run(
        {"v_ball": speed}, 12 * depth / speed, tightened(1e-5, grid=depth / speed / 500), alpha=alpha, gravity=0.0
    )
    assert motion["q_ball"][-1] < 0.0
    return depth, motion


def test_a_lossless_bounce_lasts_as_long_as_a_power_law_spring(dropped):
    # Closed form for F = K x^1.5: depth (5 m v^2 / 4 K)^(2/5), time 2.9432 depth/v (H. Hertz; from memory).
    speed = 1.0
    depth, motion = contact(dropped, speed, 0.0)
    assert motion["q_ball"].max() == pytest.approx(depth, rel=1e-5)
    leaving = motion.t[np.flatnonzero(motion["q_ball"] > 0.0)[-1]]
    assert leaving == pytest.approx(2.9432 * depth / speed, rel=1e-3)
    assert motion["v_ball"][-1] == pytest.approx(-speed, rel=1e-6)


@pytest.mark.one_in(3)
@pytest.mark.parametrize("loss", [0.02, 0.05, 0.2, 1.0])
def test_felt_gives_back_one_less_alpha_times_speed(dropped, loss):
    # K. H. Hunt and F. R. E. Crossley, J. Appl. Mech. 42 (1975) 440-445 (from memory): restitution 1 - alpha v for
    # small speeds; the law's exact integral for any. `loss` is alpha v.
    speed = 0.5
    _, motion = contact(dropped, speed, loss / speed)
    given_back = -motion["v_ball"][-1] / speed
    assert given_back == pytest.approx(restitution(1.5 * loss / speed, speed), rel=1e-6)
    if loss < 0.1:
        assert given_back == pytest.approx(1 - loss, abs=loss**2)


def test_five_bounces_and_the_time_to_rest(dropped):
    # Closed form for a restitution of 0.8: dropped from 1 m it rises to 0.8^10 = 0.107374 m after five bounces and
    # comes to rest after sqrt(2 h/g)(1 + e)/(1 - e) = 4.06371 s. A felt's restitution depends on the speed, so the
    # damping is set anew for every fall to give 0.8 there; the felt itself costs its depth and the contact's time.
    unit = brentq(lambda a: restitution(a, 1.0) - 0.8, 1e-3, 2.0)
    height, elapsed, heights = 1.0, 0.0, []
    for _ in range(5):
        speed = sqrt(2 * G * height)
        _, after, motion = bounce(dropped, height, unit / 1.5 / speed, 1.9 * speed / G)
        top = np.argmin(np.where(motion.t > speed / G, motion["q_ball"], np.inf))
        # Up to the next apex: the fall, the contact and the rise.
        elapsed += motion.t[np.flatnonzero(motion["q_ball"] > 0.0)[-1]] + after / G
        height = after**2 / (2 * G)
        assert -motion["q_ball"][top] == pytest.approx(height, rel=1e-3)
        heights.append(height)
    assert heights[-1] == pytest.approx(0.107374, rel=1e-3)
    # The rest of the series from the fifth apex on: 2 v5/g x e/(1 - e) less what has been counted of it.
    remaining = sqrt(2 * height / G) * (1 + 0.8) / (1 - 0.8)
    assert elapsed + remaining == pytest.approx(4.06371, rel=1e-3)


# ------------------------------------------------------------------------------------------- Coulomb block
MU = 0.3
SINE = 0.2


def block(builder):
    """A block on a plane that slopes down in the direction of its way."""
    mass, gravity = builder.param("m", "kg", "mass"), builder.param("gravity", "m/s^2", "gravity")
    body = builder.coordinate("m", "way down the plane", "block")
    builder.inertia(body, mass)
    builder.weight(-mass * gravity * builder.param("sine", "", "of the slope") * body.q)
    pressed = builder.param("mu", "", "friction") * mass * gravity * builder.param("cosine", "", "of the slope")
    builder.dry_friction("u", Port("base", body, body.q), pressed, builder.param("reach", "m", "give"), "plane")


@pytest.fixture(scope="module")
def plane():
    return bench(block, m=1.0, gravity=G, sine=0.0, cosine=1.0, mu=MU, reach=1e-6)


def test_a_sliding_block_stops(plane):
    # Closed form: v^2 / (2 mu g) and v / (mu g). The give of the surface costs about its own length, here 1 micrometre.
    motion = plane.run({"v_block": 1.0}, 0.5, tightened(1e-3))
    assert motion["q_block"].max() == pytest.approx(1 / (2 * MU * G), abs=1.1e-6)
    stop = np.argmax(motion["v_block"] <= 0.0)
    before, after = motion["v_block"][[stop - 1, stop]]
    instant = motion.t[stop - 1] + before / (before - after) * (motion.t[stop] - motion.t[stop - 1])
    assert instant == pytest.approx(1 / (MU * G), abs=5e-6)
    # And it stays where it stopped.
    assert np.ptp(motion["q_block"][motion.t > 0.45]) < 1e-6
    assert motion["work_friction"][-1] == pytest.approx(0.5, rel=1e-5)


def test_the_give_costs_its_own_length(plane):
    # What the regularisation costs: the way to the stop is off by no more than the give, and vanishes with it.
    exact = 1 / (2 * MU * G)
    for reach in (1e-3, 1e-4, 1e-5):
        motion = plane.run({"v_block": 1.0}, 0.5, tightened(1e-3), reach=reach)
        assert abs(motion["q_block"].max() - exact) < 1.1 * reach


def slope(share):
    """Slope whose tangent is `share` of the friction coefficient."""
    angle = atan(share * MU)
    return {"sine": sin(angle), "cosine": cos(angle)}


@pytest.mark.parametrize("share", [0.3, 0.6, 0.9])
def test_a_block_rests_on_a_slope_below_the_angle_of_friction(plane, share):
    # Closed form: it holds if and only if tan(slope) <= mu. Let go all at once, it gives a little and then rests.
    motion = plane.run({}, 2.0, reach=1e-5, **slope(share))
    assert motion["q_block"].max() < 1e-3
    assert np.ptp(motion["q_block"][motion.t > 1.0]) < 1e-6


@pytest.mark.parametrize("share", [1.2, 2.0])
def test_a_block_slides_on_a_steeper_slope(plane, share):
    tilt = slope(share)
    motion = plane.run({}, 1.0, reach=1e-7, **tilt)
    way = 0.5 * G * (tilt["sine"] - MU * tilt["cosine"])
    assert motion["q_block"][-1] == pytest.approx(way, rel=5e-3)


# ------------------------------------------------------------------------------------------- modes of a rod
def lowest(pieces):
    """Lowest frequency (Hz) of a 1 m Sitka tracker held at its near end by a body that cannot move, free at the
    other: eigenvalues of the program's Jacobian, the far end slack."""
    train = demo(
        **FRICTIONLESS,
        **{
            "t1.length": "1 m",
            "t1.material": "sitka-spruce",
            "t1.thickness": "1 mm",
            "t1.pieces": pieces,
            "t1.end_mass": 0.0,
            "t1.damping": 0.0,
        },
    )
    kernel = load_kernel(train.structure, plain=True)
    p = {name: figures(train)[name].value for name in kernel.spellings}
    # The end is as stiff as the half piece that it ends, so that the held point is the rod's own end.
    p |= {"k_t1": 2 * p["k_piece_t1"], "c_piece_t1": 0.0}
    y = np.zeros(len(kernel.states))
    rows = [kernel.states.index(f"q_t1-{i}") for i in range(1, pieces + 1)]
    speeds = [kernel.states.index(f"v_t1-{i}") for i in range(1, pieces + 1)]
    y[rows] = -1e-3
    d = hands_off(1.0).vector(hands_off(1.0).pieces[0])
    whole = kernel.jacobian(0.0, y, np.array([p[name] for name in kernel.spellings]), d)
    inside = np.ix_(rows + speeds, rows + speeds)
    values = np.linalg.eigvals(whole[inside])
    assert np.max(np.abs(values.real)) < 1e-6 * np.max(np.abs(values.imag))
    return np.min(np.abs(values.imag)) / (2 * np.pi)


def test_modes_of_a_tracker_in_pieces():
    # Closed form: fixed-free c/4L, 1299 Hz for 1 m of Sitka spruce (modulus in bending: Wood Handbook, FPL-GTR-190,
    # 2010, Table 5-3a, second-hand; along the grain 1.10 times that, ch. 5, from memory). A row of n masses is short of
    # it by (pi/4n)^2/6: of second order.
    spruce = LIBRARY.get("sitka-spruce")
    exact = sqrt(1.10 * spruce["E"].value / spruce["density"].value) / 4
    assert exact == pytest.approx(1299, abs=0.5)
    counts = np.array([2, 4, 8, 16])
    found = np.array([lowest(int(n)) for n in counts])
    order = np.polyfit(np.log(counts), np.log(exact - found), 1)[0]
    assert order == pytest.approx(-2.0, abs=0.02)
    assert found == pytest.approx(exact * np.sin(np.pi / (4 * counts)) / (np.pi / (4 * counts)), rel=1e-6)
    assert found[-1] == pytest.approx(1299, rel=1e-3)


# ------------------------------------------------------------------------------------------- Lagrange's equations
def test_double_pendulum():
    # Mass matrix in relative angles, from a test of a public symbolic-mechanics library, test_jointsmethod.py (read):
    # [[m l^2 (3 + 2 cos q2), m l^2 (1 + cos q2)], [m l^2 (1 + cos q2), m l^2]].
    m, length = sp.symbols("m l", positive=True)
    q, v = sp.symbols("q1 q2", real=True), sp.symbols("v1 v2", real=True)
    total = q[0] + q[1]
    places = [(length * sp.cos(q[0]), length * sp.sin(q[0]))]
    places.append((places[0][0] + length * sp.cos(total), places[0][1] + length * sp.sin(total)))
    kinetic = [
        m / 2 * sum(sum(sp.diff(along, a) * b for a, b in zip(q, v, strict=True)) ** 2 for along in place)
        for place in places
    ]
    mass, forces = lagrange(kinetic, q, v)
    unit = m * length**2
    c = sp.cos(q[1])
    expected = sp.Matrix([[unit * (3 + 2 * c), unit * (1 + c)], [unit * (1 + c), unit]])
    assert sp.simplify(mass - expected) == sp.zeros(2, 2)
    # The same source's velocity terms: -m l^2 sin q2 (2 v1 v2 + v2^2) and m l^2 sin q2 v1^2 (derived).
    s = sp.sin(q[1])
    assert sp.simplify(forces[0] + unit * s * (2 * v[0] * v[1] + v[1] ** 2)) == 0
    assert sp.simplify(forces[1] - unit * s * v[0] ** 2) == 0


# ------------------------------------------------------------------------------------------- the benchmark pendulum
def bob(builder):
    """A point mass on a massless rod; the angle from the horizontal, downwards."""
    mass, length = builder.param("m", "kg", "mass"), builder.param("l", "m", "length")
    body = builder.coordinate("rad", "angle", "rod")
    builder.inertia(body, mass * length**2)
    builder.weight(-mass * builder.param("gravity", "m/s^2", "gravity") * length * sp.sin(body.q))


def test_pendulum_from_the_horizontal():
    # Library of computational benchmark problems for multibody dynamics, A01 (read): 1 kg, 1 m, g 9.81, released
    # from the horizontal; the library asks for 1 mm of the position, the exact motion is elliptic: 1e-6 here.
    swing = bench(bob, m=1.0, l=1.0, gravity=G)
    motion = swing.run({}, 10.0, tightened(1e-5, grid=1e-3))
    modulus, quarter = 0.5, ellipk(0.5)
    period = 4 * quarter / sqrt(G)
    assert period == pytest.approx(2.367841948, abs=1e-9)
    sn = ellipj(quarter - sqrt(G) * motion.t, modulus)[0]
    theta = 2 * np.arcsin(sqrt(modulus) * sn)  # from the vertical
    x, y = np.cos(motion["q_rod"]), -np.sin(motion["q_rod"])
    assert np.max(np.abs(x - np.sin(theta))) < 1e-6
    assert np.max(np.abs(y + np.cos(theta))) < 1e-6
    # Printed values of the closed form (derived) at 1, 2, 5 and 10 s.
    for t, place in ((1, (-0.98629175, -0.16501085)), (2, (0.79356620, -0.60848393)),
                     (5, (0.94230544, -0.33475434)), (10, (0.27508746, -0.96141921))):  # fmt: skip
        assert (x[t * 1000], y[t * 1000]) == pytest.approx(place, abs=1e-6)
    assert np.ptp(motion["energy"]) < 1e-7
