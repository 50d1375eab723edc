"""Which causes share the first place: by Bayes factors that are set by hand, custom left out."""

import math

import numpy as np
import pytest

from keyaction.models.readings.figures import NAMES
from keyaction.sim.diagnosis.evidence import Evidence
from keyaction.sim.diagnosis.faults import COMMON
from keyaction.sim.diagnosis.parted import unparted
from keyaction.sim.diagnosis.posterior import believe
from keyaction.sim.diagnosis.shared import Common, Step

CAUSES = ("lead", "spring", "spring", "nut", "leak")
FIGURES = len(NAMES)


def found(one, two=None):
    """Evidence of five faults, against none by far."""
    h = len(CAUSES)
    pairs = np.full((h, h), -np.inf) if two is None else two
    return Evidence(-60.0, np.array(one), pairs, np.full(FIGURES, -np.inf), np.full((FIGURES, h), -np.inf))


def shares(evidence, custom, first):
    """Causes that share the place of the first, with their probabilities."""
    belief = believe(evidence, 0.05, np.array(custom) / sum(custom))
    return {CAUSES[i]: share for i, share, _ in unparted(evidence, belief, CAUSES, first)}


def test_below_a_factor_of_twenty_a_cause_shares_whatever_custom_says():
    logs = [0.0, -math.log(19.0), -9.0, -math.log(21.0), -30.0]
    assert set(shares(found(logs), (1.0, 8.0, 6.0, 8.0, 6.0), 0)) == {"spring"}
    custom = (1.0, 40.0, 6.0, 8.0, 6.0)  # it alone puts the spring first
    assert set(shares(found(logs), custom, 1)) == {"lead", "nut"}
    assert set(shares(found([0.0, -2.9, -2.9, -2.9, -2.9]), (1.0, 1e-3, 1e-3, 1e-3, 1.0), 0)) == {"leak"}


def test_the_probability_is_that_of_standing_in_its_place():
    told = shares(found([0.0, -1.0, -2.0, -40.0, -40.0]), (1.0, 1.0, 1.0, 1.0, 1.0), 0)
    odds = math.exp(-1.0) + math.exp(-2.0)
    assert told == {"spring": pytest.approx(odds / (1.0 + odds), rel=1e-6)}


def test_beside_a_second_fault_the_pairs_are_compared():
    two = np.full((5, 5), -np.inf)
    two[0, 3] = two[3, 0] = 0.0
    two[1, 3] = two[3, 1] = -1.0
    two[4, 3] = two[3, 4] = -5.0
    evidence = found([-50.0, -50.0, -50.0, -50.0, -50.0], two)
    belief = believe(evidence, 0.05, np.full(5, 0.2))
    ((place, _, model),) = unparted(evidence, belief, CAUSES, 0)
    assert (place, model.faults) == (1, (1, 3))


def test_what_all_share_is_parted_by_the_same_rule():
    by_name = {one.name: one for one in COMMON}

    def common(name, log, probability):
        return Common(by_name[name], "", 1.0, 0.1, probability, log)

    rods, rail, tight, wind, stops = (
        common("long-run", 0.0, 0.6), common("rail-loose", -1.0, 0.3), common("rail-tight", -2.0, 0.05),
        common("low-wind", -4.0, 0.04), common("more-stops", -2.0, 0.01),
    )  # fmt: skip
    assert Step(rods, (rods, rail, tight, wind, stops)).sharing == (rail,)
    assert Step(rods, (rods, wind)).sharing == ()
