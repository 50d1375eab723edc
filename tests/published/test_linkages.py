"""Closed linkages: what holds the table's rows, beside the published figures themselves (`sim/published/linkages.py`).

Two of the public sets' problems are not played: the Bricard mechanism, a loop in space whose constraints are redundant,
and the four bars with a diagonal spring of the IFToMM's library; `check --published` names both as not reached. The
slider crank's rod is rigid here. Trains are trees of bodies with one coordinate each; a bicycle is in `test_bicycle.py`
all the same.
"""

import numpy as np
import pytest
import sympy as sp

from keyaction.sim.published.linkages import BEGUN, four_bar, slider_crank, squeezer
from keyaction.sim.published.loops import close, speeds
from keyaction.sim.published.mechanisms import turning

G = 9.81


def bars(lengths, masses, angles, feet):
    """Kinetic and potential energy of slender bars in the plane, each about its own foot; angles from upright."""
    q, v = angles
    kinetic, potential = [], sp.S.Zero
    for length, mass, angle, foot in zip(lengths, masses, q, feet, strict=True):
        middle = (foot[0] + length / 2 * sp.sin(angle), foot[1] + length / 2 * sp.cos(angle))
        kinetic += [mass * speeds(x, q, v) ** 2 / 2 for x in middle]
        kinetic.append(mass * length**2 / 12 * speeds(angle, q, v) ** 2 / 2)
        potential += mass * G * middle[1]
    return kinetic, potential


def test_two_loops_of_bars_by_their_constraints_and_by_one_coordinate():
    # The same mechanism (benchmark A02) as five bars, four conditions that close them, and multipliers.
    q, v = sp.symbols("a b c d e", real=True), sp.symbols("v1:6", real=True)
    tips = [(i + sp.sin(q[i]), sp.cos(q[i])) for i in range(3)]
    feet = [(0, 0), (1, 0), (2, 0), tips[0], tips[1]]
    kinetic, potential = bars([1.0] * 5, [1.0] * 5, (q, v), feet)
    loops = []
    for i in (0, 1):
        end = (tips[i][0] + sp.sin(q[3 + i]), tips[i][1] + sp.cos(q[3 + i]))
        loops += [end[0] - tips[i + 1][0], end[1] - tips[i + 1][1]]
    loop = close(kinetic, potential, loops, q, v, {})
    level = np.pi / 2
    found = loop.end((0.0, 0.0, 0.0, level, level, 1.0, 1.0, 1.0, 0.0, 0.0), 0.5)
    motion = turning()
    alone = np.interp(0.5, motion.t, motion["q_upright"])
    assert found[:3] == pytest.approx([alone] * 3, abs=1e-8)
    assert found[3:5] == pytest.approx([level] * 2, abs=1e-8)


def test_the_squeezer_stays_closed():
    loop = squeezer()
    start = np.array((*BEGUN, *np.zeros(7)))
    end = loop.end(start, 0.03)
    beta, theta, gamma = end[:3]
    # Where the first loop closes: the fixed point B of the test set, (-0.03635, 0.03273).
    tip = np.array(
        [0.007 * np.cos(beta) - 0.028 * np.cos(beta + theta), 0.007 * np.sin(beta) - 0.028 * np.sin(beta + theta)]
    )
    bearing = tip - 0.035 * np.array([np.sin(gamma), -np.cos(gamma)])
    assert bearing == pytest.approx([-0.03635, 0.03273], abs=1e-9)


def test_the_slider_crank_is_where_geometry_puts_it():
    # Closed form: sin(rod) = -(L1/L2) sin(crank); the driven crank has turned by 15 rad.
    found = slider_crank()
    rod = -np.arcsin(0.5 * np.sin(15.0))
    assert found[:3] == pytest.approx([15.0, rod, 0.15 * np.cos(15.0) + 0.30 * np.cos(rod)], abs=1e-9)
    assert found[4] == pytest.approx(-150.0 * 0.5 * np.cos(15.0) / np.cos(rod), rel=1e-8)


def test_four_bars_by_one_coordinate():
    # A second way: the angles of the two other bars follow from the first one's, so the energy is that of one
    # coordinate, E = I(a) w^2/2, whose equation is I a'' = -I' w^2/2. I and its slope by differences of closed poses.
    lengths, line = (0.13, 0.24, 0.21, 0.34), 997.0

    def pose(first):
        """Directions of the three bars from their joints by circles that meet."""
        a = np.array([lengths[0] / 2, 0.0])
        b = a + lengths[1] * np.array([np.cos(first), np.sin(first)])
        d = np.array([-lengths[0] / 2, 0.0])
        apart = np.hypot(*(d - b))
        along = (lengths[2] ** 2 - lengths[3] ** 2 + apart**2) / (2 * apart)
        across = np.sqrt(lengths[2] ** 2 - along**2)
        e = (d - b) / apart
        corners = [b + along * e + side * across * np.array([-e[1], e[0]]) for side in (1.0, -1.0)]
        # The published pose: relative angles 0.6655 and 2.5274.
        second = 2.1 + 0.6655470375077588
        c = min(corners, key=lambda p: np.hypot(*(p - b - lengths[2] * np.array([np.cos(second), np.sin(second)]))))
        return a, b, c, d

    def inertia(first, step=1e-5):
        total = 0.0
        ends = [pose(first + off) for off in (-step, step)]
        for i, length in enumerate(lengths[1:]):
            rates = [
                (after - before) / (2 * step)
                for before, after in zip(ends[0][i : i + 2], ends[1][i : i + 2], strict=True)
            ]
            # A slender bar: the mean of the products of its ends' speeds, a third and a sixth.
            total += line * length / 3 * (rates[0] @ rates[0] + rates[0] @ rates[1] + rates[1] @ rates[1])
        return total

    step, speed = 1e-3, 0.2
    slope = (inertia(2.1 + step) - inertia(2.1 - step)) / (2 * step)
    assert -slope * speed**2 / 2 / inertia(2.1) == pytest.approx(four_bar()[0], rel=1e-4)
