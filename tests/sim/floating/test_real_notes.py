"""Real notes on a floating rail: three of the demo instrument's division behind the player."""

import numpy as np
import pytest
from scipy.optimize import brentq
from springs_on_a_rail import rail

from keyaction.cases.action.trains import train_of
from keyaction.cases.instrument.reader import read_instrument
from keyaction.models.frame.changes import RunRod
from keyaction.models.frame.rail import Rail
from keyaction.sim.figures.sketch import rigid
from keyaction.sim.floating.centre import centred
from keyaction.sim.floating.closed import dead_band, tightest_rod, weighted_mean
from keyaction.sim.floating.equilibrium import Held, gain, pulls_on_rail, rail_course, shifts_on_rail
from keyaction.sim.floating.played import shift_when_played
from keyaction.sim.floating.pressed import pulls_when_pressed
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.statics.press import press
from keyaction.sim.tightening.tightness import stretched, tightness

NOTES = (48, 60, 72)
KNOWN = np.arange(-1e-3, 1.6e-3, 0.1e-3)
RODS = tuple(
    RunRod(name, before, behind, along, 1.0, None, 1.2e-3, False)
    for name, before, behind, along in (
        ("riser", "key", "floor-square", (0.0, 0.0, -1.0)),
        ("level-tracker", "floor-square", "back-square", (0.0, -1.0, 0.0)),
        ("riser-behind", "back-square", "roller", (0.0, 0.0, 1.0)),
        ("pull-down", "roller", "pallet", (0.0, 0.0, 1.0)),
    )
)


@pytest.fixture(scope="module")
def trains():
    case = read_instrument("demo-instrument").divisions["behind"]
    return {note: train_of(case, note) for note in NOTES}


@pytest.fixture(scope="module")
def ways(trains):
    return {note: {rod.name: rigid(train).way(rod.name) for rod in RODS} for note, train in trains.items()}


def known(trains, ways, rod):
    return tightness(trains, dict.fromkeys(NOTES, rod), {note: ways[note][rod] for note in NOTES}, KNOWN)


@pytest.fixture(scope="module")
def tight(trains, ways):
    return known(trains, ways, "riser")


def held_by(on, tight, ways, rod="riser"):
    pulled = {note: pulls_on_rail(on, tight[note], RODS) for note in NOTES}
    return Held.of(on, tight, {note: gain(on, RODS, ways[note], rod) for note in NOTES}, pulled)


def test_a_rail_that_sinks_draws_the_riser_alone_a_level_rail_the_level_tracker():
    assert shifts_on_rail(rail(), RODS) == {}
    assert shifts_on_rail(Rail(("floor-square",), "down", 1.0, 5.0), RODS) == {"riser": 1.0, "level-tracker": 0.0}
    both = shifts_on_rail(Rail(("floor-square", "back-square"), "back", 1.0, 5.0), RODS)
    assert both == {"riser": 0.0, "level-tracker": 0.0, "riser-behind": 0.0}


def test_one_rod_stands_for_all(trains, ways, tight):
    """The same rail, referred to the pull-down in place of the riser: the same place, within what levers' turns do."""
    on = Rail(("floor-square",), "down", 0.3, 3.0)
    riser = held_by(on, tight, ways)
    wire = held_by(on, known(trains, ways, "pull-down"), ways, "pull-down")
    at = np.zeros((3, 1))
    assert wire.course(at).place == pytest.approx(riser.course(at).place, abs=2e-6)
    assert wire.pulls(at, np.zeros(1)) == pytest.approx(riser.pulls(at, np.zeros(1)), abs=1e-3)


def test_set_to_their_shares_they_hold_the_rail_at_its_centre(tight, ways):
    on = Rail(("floor-square",), "down", 0.3, 1.5)
    held = held_by(on, tight, ways)
    set_ = centred(held)
    assert set_.opens == set_.heavy == ()
    assert set_.pulls == pytest.approx([0.5] * 3, rel=1e-9)
    assert held.course(set_.stretch[:, None]).place == pytest.approx(0.0, abs=1e-9)
    assert np.all(set_.stretch > held.taut) and np.all(set_.stretch < held.opens)
    # lost motion of the case at its riser behind, 0.3 mm: from there on the riser pulls
    assert held.taut == pytest.approx([0.3e-3] * 3, rel=1e-3)


