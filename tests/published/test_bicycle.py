"""A bicycle: the program's derivation in space, with wheels that roll.

No key action has such a thing; it is the strictest of the public tests of a derivation, with figures to fifteen
digits: J. P. Meijaard, J. M. Papadopoulos, A. Ruina, A. L. Schwab, "Linearized dynamics equations for the balance and
steer of a bicycle", Proc. R. Soc. A 463 (2007) 1955-1982. Axes: x forward, y to the right, z down.
"""

import numpy as np
import pytest
import sympy as sp

from keyaction.sim.published.loops import close, speeds

# Parameters of the paper's benchmark: its Table 1 (from memory; the figures below hold with no others).
BASE, TRAIL, TILT, G = 1.02, 0.08, np.pi / 10, 9.81
REAR, FRONT = 0.3, 0.35
MASSES = {"rear": 2.0, "frame": 85.0, "fork": 4.0, "front": 3.0}
FRAME_AT, FORK_AT = (0.3, 0.0, -0.9), (0.9, 0.0, -0.7)
FRAME = ((9.2, 0, 2.4), (0, 11.0, 0), (2.4, 0, 2.8))
FORK = ((0.05892, 0, -0.00756), (0, 0.06, 0), (-0.00756, 0, 0.00708))
REAR_WHEEL, FRONT_WHEEL = (0.0603, 0.12), (0.1405, 0.28)
"""About a diameter, about the axle; kg m^2."""


def turned(axis, angle):
    """Rotation by an angle about a unit vector."""
    x, y, z = axis
    cross = sp.Matrix([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    return sp.eye(3) + sp.sin(angle) * cross + (1 - sp.cos(angle)) * cross * cross


@pytest.fixture(scope="module")
def bicycle():
    """The equations, and the pitch of the frame that keeps the front wheel on the ground."""
    q = _, _, yaw, lean, pitch, steer, _, _ = sp.symbols("x y yaw lean pitch steer rear front", real=True)
    v = vx, vy, v_yaw, v_lean, v_pitch, v_steer, v_rear, v_front = sp.symbols("v1:9", real=True)
    # All in axes that yaw and lean with the rear wheel, from the point where it touches the ground.
    frame = turned((0, 1, 0), pitch)
    axis = (sp.sin(sp.Float(TILT)), 0, sp.cos(sp.Float(TILT)))
    by_steer = turned(axis, steer)
    fork = frame * by_steer
    hub = sp.Matrix([0, 0, -REAR])
    head = hub + frame * sp.Matrix([BASE + TRAIL, 0, REAR])
    places = {
        "rear": hub,
        "frame": hub + frame * sp.Matrix([FRAME_AT[0], 0, FRAME_AT[2] + REAR]),
        "fork": head + fork * sp.Matrix([FORK_AT[0] - BASE - TRAIL, 0, FORK_AT[2]]),
        "front": head + fork * sp.Matrix([-TRAIL, 0, -FRONT]),
    }
    turning = sp.Matrix([v_lean, v_yaw * sp.sin(lean), v_yaw * sp.cos(lean)])
    ahead, aside = vx * sp.cos(yaw) + vy * sp.sin(yaw), vy * sp.cos(yaw) - vx * sp.sin(yaw)
    along = sp.Matrix([ahead, aside * sp.cos(lean), -aside * sp.sin(lean)])
    moving = {
        name: along + turning.cross(place) + place.applyfunc(lambda part: speeds(part, q, v))
        for name, place in places.items()
    }

    # Angular velocities, frame and fork each in its own axes.
    of_frame = frame.T * turning + sp.Matrix([0, v_pitch, 0])
    of_fork = by_steer.T * of_frame + v_steer * sp.Matrix(axis)
    of_rear, of_front = turning + sp.Matrix([0, v_rear, 0]), of_fork + sp.Matrix([0, v_front, 0])
    kinetic = [MASSES[name] * part**2 / 2 for name in MASSES for part in moving[name]]
    for spin, inertia in ((of_frame, FRAME), (of_fork, FORK)):
        kinetic.append((spin.T * sp.Matrix(inertia) * spin)[0] / 2)
    for spin, (across, through) in ((of_rear, REAR_WHEEL), (of_front, FRONT_WHEEL)):
        kinetic.append((across * (spin[0] ** 2 + spin[2] ** 2) + through * spin[1] ** 2) / 2)
    below = sp.Matrix([0, sp.sin(lean), sp.cos(lean)])
    potential = -G * sum(mass * below.dot(places[name]) for name, mass in MASSES.items())

    # The front wheel touches straight below in its own plane.
    axle = fork[:, 1]
    aslant = below.dot(axle)
    to_ground = FRONT * (below - aslant * axle) / sp.sqrt(1 - aslant**2)
    rolling = list(moving["front"] + (fork * of_front).cross(to_ground))
    rolling += list(moving["rear"] + of_rear.cross(-hub))[:2]
    height = sp.lambdify([lean, pitch, steer], below.dot(places["front"] + to_ground))
    slopes = sp.lambdify([list(q)], sp.Matrix(rolling).jacobian(v))
    return close(kinetic, potential, (), q, v, {yaw: 0.0}, rolling), slopes, height


def fallen(bicycle, forward, lean, steer, lean_rate, steer_rate):
    """Accelerations of lean and steer at a forward speed."""
    loop, touching, height = bicycle
    pitch = 0.0
    for _ in range(8):
        rise = (height(lean, pitch + 1e-6, steer) - height(lean, pitch - 1e-6, steer)) / 2e-6
        pitch -= height(lean, pitch, steer) / rise
    ways = np.array([0.0, 0.0, 0.0, lean, pitch, steer, 0.0, 0.0])
    slopes = np.asarray(touching(ways), dtype=float)
    given, others = [3, 5, 6], [0, 1, 2, 4, 7]
    rates = np.zeros(8)
    rates[given] = lean_rate, steer_rate, -forward / REAR
    rates[others] = np.linalg.solve(slopes[:, others], -slopes[:, given] @ rates[given])
    return loop.solve(0.0, np.concatenate([ways, rates]))[[3, 5]]


@pytest.mark.parametrize("forward", [0.0, 1.0, 4.6, 10.0])
def test_lean_and_steer_of_the_benchmark(bicycle, forward):
    # The paper's benchmark as a first-order system, as a test of a public library of symbolic mechanics has it (read):
    # accelerations of lean and steer by lean, steer, and their rates, at the speed v.
    v = forward
    published = np.array(
        [
            (9.48977444677355, -0.891197738059089 * v**2 - 0.571523173729245, -0.105522449805691 * v,
             -0.330515398992311 * v),
            (11.7194768719633, -1.97171508499972 * v**2 + 30.9087533932407, 3.67680523332152 * v,
             -3.08486552743311 * v),
        ]
    )  # fmt: skip
    step = 1e-3
    found = np.zeros((2, 4))
    for i in range(4):
        sides = []
        for size in (step, 2 * step):
            off = np.zeros(4)
            off[i] = size
            sides.append((fallen(bicycle, v, *off) - fallen(bicycle, v, *-off)) / (2 * size))
        found[:, i] = (4 * sides[0] - sides[1]) / 3  # the error of second order taken out
    assert found == pytest.approx(published, rel=1e-7, abs=1e-7)


def test_upright_it_goes_straight_on(bicycle):
    assert fallen(bicycle, 5.0, 0.0, 0.0, 0.0, 0.0) == pytest.approx([0.0, 0.0], abs=1e-12)
