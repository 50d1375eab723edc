"""Which adjustment first: nuts ranked, common before single, the opposite season, a hung key; by hand."""

from dataclasses import replace

import numpy as np
import pytest
from made_up_season import EYE, LIFT, MARGIN, PLAY, WAYS, a_bench, a_division, a_note, a_year

from keyaction.models.climate.year import DAY
from keyaction.models.frame.rail import Rail
from keyaction.sim.floating.course import RailCourse
from keyaction.sim.seasons.adjust import CannotAdjust, adjust, adjust_all, comes_round, outside, returns
from keyaction.sim.seasons.advice import THREAD, Limits, Place, Window
from keyaction.sim.seasons.allowed import window
from keyaction.sim.seasons.together import share_of_mean

NOTES = range(60, 69)
YEAR = a_year([0.55, 0.3, 0.75, 0.55])
SPELL = np.array([0.0, 1.5e-3, -0.4e-3, 0.0])
"""m: tight on the second day, slack on the third."""
SLOW = Limits(short=0.0)
"""Nothing is waited for."""


def advice(notes, note=64, places=(), limits=SLOW, year=YEAR, **more):
    season = a_division(notes, year, **more)
    return adjust(season, note, bench=a_bench(season.notes, places), limits=limits)


def all_alike(balanced=True):
    return [a_note(note, SPELL, balanced=balanced) for note in NOTES]


def one_over_tight(by=0.9e-3):
    own = [a_note(note, 0.3 * SPELL) for note in NOTES]
    own[4] = a_note(64, 0.3 * SPELL, MARGIN - by)
    return own


RAIL = Place("rail", "rail", "down", dict.fromkeys(NOTES, 2.0))
FRAME = Place("key frame", "frame", "up", dict.fromkeys(NOTES, -1.0))


# -- nuts ----------------------------------------------------------------------------------------------------
def test_nuts_are_ranked_by_pitch_over_way():
    found = advice(one_over_tight()).joints
    assert [one.rod for one in found] == ["riser", "level", "drop"]
    assert [one.turn for one in found] == pytest.approx([THREAD / WAYS[one.rod] for one in found])
    assert [one.pressed for one in found] == pytest.approx([one.turn for one in found])


def test_turns_that_clear_and_that_keep_the_margin():
    """Margin 1.2 - 0.9 - 0.45 = -0.15 mm; at the riser one turn is 0.8 mm at the key."""
    told = advice(one_over_tight())
    assert told.margin == pytest.approx(-0.15e-3) and told.sounds
    riser = told.joints[0]
    assert riser.clears == pytest.approx(0.15 / 0.8)
    assert riser.keeps == pytest.approx(0.35 / 0.8)


def test_what_one_turn_does_on_that_day():
    told = advice(one_over_tight())
    level = next(one for one in told.joints if one.rod == "level")
    assert level.after["margin"] == pytest.approx(told.margin + 0.5e-3)
    assert level.after["lost_motion"] == pytest.approx(PLAY - 0.45e-3 + 0.5e-3)
    assert level.after["steady_lift"] == pytest.approx(LIFT + EYE * (0.45e-3 - 0.5e-3))
    assert level.after["level"] == pytest.approx(0.0)


# -- common before single ------------------------------------------------------------------------------------
def test_what_the_mean_explains():
    assert share_of_mean(np.full(5, 0.3)) == pytest.approx(1.0)
    assert share_of_mean(np.array([0.0, 0.0, 1.0, 0.0])) == pytest.approx(1 / 4)
    assert np.isnan(share_of_mean(np.zeros(3)))


def test_all_moved_alike_the_common_adjuster_goes_first():
    told = advice(all_alike(), places=(FRAME, RAIL))
    assert told.first == "common" and told.share == pytest.approx(1.0) and not told.alone
    assert [one.place.name for one in told.commons] == ["rail", "key frame"]
    assert told.commons[0].undoes == pytest.approx(-1.5e-3 / 2)  # down draws tighter: up, half of 1.5 mm
    assert told.commons[1].undoes == pytest.approx(1.5e-3)


def test_the_common_adjuster_stands_in_the_middle_of_the_year():
    """Least 0.2 - (1.2 - 1.5) = 0.5 mm; most: play 1.5 - 1.4 = 0.1 mm, lift (5.0 - 0.4) - 4.5 = 0.1 mm... not open."""
    wide = replace(SLOW, balanced=(0.5e-3, 3e-3), lift=0.5)
    told = advice(all_alike(), places=(RAIL,), limits=wide)
    middle = (0.5e-3 + (3e-3 - 1.4e-3)) / 2
    assert told.window.middle == pytest.approx(middle)
    assert told.commons[0].year == pytest.approx(-middle / 2)
    assert told.commons[0].outside == ()
    assert told.commons[0].after[64] == pytest.approx(MARGIN - 1.5e-3 + middle)


