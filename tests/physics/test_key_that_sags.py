"""A front-heavy hung key sags on its pull-down at rest: it stays where the seat first holds it."""

import pytest
from hung_key import ARM, EYE, SMOOTH, STIFFNESS, Hand, hung
from scipy.optimize import brentq

from keyaction.sim.lanes.batch import Batch

SLOW = {"key.inertia": 0.05, "groove.feet_area": 1e-5}
"""A key that swings through far more energy than it takes to pluck the pallet."""


def rests(spring, moment):
    """Turn of key and pallet by hand, the pallet on its seat; None where the key's weight alone plucks it."""
    hand = Hand(spring=spring, feet=1e-5)

    def left(turn):
        return hand.pull(turn) - moment / ARM

    if left(hand.opens) < 0:
        return None
    pallet = brentq(left, 0.0, hand.opens, xtol=1e-14)
    return (EYE * pallet + moment / ARM / STIFFNESS) / ARM, pallet


@pytest.mark.parametrize(
    ("moment", "spring"), [(0.35, 1.0), (0.40, 1.0), (0.50, 2.0), (0.55, 2.0), (0.60, 2.6), (0.65, 2.6)]
)
def test_a_key_is_not_thrown_past_the_place_that_holds_it(moment, spring):
    model = hung(**SMOOTH, **SLOW, **{"key.balance_moment": moment, "spring.force": spring})
    by_hand = rests(spring, moment)
    assert by_hand is not None
    assert model.rest()[:2] == pytest.approx(by_hand, rel=2e-4)
    assert Batch.of([model.train]).rest().states[0, :2] == pytest.approx(by_hand, rel=2e-4)


@pytest.mark.parametrize(("moment", "spring"), [(0.45, 1.0), (0.60, 2.0), (0.70, 2.6)])
def test_a_key_that_outweighs_wind_and_spring_opens_its_pallet(moment, spring):
    model = hung(**SMOOTH, **SLOW, **{"key.balance_moment": moment, "spring.force": spring})
    assert rests(spring, moment) is None
    lanes = Batch.of([model.train]).rest().states[0, :2]
    assert model.rest()[:2] == pytest.approx(lanes, rel=1e-4)
    assert lanes[1] > 10 * Hand(spring=spring).opens