def test_small_changes_go_by_the_mean_weighed_by_stiffness_and_friction_by_its_dead_band(tight, ways):
    on = Rail(("floor-square",), "down", 0.3, 3.0, friction=0.02)
    held = held_by(on, tight, ways)
    base = centred(held).stretch
    small = np.outer([20e-6, 5e-6, -8e-6], [1.0, -1.0])
    free = held.loaded(3.0, friction=0.0).course(base[:, None] + small)
    slopes = np.array([(c.at(s + 1e-6) - c.at(s - 1e-6)) / 2e-6 for c, s in zip(held.curves, base, strict=True)])
    by_hand = -(slopes @ small) / slopes.sum()
    assert weighted_mean(held, base, small) == pytest.approx(by_hand, rel=1e-6)
    # the pull bends between nodes 0.1 mm apart: closed form within 5 %, the felt being no spring of one rate
    assert free.place == pytest.approx(by_hand, rel=0.05)
    course = held.course(base[:, None])
    assert (course.upper - course.lower) / 2 == pytest.approx(dead_band(held, base), rel=0.05)


def test_the_same_place_by_scipy_over_a_year(tight, ways):
    on = Rail(("floor-square",), "down", 0.3, 2.0, rate=40.0)
    held = held_by(on, tight, ways)
    base = centred(held).stretch
    stretch = base[:, None] + np.outer([0.8e-3, 0.5e-3, 1.0e-3], np.sin(np.arange(12) / 12 * 2 * np.pi))
    pulled = {note: tight[note].pulls["riser"] for note in NOTES}
    course = rail_course(on, tight, dict.fromkeys(NOTES, 1.0), pulled, stretch)

    def over(z, day):
        drawn = zip(stretch, NOTES, strict=True)
        return sum(np.interp(s[day] + z, tight[n].stretch, pulled[n]) for s, n in drawn) - 2.0 + 40 * z

    assert course.place == pytest.approx([brentq(over, -3e-3, 3e-3, (d,), xtol=1e-12) for d in range(12)], abs=1e-9)


def test_under_a_vanishing_load_the_tightest_rod_decides(tight, ways):
    held = held_by(Rail(("floor-square",), "down", 0.3, 0.0), tight, ways)
    weight = sum(curve.least for curve in held.curves)
    stretch = np.array([[0.2e-3], [0.9e-3], [0.1e-3]])
    course = held.loaded(weight + 2e-3).course(stretch)
    assert course.place == pytest.approx(tightest_rod(held, stretch), abs=5e-6)
    assert tightest_rod(held, stretch) == pytest.approx(0.3e-3 - 0.9e-3, abs=2e-6)


def test_a_played_note_pulls_as_its_pluck_and_the_pluck_is_as_hard_however_tight(trains, tight, ways):
    on = Rail(("floor-square",), "down", 0.3, 1.5)
    held = held_by(on, tight, ways)
    base = centred(held).stretch
    presses = [press(NoteModel(stretched(trains[60], "riser", by))) for by in (0.0, float(base[1]))]
    pulls = [pulls_when_pressed(on, one, RODS) for one in presses]
    assert presses[1].pluck_force == pytest.approx(presses[0].pluck_force, rel=1e-5)
    assert presses[1].pluck_point < presses[0].pluck_point
    assert pulls[1].pluck == pytest.approx(pulls[0].pluck, rel=1e-5)
    # held down: the spring and what wind is left on the open pallet, at the eye; every way of this run is as the eye's
    pallet = trains[60].role("pallet")
    spring, wind = pallet.figure("closing_no_wind"), pallet.figure("wind_at_eye")
    assert 0.8 * spring < pulls[0].held < pulls[0].pluck < 1.1 * (spring + wind)
    shift = shift_when_played(held, base, {60: pulls[0].pluck})
    assert shift.at_stop == -1 and set(shift.slack) == {48, 72}  # it pulls more than the whole load


def test_two_ways_to_the_pull_that_opens_a_pallet(trains, ways):
    """Under a finger, without the friction that way down and way up have on either side; and by a rod drawn up."""
    found = press(NoteModel(trains[60]))
    force = found.down.balance.kernel.element("riser").force
    under_a_finger = [way.at(way.place("seat_gap", 0.0), way[force]) for way in (found.down, found.up)]
    near = np.arange(1.42e-3, 1.46e-3, 4e-6)
    drawn_up = tightness({60: trains[60]}, {60: "riser"}, {60: ways[60]["riser"]}, near)[60]
    assert np.mean(under_a_finger) == pytest.approx(
        float(drawn_up.at(drawn_up.pulls["riser"], drawn_up.opens)), rel=2e-3
    )
