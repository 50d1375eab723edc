"""A key frame that is raised, by levers and by pressing the moved train; what is told from it: a rail, a line."""

from dataclasses import replace

import numpy as np
import pytest
from unregulated import FINE, ON, Action

from keyaction.models.readings.figures import NAMES
from keyaction.sim.measuring.computed import computed
from keyaction.sim.measuring.knobs import changed, one_of, together
from keyaction.sim.regulating.order import stages
from keyaction.sim.regulating.told import told


def raised(train):
    """Amounts by kind per m by which the frame stands higher."""
    return {one.kind: by for one, by in together(train, "frame")}


def sunk(wood, by, more=()):
    """Every note with its frame lower by so much, and single changes."""
    amounts = {note: {kind: -by * each for kind, each in raised(wood.drawn[note]).items()} for note in wood.notes}
    for note, kind, amount in more:
        amounts[note][kind] += amount
    return wood.planted(amounts)


def levels_off(readings, by):
    rows = (replace(one, value=one.value + by) if one.figure == "level" else one for one in readings.rows)
    return replace(readings, rows=tuple(rows))


@pytest.mark.parametrize("by", [0.25e-3, -0.8e-3])
def test_a_raised_frame_lifts_level_takes_play_by_the_levers_and_leaves_dip(wood, by):
    """Arms of 230 and 150 mm."""
    train = wood.drawn[wood.notes[2]]
    moved = changed(train, [(one_of(train, kind), by * each) for kind, each in raised(train).items()])
    found = computed([train, moved], wood.case.strokes, wind_off_too=False)
    change = {name: float(found[name][1] - found[name][0]) for name in ("level", "play", "dip")}
    assert change["level"] == pytest.approx(by, abs=0.02e-3)
    assert change["play"] == pytest.approx(-by * 230 / 150, abs=0.03e-3)
    assert change["dip"] == pytest.approx(0.0, abs=0.02e-3)


def test_a_key_that_hangs_on_its_run_has_no_such_frame():
    hung = Action("cases/kinds/hung-rollers.toml", slice(0, 2))
    assert [raised(train) for train in hung.drawn.values()] == [{}, {}]


@pytest.mark.parametrize("figures", [ON, ("level", "play")])
def test_a_sunk_frame_is_one_step(wood, figures):
    done = wood.regulated(sunk(wood, 0.8e-3), figures=figures)
    (step,) = done.steps.commons
    assert (step.kind, step.stage) == ("frame", "level")
    assert step.amount == pytest.approx(0.8e-3, abs=0.11e-3)
    assert step.change["play"] == pytest.approx(-step.amount * 230 / 150, rel=0.02)
    assert step.change["dip"] == pytest.approx(0.0, abs=1e-6)
    assert done.steps.moves == ()
    assert not np.any(done.outside(done.after.values))
    assert dict(stages(done, str))["couplers"] == "any that take hold here, again"


def test_levels_off_alone_are_the_straightedge_and_no_rail_is_moved(wood):
    done = wood.of(levels_off(wood.planted().read(1, FINE, ON), -0.8e-3))
    assert (done.steps.commons, done.steps.moves, done.causes) == ((), (), ())
    assert done.datum == pytest.approx(0.8e-3, abs=0.11e-3)
    assert "0.8 mm above the line that is drawn" in " ".join(told(done, str))
    assert "straightedge" in dict(stages(done, str))["level"]


def test_where_levels_alone_were_read_what_would_tell_is_asked_for(wood):
    done = wood.regulated(wood.planted(every={"rest": -0.8e-3}), figures=("level",))
    assert done.steps.commons == ()
    assert "Read play and dip too" in " ".join(told(done, str))


def test_a_rest_rail_is_told_by_the_play_alone(wood):
    done = wood.regulated(wood.planted(every={"rest": 0.6e-3}), figures=("level", "play"))
    assert [(one.kind, one.amount) for one in done.steps.commons] == [("rest", pytest.approx(-0.6e-3, abs=0.11e-3))]


def test_no_run_is_set_tighter_before_keys_have_the_play_for_it(wood):
    """Rests too low, runs too loose: play of 2.6 mm, of which the nuts take more than there is before the level."""
    done = wood.regulated(wood.planted(every={"rest": -1.5e-3, "nut": 2.2e-3}))
    rest, nut = done.steps.commons
    assert [(one.kind, one.stage) for one in (rest, nut)] == [("rest", "level"), ("nut", "pluck point")]
    play = np.median(done.before[:, NAMES.index("play")])
    assert play + nut.change["play"] < 0.0 < play + rest.change["play"] + nut.change["play"]
    assert "after the level" in dict(stages(done, str))["rail"]


def test_where_a_frame_has_taken_all_play_its_way_is_said_to_be_an_end(wood):
    done = wood.regulated(sunk(wood, -0.4e-3))
    assert [one.kind for one in done.steps.commons] == ["frame"]
    assert "until there is play" in " ".join(told(done, str))


def test_a_nut_is_loosened_before_its_key_is_moved_where_that_would_pull(wood):
    note = wood.notes[2]
    done = wood.regulated(sunk(wood, 0.8e-3, [(note, "nut", -0.7e-3)]))
    (move,) = done.steps.moves
    assert (move.note, move.kind, move.stage) == (note, "nut", "rail")
    assert move.turns > 0.0
