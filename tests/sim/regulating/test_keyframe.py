"""A key frame that is raised, by levers, and by pressing the moved train."""

import pytest

from keyaction.sim.measuring.bench import computed
from keyaction.sim.measuring.keyframe import raised
from keyaction.sim.measuring.knobs import changed, one_of


def moved(train, by):
    return changed(train, [(one_of(train, kind), by * each) for kind, each in raised(train).items()])


@pytest.mark.parametrize("by", [0.25e-3, -0.8e-3])
def test_a_raised_frame_lifts_level_takes_play_by_the_levers_and_leaves_dip(wood, by):
    """Arms of 230 and 150 mm."""
    note = wood.notes[2]
    drawn = computed([wood.drawn[note], moved(wood.drawn[note], by)], wood.case.strokes, wind_off_too=False)
    change = {name: float(drawn[name][1] - drawn[name][0]) for name in ("level", "play", "dip")}
    assert change["level"] == pytest.approx(by, abs=0.02e-3)
    assert change["play"] == pytest.approx(-by * 230 / 150, abs=0.03e-3)
    assert change["dip"] == pytest.approx(0.0, abs=0.02e-3)
