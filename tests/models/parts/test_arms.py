"""Angles of arms as they are described: past square the way grows ever less, before square ever more."""

import numpy as np
import pytest

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.sim.statics.kinematics import kinematics


def ways(angle):
    """Way of the rod that leaves the lower square, as that square turns by a little and by more."""

    case = read_case("demo-wood", set_={"lower-square.out_arm_angle": f"{angle} deg"})
    train = train_of(case, "C4")
    found = kinematics(train.structure)
    p, n = np.array(train.vector(found.layout.parameters)), len(found.coordinates)
    body = next(i for i, one in enumerate(found.layout.bodies) if one.part == "lower-square")
    link = next(i for i, one in enumerate(found.links) if one.element.part == "level-tracker")
    rates = []
    for turn in (0.0, 0.1):
        q = np.zeros(n)
        q[body] = turn
        rates.append(found.way_ratios(q, p)[link] / found.ratios(q, p)[body])
    return rates


@pytest.mark.parametrize(("angle", "grows"), [(10, False), (-10, True)])
def test_an_arm_past_square_draws_ever_less(angle, grows):
    at_rest, turned = ways(angle)
    assert at_rest == pytest.approx(0.05 * 0.984807753, rel=1e-6)  # r cos 10 degrees, either way
    assert bool(turned > at_rest) is grows
