"""Designs behind their protocol: trains, and the figures that they give."""

import numpy as np
import pytest

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.sim.lanes.designs import Trains
from keyaction.sim.lanes.evaluate import evaluate
from keyaction.sim.motion.note import with_couplers_set


@pytest.fixture(scope="module")
def case():
    return read_case("demo-wood")


@pytest.fixture(scope="module")
def trains(case):
    return [with_couplers_set(train_of(case, note)) for note in (36, 48, 60, 72, 91)]


@pytest.mark.parametrize("asked", [False, True])
def test_some_are_the_same_designs_as_those_of_all(trains, asked):
    """Whether their rows were asked for before or not."""
    whole, which = Trains(trains), np.array([4, 1, 2, 3, 0, 0])
    rows = whole.parameters if asked else Trains(trains).parameters
    some = whole.some(which)
    assert len(some) == len(which) and some.structure == whole.structure
    assert np.array_equal(some.parameters, rows[which])
    assert np.array_equal(some.derived("key", "dip"), whole.derived("key", "dip")[which])
    assert [some.train(i) for i in range(len(some))] == [trains[i] for i in which]
    assert whole.derived("key", "dip") == pytest.approx([train.dip for train in trains])


def test_where_all_designs_are_too_fast_each_is_told_so(case, trains):
    name = next(one for one in trains[0].parameters if (one.part, one.what) == ("roller", "K"))
    fast = [train.with_parameter(name, 1e6 * train.parameters[name].value, "test") for train in trains[:2]]
    for some, sound in ((fast, 0), ([*fast, trains[2]], 1)):
        told = evaluate(some, case.strokes, ["pluck_force"], 1, 0).status
        assert all(one.startswith("failed: its fastest vibration, ") for one in told[:2])
        assert told[2:] == ("ok",) * sound


def test_designs_come_out_as_their_trains(case, trains):
    asked = ["pluck_force", "opening_time", "effective_mass"]
    ours, theirs = (evaluate(one, case.strokes, asked, 1, 1) for one in (Trains(trains), trains))
    assert ours.status == theirs.status and ours.verdicts == theirs.verdicts and ours.checks == theirs.checks
    for name in asked:
        assert np.array_equal(ours.quantities[name], theirs.quantities[name])
