"""The shipped manuals against the trade's orders of magnitude, and wood against carbon.

Ranges are common practice: dip 8 to 10.5 mm, lift 4 to 9 mm, pluck 0.8 to 2.5 N at 1 to 4 mm, 6 notes a second.
"""

import numpy as np
import pytest

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import check_trains, train_of
from keyaction.sim.lanes.evaluate import evaluate
from keyaction.sim.run.checking import warnings
from keyaction.sim.run.standings import standings

RANGES = {
    "key_dip": (8e-3, 10.5e-3),
    "steady_lift": (4e-3, 9e-3),
    "pluck_force": (0.8, 2.5),
    "pluck_point": (1e-3, 4e-3),
    "repetition_rate": (6.0, 20.0),
    "speech_delay": (2e-3, 30e-3),
    "groove_share": (0.9, 1.0),
}


@pytest.fixture(scope="module", params=["demo-wood", "demo-carbon"])
def played(request):
    case = read_case(request.param)
    trains = [train_of(case, note) for note in case.compass]
    return case, evaluate(trains, case.strokes, [*RANGES, "closing_force"], sample=0).quantities


def test_every_note_lies_in_the_trades_range(played):
    _, found = played
    for name, (low, high) in RANGES.items():
        assert np.all((found[name] >= low) & (found[name] <= high)), name


def test_touch_falls_smoothly_from_bass_to_treble(played):
    case, found = played
    pluck = found["pluck_force"]
    assert len(case.compass) == 56
    assert np.all(np.diff(pluck) < 0)
    assert np.all(-np.diff(pluck) / pluck[1:] < 0.07)  # no step that a finger can tell
    assert np.all(np.diff(found["closing_force"]) < 0)


def test_nothing_is_to_be_warned_of(played):
    case, _ = played
    assert warnings(case, standings(check_trains(case, case.compass), case.strokes)) == []


def test_a_longer_run_repeats_more_slowly():
    """Truth: a longer level tracker costs repetition in proportion to its mass and stiffness."""
    rates = []
    for length in ("1 m", "3 m", "6 m"):
        case = read_case("demo-wood", set_=(("level-tracker.length", length),))
        rates.append(
            evaluate([train_of(case, 60)], case.strokes, ["repetition_rate"], sample=0).quantities["repetition_rate"][0]
        )
    assert rates[0] > rates[1] > rates[2]


def test_carbon_is_lighter_and_no_softer_than_wood():
    wood, carbon = (
        evaluate(
            [train_of(read_case(name), 60)], read_case(name).strokes, ["effective_mass", "pluck_point"], sample=0
        ).quantities
        for name in ("demo-wood", "demo-carbon")
    )
    assert carbon["effective_mass"][0] < wood["effective_mass"][0]
    assert carbon["pluck_point"][0] < wood["pluck_point"][0]
