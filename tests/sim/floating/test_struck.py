"""Struck notes and their neighbours: a light rail lets quiet notes sound though statics holds."""

from dataclasses import replace

import numpy as np
import pytest
from rails import behind, rail, regulated, run_of

from keyaction.cases.action.trains import train_of
from keyaction.sim.floating.nuts import with_nuts_set
from keyaction.sim.floating.places import holds_of
from keyaction.sim.floating.struck import pressed_slowly, strike
from keyaction.sim.motion.drives import Drive, Piece, quintic, stroke

STRUCK, QUIET = ("C4",), ("G4", "A4", "B4")
NOTES = (*STRUCK, *QUIET)
LIGHT = rail(0.7 * len(NOTES), mass=0.05)


@pytest.fixture(scope="module")
def laid():
    return regulated(NOTES, LIGHT)


def played(laid, of, drives=None, struck=STRUCK):
    short = {name: stroke(0.04, 0.06, 0.04, 1.1 * laid[0][name].dip, rest=0.08) for name in struck if name in laid[0]}
    return strike(*laid, of, struck, behind().strokes, drives or short)


@pytest.fixture(scope="module")
def light(laid):
    return played(laid, LIGHT)


@pytest.fixture(scope="module")
def slowly(laid):
    return played(laid, LIGHT, pressed_slowly(laid[0], STRUCK, behind().strokes))


@pytest.mark.long
def test_statics_holds_and_the_stroke_makes_all_quiet_notes_sound(light, slowly):
    assert slowly.sounding == ()
    assert slowly.least_seat_load > 1.0
    assert light.sounding == QUIET
    assert light.by_motion(slowly) == QUIET
    assert not any(one.at_rest or one.when_held for one in light.quiet.values())
    assert light.least_seat_load == 0.0


def test_the_work_closes_in_both(light, slowly):
    for one in (light, slowly):
        assert one.motion.status.ok
        assert abs(one.motion.audit.residual) < 1e-4 * one.motion.audit.throughput


def test_keys_let_go_together_let_overtight_neighbours_sound(laid):
    """The keys go down slowly and are let go in 6 ms; the quiet notes' nuts hold three times as much of the load."""
    names, rods = ("C4", "D4", "E4", *QUIET), laid[1] | {name: run_of(name) for name in ("D4", "E4")}
    share = dict.fromkeys(names, 0.5) | dict.fromkeys(QUIET, 1.55)
    of = rail(sum(share.values()), mass=0.05, friction=0.4)
    trains = {name: train_of(behind(), name) for name in names}
    trains = with_nuts_set(trains, {name: holds_of(rods[name], of) for name in names}, of, share)
    lift, depth = 0.4, 1.1 * trains["C4"].dip
    let_go = Drive(
        "motion",
        (
            quintic(0.0, 0.35, 0.0, depth),
            Piece(0.35, lift, (depth,)),
            quintic(lift, lift + 0.006, depth, 0.0),
            Piece(lift + 0.006, lift + 0.08),
        ),
        marks=(("press", 0.0), ("bottom", 0.35), ("lift", lift)),
    )
    found = played((trains, rods), of, dict.fromkeys(names[:3], let_go), names[:3])
    assert found.sounding == QUIET
    assert all(one.loudest_at > lift and not one.at_rest and not one.when_held for one in found.quiet.values())
    before = found.motion.t < lift
    for name in found.quiet:
        assert found.motion.notes[name]["groove_pressure"][before].max() < 0.02 * trains[name].box_pressure


@pytest.mark.parametrize("how", [{"mass": 2.0}, {"friction": 1.0}, {"fixed": True}])
def test_mass_friction_or_a_fixed_rail_cure_it(laid, light, how):
    cured = played(laid, replace(LIGHT, **how))
    assert cured.sounding == ()
    assert cured.least_seat_load > 0.2
    assert np.ptp(cured.motion.place) < 0.7 * np.ptp(light.motion.place)


def test_figures_say_how_far_the_rail_goes(light, slowly):
    assert light.rest == pytest.approx(0.0, abs=10e-6)
    assert -0.5e-3 < light.at_pluck < -0.1e-3
    assert abs(light.held) < abs(light.at_pluck)
    assert not light.hits
    assert 0.0 < light.greatest_play < 5e-3
    assert slowly.at_pluck == pytest.approx(light.at_pluck, rel=0.3)


def test_a_light_rail_trembles_on_and_friction_brings_it_to_a_stop(laid, light):
    assert not light.stops
    calmed = played(laid, replace(LIGHT, friction=0.3), {"C4": stroke(0.04, 0.06, 0.04, 0.011, rest=0.2)})
    assert calmed.stops


def test_a_rail_drawn_to_its_stop_is_told(laid):
    found = played(laid, replace(LIGHT, behind=0.05e-3))
    assert found.hits
    assert abs(found.at_pluck) < 0.5 * abs(LIGHT.behind)


def test_nobody_strikes_and_nothing_happens(laid):
    found = played(laid, LIGHT, struck=())
    assert found.sounding == ()
    assert max(abs(found.at_pluck), abs(found.rebound)) < 1e-7
    assert found.stops


def test_a_note_that_is_not_there_and_a_rail_without_levers(laid):
    with pytest.raises(ValueError, match="no C9 on this rail"):
        played(laid, LIGHT, struck=("C9",))
    with pytest.raises(ValueError, match="no rod joins a lever of the rail"):
        played(laid, replace(LIGHT, carries=("nothing",)))
