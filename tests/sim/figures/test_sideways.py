"""How far rods whip and how they slap, in the standard stroke and while the key is repeated."""

import math

import numpy as np
import pytest
from demo_train import demo_model
from fakes import hand_made

from keyaction.cases.action.reader import read_case
from keyaction.models.formulas.spans import REPETITION_BAND
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.figures.registry import NOT_IN_LANES
from keyaction.sim.figures.sideways import RATES, side_motion, whips
from keyaction.sim.figures.telling import why_none
from keyaction.sim.figures.verdict import Fate, Verdict
from keyaction.sim.lanes.evaluate import available

STROKES = read_case("demo-wood").strokes
PLACED = {f"t2.guides.stations.{i}.at": f"{600 * (i + 1)} mm" for i in range(2)}
COMB = {"t2.slap.play": "4 mm", "t2.slap.squeeze": "0.3 mm", "t2.slap.force": "2 N", "t2.slap.alpha": 1.0}
ASIDE = ("side_way", "slaps", "slap_speed")


def test_a_motion_made_by_hand():
    (one,) = whips(hand_made().stroke)
    assert (one.rod, one.slaps) == ("rod", 2)
    assert (one.way, one.speed) == pytest.approx((6e-3, 0.4))


def test_one_that_never_comes_to_its_comb_has_no_slaps():
    never = {"stretch_rod-slap": lambda t: 0 * t - 1.0, "stretch_rod-slap_back": lambda t: 0 * t - 1.0}
    record = hand_made(stroke=never)
    assert (QUANTITIES["slaps"].compute(record), QUANTITIES["slap_speed"].compute(record)) == (0.0, 0.0)


def test_straight_rods_have_none_of_it_and_it_is_said_why(record):
    for name in ASIDE:
        assert math.isnan(QUANTITIES[name].compute(record))
        assert why_none(name, math.nan, Verdict(Fate.SPEAKS))


def test_lanes_do_not_tell_of_it():
    assert not set(ASIDE) & set(available())
    assert all(QUANTITIES[name].source in NOT_IN_LANES for name in ASIDE)


def test_while_a_key_is_repeated_a_long_span_slaps():
    model = demo_model(**PLACED, **COMB, **{"t2.side_motion": True})
    found = side_motion(model, STROKES, [5.0, 8.0])
    assert list(found) == [0.0, 5.0, 8.0]
    for motion, told in found.values():
        assert motion.status.ok
        (one,) = told
        way = motion["q_t2-side"]
        assert one.way == np.max(np.abs(way - way[0]))
        assert one.slaps > 0
        # It comes no further than the comb and what that gives.
        given = max(motion[f"stretch_t2-{side}"].max() for side in ("slap", "slap_back"))
        assert np.ptp(way) <= 2 * (4e-3 + given) + 1e-12
        assert 0.0 < one.speed <= np.abs(motion["v_t2-side"]).max()
    assert found[5.0][1][0].slaps > found[0.0][1][0].slaps


def test_the_band_is_gone_through_from_end_to_end():
    assert (RATES[0], RATES[-1]) == REPETITION_BAND
    assert np.allclose(np.diff(RATES), 0.5)
