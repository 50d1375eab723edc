"""Figures that no action can have: the note or design has failed, with its reason, and holds no figures."""

import math
from dataclasses import replace

import numpy as np
import pytest
from demo_train import demo

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.figures.play import play_record
from keyaction.sim.figures.possible import impossible
from keyaction.sim.figures.repetition import Repetition
from keyaction.sim.figures.verdict import Fate, verdict
from keyaction.sim.lanes.evaluate import available, evaluate
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.run.note import play_note

STROKES = read_case("demo-wood").strokes
SLOW = {"pallet_speed": (0.0, 0.01)}
"""A range that the trains of the tests are beyond."""


@pytest.fixture
def narrow(monkeypatch):
    for name, possible in SLOW.items():
        monkeypatch.setitem(QUANTITIES, name, replace(QUANTITIES[name], possible=possible))


@pytest.mark.parametrize("row", QUANTITIES.values(), ids=lambda row: row.name)
def test_every_row_says_what_is_possible(row):
    low, high = row.possible
    assert math.isfinite(low)
    assert low < high


@pytest.mark.parametrize(
    ("figures", "told"),
    [
        ({"friction_at_key": -0.157}, "beyond what is possible: friction at the key -16 gf, below -2.04 gf"),
        ({"pallet_speed": 200.0}, "pallet speed after the pluck 200000 mm/s, above 30000 mm/s"),
        ({"opening_time": -50e-6}, "opening time -0.05 ms, below -0.001 ms"),
        ({"pluck_force": -0.1}, "pluck force -10.2 gf, below -0.51 gf"),
        ({"speech_delay": math.inf}, "speech delay inf ms, above 120000 ms"),
        ({"groove_share": 1.2}, "groove pressure share 1.2, above 1.05"),
        ({"loop_work": -0.01, "key_dip": -1.0}, "work lost in a slow stroke -10 mJ, below -0.1 mJ; key dip -1000 mm"),
    ],
)
def test_what_is_told(figures, told):
    assert told in impossible({"pluck_point": 2e-3, **figures})


def test_missing_figures_and_the_ends_are_possible():
    assert impossible(dict.fromkeys(QUANTITIES, math.nan)) == ""
    for end in (0, 1):
        assert impossible({name: row.possible[end] for name, row in QUANTITIES.items()}) == ""
    assert impossible({"a figure of its own": -1e9}) == ""


def test_what_the_train_of_the_tests_does_is_possible():
    record = play_record(NoteModel(demo()), STROKES)
    assert impossible({name: row.compute(record) for name, row in QUANTITIES.items()}) == ""


@pytest.mark.usefixtures("narrow")
def test_a_note_fails_and_holds_no_figures(short_case):
    result = play_note(60, train_of(short_case, 60), short_case.strokes)
    assert result.status.startswith("failed: beyond what is possible: pallet speed after the pluck ")
    assert result.status.endswith(" mm/s, above 10 mm/s")
    assert (result.quantities, result.curves) == ({}, {})


@pytest.mark.usefixtures("narrow")
def test_a_design_fails_and_holds_nan():
    wanted = ["pluck_force", "pallet_speed", "opening_time"]
    outcome = evaluate([demo()], STROKES, wanted, jobs=1, sample=0)
    assert outcome.status[0].startswith("failed: beyond what is possible: pallet speed after the pluck ")
    assert all(np.isnan(outcome.quantities[name][0]) for name in wanted)
    # Only what was asked for is known, so a figure that is not among it fails nothing.
    assert evaluate([demo()], STROKES, ["pluck_force"], jobs=1, sample=0).status == ("ok",)


@pytest.mark.long
def test_designs_far_from_any_action_are_sound_or_failed():
    """Sizes over two decades: whatever is left as sound has figures that can be."""
    rng = np.random.default_rng(7)
    ways = {"roller.width": (0.003, 0.06), "t3.thickness": (3e-5, 5e-3), "spring.force": (0.05, 20.0)}
    ways |= {"box.pressure": (50.0, 4900.0), "t3.lost_motion": (1e-5, 5e-3), "pallet.thickness": (2.1e-3, 0.06)}
    trains = [
        demo(
            **{name: float(np.exp(rng.uniform(*np.log(ends)))) for name, ends in ways.items()},
            **{"roller.pin.diameter": 0.002},
        )
        for _ in range(48)
    ]
    outcome = evaluate(trains, STROKES, jobs=1, sample=0)
    sound = np.array([status == "ok" for status in outcome.status])
    assert sound.sum() > 10
    for name, values in outcome.quantities.items():
        low, high = QUANTITIES[name].possible
        inside = np.isnan(values) | ((values >= low) & (values <= high))
        assert np.all(inside), name
        assert np.all(np.isnan(values[~sound])), name


def test_a_groove_that_never_filled_is_empty_at_once_and_its_note_mute():
    """It was read off the step before the finger's lift: -6 to -55 us."""
    silent = demo(**{"t3.lost_motion": 0.015})
    found = evaluate([silent], STROKES, ["release_delay", "opening_time"], jobs=1, sample=0)
    judge = play_record(NoteModel(silent), STROKES, Repetition(float("nan"), "", 0))
    assert 0.0 <= QUANTITIES["release_delay"].compute(judge) < 2e-4
    assert np.isnan([found.quantities[name][0] for name in found.quantities]).all()  # a mute note has neither
    assert (found.verdicts[0].fate, verdict(judge).fate) == (Fate.MUTE, Fate.MUTE)
    assert "release_delay" in available()
