"""Pareto fronts against the definition, tried on every pair of designs."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from keyaction.sim.analysis.pareto import pareto_front, usual_sense
from keyaction.sim.figures.columns import QUANTITIES


def by_definition(values, senses):
    """Rows that no other one beats."""
    signs = np.array([1.0 if sense == "min" else -1.0 for sense in senses])
    costs = values * signs
    there = np.all(np.isfinite(costs), axis=1)

    def beaten(i):
        others = costs[there]
        return np.any(np.all(others <= costs[i], axis=1) & np.any(others < costs[i], axis=1))

    return {int(i) for i in np.flatnonzero(there) if not beaten(i)}


numbers = st.one_of(st.integers(-3, 3).map(float), st.floats(-10, 10), st.just(np.nan), st.just(np.inf))


@settings(max_examples=200, deadline=None)
@given(st.data(), st.integers(1, 4), st.integers(0, 25))
def test_the_front_is_that_of_the_definition(data, width, count):
    rows = data.draw(st.lists(st.lists(numbers, min_size=width, max_size=width), min_size=count, max_size=count))
    senses = data.draw(st.lists(st.sampled_from(["min", "max"]), min_size=width, max_size=width))
    values = np.array(rows, dtype=float).reshape(count, width)
    found = pareto_front(values, senses)
    assert len(set(found.tolist())) == len(found)
    assert set(found.tolist()) == by_definition(values, senses)
    assert np.all(np.diff(values[found, 0]) >= 0)


@pytest.mark.parametrize("width", [2, 3])
def test_many_designs(width):
    values = np.random.default_rng(0).normal(size=(3000, width))
    senses = ["max", "min", "max"][:width]
    assert set(pareto_front(values, senses).tolist()) == by_definition(values, senses)


def test_equal_designs_stand_on_the_front_together():
    assert pareto_front([[1.0, 2.0], [0.0, 3.0], [1.0, 2.0], [2.0, 2.0]], ["min", "min"]).tolist() == [1, 0, 2]


def test_no_designs_no_front():
    assert pareto_front(np.empty((0, 2)), ["min", "max"]).tolist() == []
    assert pareto_front([[np.nan, 1.0]], ["min", "max"]).tolist() == []


@pytest.mark.parametrize("senses", [["min"], ["min", "max", "min"], []])
def test_senses_must_fit(senses):
    with pytest.raises(ValueError, match="senses do not fit"):
        pareto_front([[1.0, 2.0]], senses)


def test_an_unknown_sense_is_named():
    with pytest.raises(ValueError, match="'most' is not known"):
        pareto_front([[1.0, 2.0]], ["min", "most"])


# Of every quantity whether a builder wants much of it; what is not named here yet fails the next test.
SENSES = {
    "bounce": "min",
    "side_way": "min",
    "slaps": "min",
    "slap_speed": "min",
    "closing_force": "max",  # the pallet shuts by itself: no cipher
    "effective_mass": "min",
    "follow_through_force": "min",
    "friction_at_key": "min",
    "groove_share": "max",
    "key_dip": "min",
    "loop_work": "min",
    "lost_motion": "min",
    "opening_time": "min",
    "overshoot": "min",
    "pallet_speed": "max",
    "peak_force": "min",
    "pluck_force": "min",
    "pluck_point": "min",
    "pluck_ratio": "min",
    "release_delay": "min",
    "repetition_rate": "max",
    "speech_after_release": "min",
    "speech_delay": "min",
    "steady_lift": "max",
    "stored_energy": "min",
    "train_frequency": "max",
    "wave_time": "min",
}


def test_every_quantity_has_its_usual_sense():
    assert {name: usual_sense(name) for name in QUANTITIES} == SENSES
    assert usual_sense("roller.width") == "min"  # an input


def test_a_firmer_closing_pallet_stands_on_the_front():
    # Three springs: the second closes better for the same pluck, the third costs pluck and closes best.
    pluck, closing = [2.0, 2.0, 2.4], [0.4, 0.9, 1.3]
    senses = [usual_sense("pluck_force"), usual_sense("closing_force")]
    assert pareto_front(np.column_stack([pluck, closing]), senses).tolist() == [1, 2]