def test_notes_that_the_common_adjuster_does_not_serve_are_named():
    notes = all_alike()
    notes[0] = a_note(60, SPELL, MARGIN - 1e-3)  # at least 1.5 mm, at most 1.6; the others stand at 1.05 mm
    notes[8] = a_note(68, SPELL, MARGIN - 2e-3)  # at least 2.5 mm
    told = advice(notes, places=(RAIL,), limits=replace(SLOW, balanced=(0.5e-3, 3e-3), lift=0.5))
    assert told.first == "common"
    assert (told.commons[0].outside, told.commons[0].shut) == ((60,), (68,))


def test_one_note_over_tight_its_own_nut_goes_first():
    told = advice(one_over_tight(), places=(RAIL, FRAME))
    assert told.first == "nut" and told.alone
    assert told.over_tight == pytest.approx(0.9e-3) and told.moved == pytest.approx(0.0)


def test_what_the_season_did_to_one_note_alone_is_told_apart():
    notes = [a_note(note, 0.1 * SPELL) for note in NOTES]
    notes[4] = a_note(64, SPELL, MARGIN - 0.2e-3)
    told = advice(notes)
    assert told.alone and told.share < 0.6
    assert told.over_tight == pytest.approx(0.2e-3 + 0.9 * 1.5e-3)
    assert told.moved == pytest.approx(0.9 * 1.5e-3)


def test_a_note_whose_own_neighbours_are_well_has_its_own_fault():
    """Twelve others far up the keyboard lack margin with it."""
    notes = [a_note(note, SPELL, MARGIN if note >= 69 or note == 64 else 3e-3) for note in range(60, 81)]
    told = advice(notes, places=(Place("rail", "rail", "down", dict.fromkeys(range(60, 81), 2.0)),))
    assert told.lacking == 13 and told.alone and told.first != "common"


def test_notes_that_did_not_move_alike_have_no_common_cure():
    notes = [a_note(note, (-1) ** note * 0.3 * SPELL, 0.05e-3 + (-1) ** note * 0.45e-3) for note in NOTES]
    told = advice(notes, places=(RAIL,))
    assert told.lacking == 9 and told.share == pytest.approx(1 / 81) and told.first != "common"


# -- the rail ------------------------------------------------------------------------------------------------
def course(rail, stop=0.0, band=0.0):
    flat = np.zeros(len(YEAR))
    return RailCourse(rail, flat, flat - band, flat + band, flat, flat + stop, {})


@pytest.mark.parametrize(
    ("fixed", "stop", "band", "state", "first"),
    [
        (True, 0, 0.0, "fixed", "common"),
        (False, -1, 0.0, "stop", "rail"),
        (False, 1, 0.0, "load", "rail"),  # against the stop ahead it is its load that draws the runs
        (False, 0, 1e-3, "friction", "rail"),
        (False, 0, 0.1e-3, "load", "rail"),
    ],
)
def test_a_rail_that_floats_is_looked_after_itself(fixed, stop, band, state, first):
    rail = Rail(("square",), "down", 1.0, 10.0, fixed=fixed)
    told = advice(all_alike(), places=(RAIL, FRAME), rail=rail, course=None if fixed else course(rail, stop, band))
    assert (told.rail, told.first) == (state, first)
    assert told.further == pytest.approx(-1.5e-3 / 2)
    left = {"fixed": ["rail", "key frame"], "stop": ["key frame"]}.get(state, [])
    assert [one.place.name for one in told.commons] == left


# -- the opposite season -------------------------------------------------------------------------------------
def test_a_cure_in_the_spell_leaves_the_opposite_fault():
    """0.35 mm looser for the margin; on the slack day play was 1.12 mm, and lift 4.88 mm."""
    told = advice(one_over_tight(), limits=replace(SLOW, balanced=(0.5e-3, 1.4e-3)))
    other = told.opposite
    assert other.day == 2
    assert other.now["lost_motion"] == pytest.approx(PLAY + 0.12e-3)
    assert other.cleared["lost_motion"] == pytest.approx(PLAY + 0.12e-3 + 0.35e-3)
    assert other.cleared["steady_lift"] == pytest.approx(LIFT - 0.12e-3 - 0.35e-3)
    assert other.faults == ("play",)


def test_too_little_lift_is_an_opposite_fault():
    told = advice(one_over_tight(), limits=replace(SLOW, lift=0.95))
    assert told.opposite.faults == ("lift",)  # 4.53 mm of 4.75


def test_no_turn_serves_when_the_year_moves_more_than_there_is_room():
    told = advice(all_alike())
    assert not told.window.open and told.first == "material"
    assert told.window.least - told.window.most == pytest.approx(0.4e-3)
    assert told.joints[0].year == pytest.approx((0.5 + 0.1) / 2 / 0.8)  # as much of one fault as of the other


def test_the_window_of_one_note():
    one = a_note(64, SPELL)
    found = window(one, EYE, Limits())
    assert found.least == pytest.approx(0.2e-3 - (MARGIN - 1.5e-3))
    assert found.most == pytest.approx(1.5e-3 - (PLAY + 0.4e-3))
    by_lift = window(one, 0.5, Limits(lift=0.9, balanced=(0.5e-3, 9e-3)))
    assert by_lift.by == "lift" and by_lift.most == pytest.approx((0.1 * LIFT - 0.4e-3) / 0.5)


@pytest.mark.parametrize(
    ("least", "most", "middle"),
    [(0.1, 0.5, 0.3), (-np.inf, 0.5, 0.0), (-np.inf, -0.5, -0.5), (0.2, np.inf, 0.2), (-0.2, np.inf, 0.0)],
)
def test_the_middle_of_what_is_allowed(least, most, middle):
    assert Window(least, most, "").middle == pytest.approx(middle)


# -- a hung key ----------------------------------------------------------------------------------------------
def test_a_hung_key_moves_its_level_and_not_its_play():
    notes = [a_note(note, 0.3 * SPELL, balanced=False) for note in NOTES]
    notes[4] = a_note(64, 0.3 * SPELL, MARGIN - 0.9e-3, balanced=False)
    told = advice(notes)
    level = next(one for one in told.joints if one.rod == "level")
    assert level.after["level"] == pytest.approx(0.45e-3 - 0.5e-3)
    assert level.after["lost_motion"] == pytest.approx(0.0)
    assert level.pressed == pytest.approx(level.turn)  # the key sinks by it, the pluck stays as far below its rest
    assert told.opposite.faults == ("level",)  # 0.35 mm below its neighbours
    assert told.window.by == "lift"


def test_hung_keys_turned_together_do_not_stand_out():
    told = advice(all_alike(balanced=False), places=(RAIL,))
    assert told.first == "common" and "level" not in told.opposite.faults


# -- waiting -------------------------------------------------------------------------------------------------
def test_a_short_spell_outside_guidance_is_waited_for():
    told = advice(all_alike(), places=(RAIL,), limits=Limits())
    assert (
        (told.first, told.otherwise) == ("wait", "common") and told.returns == pytest.approx(DAY) and "30" in told.spell
    )
    inside = a_year([0.55, 0.45, 0.55, 0.55])
    assert advice(all_alike(), places=(RAIL,), limits=Limits(), year=inside).first == "common"


def test_when_the_margin_comes_back():
    margin = np.array([1.0, -1.0, -1.0, 1.0])
    assert returns(YEAR, margin, 1, 0.5) == pytest.approx(2 * DAY)
    assert returns(YEAR, margin, 0, 0.5) == 0.0
    assert np.isnan(returns(YEAR, -margin, 3, 0.5))


def test_a_whole_year_comes_round_again():
    year = a_year(np.linspace(0.4, 0.6, 365))
    margin = np.full(365, -1.0)
    margin[10] = 1.0
    assert returns(year, margin, 360, 0.5) == pytest.approx(15 * DAY)
    assert comes_round(year) and not comes_round(YEAR)


def test_a_steady_state_of_365_days_does_not_come_round():
    steady = a_year(np.full(365, 0.3))
    margin = np.full(365, -1.0)
    margin[10] = 1.0
    assert not comes_round(steady) and np.isnan(returns(steady, margin, 360, 0.5))


def test_guidance_of_the_day():
    assert outside(YEAR, 0) == "" and "30%" in outside(YEAR, 1).replace("\u00a0", "") and outside(YEAR, 2)


# -- edges ---------------------------------------------------------------------------------------------------
def test_a_note_with_margin_enough_is_left_alone():
    told = advice([a_note(note, 0.1 * SPELL) for note in NOTES])
    assert told.first == "nothing" and told.lacks == 0.0


def test_one_note_alone_in_its_season():
    told = advice([a_note(64, SPELL)], limits=replace(SLOW, balanced=(0.5e-3, 3e-3), lift=0.5))
    assert told.first == "nut" and not told.alone and told.of == 1


def test_all_notes_that_lack_margin():
    notes = one_over_tight()
    season = a_division(notes, YEAR)
    assert [one.note for one in adjust_all(season, bench=a_bench(season.notes))] == [64]
    assert adjust_all(season, day=2, bench=a_bench(season.notes)) == ()


def test_what_cannot_be_adjusted_says_why():
    season = a_division(all_alike(), YEAR)
    with pytest.raises(CannotAdjust, match="C2"):
        adjust(season, 36, bench=a_bench(season.notes))
    failed = replace(season.notes[64], failed="the key does not return")
    season = a_division([failed], YEAR)
    with pytest.raises(CannotAdjust, match="does not return"):
        adjust(season, 64, bench=a_bench(season.notes))
