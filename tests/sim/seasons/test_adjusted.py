"""What is advised for a note, as sentences and sheets."""

from dataclasses import replace

import numpy as np
import pytest
from made_up_season import MARGIN, a_bench, a_division, a_note, a_year

from keyaction.models.frame.rail import Rail
from keyaction.sim.floating.course import RailCourse
from keyaction.sim.seasons.adjust import adjust
from keyaction.sim.seasons.adjusted import commons_sheet, joints_sheet, notes_sheet, opposite_sheet, told, turned_sheet
from keyaction.sim.seasons.adjusted_words import turns
from keyaction.sim.seasons.advice import Limits, Place

YEAR = a_year([0.55, 0.3, 0.75, 0.55])
SPELL = np.array([0.0, 1.5e-3, -0.4e-3, 0.0])
NOTES = range(60, 69)
RAIL = Place("rail", "rail", "down", dict.fromkeys(NOTES, 2.0))
WIDE = Limits(balanced=(0.5e-3, 3e-3), lift=0.5, short=0.0)


def advice(notes, limits=WIDE, places=(RAIL,)):
    season = a_division(notes, YEAR)
    return adjust(season, 64, bench=a_bench(season.notes, places), limits=limits)


def over_tight():
    notes = [a_note(note, 0.3 * SPELL) for note in NOTES]
    notes[4] = a_note(64, 0.3 * SPELL, MARGIN - 0.9e-3)
    return advice(notes)


def alike(limits=WIDE):
    return advice([a_note(note, SPELL) for note in NOTES], limits)


def said(one, units="trade"):
    return " ".join(told(one, YEAR, units))


def test_common_before_single_in_words():
    words = said(alike())
    assert "note 64 sounds unplayed on day 2: its run is 0.3 mm too tight" in words
    assert "before any single nut: the rail 0.525 mm up" in words  # the middle of 0.5 and 1.6 mm, over a gain of 2
    assert "0.75 mm up would undo what this day did" in words
    assert "100\u00a0%" in words


def test_a_single_nut_in_words():
    words = said(over_tight())
    assert "First: its own nut, riser, 1.5 turns looser" in words  # the middle of 0.35 and 1.88 mm, 0.8 mm a turn
    assert "a quarter turn looser would end the sounding" in words
    assert "0.9 mm less margin than the median of its neighbours" in words


def test_what_leaves_the_opposite_fault_and_what_serves_no_year():
    words = said(alike(Limits(short=0.0)))
    assert "leaves the opposite fault: more play than the 1.5 mm" in words
    assert "No turn serves throughout the climate" in words and "floating rail" in words
    assert words.count("serves throughout") == 1


def test_waiting_in_words():
    words = said(alike(replace(WIDE, short=Limits().short)))
    assert "First: wait." in words and "in 1 day, but lets it go on sounding until day 3." in words
    assert "If it cannot wait: the common adjuster" in words


@pytest.mark.parametrize(
    ("stop", "band", "words"),
    [(-1, 0.0, "0.75 mm further"), (0, 1e-3, "band of friction"), (0, 0.0, "lighten the load"), (1, 0.0, "lighten")],
)
def test_a_floating_rail_in_words(stop, band, words):
    rail, flat = Rail(("square",), "down", 1.0, 10.0), np.zeros(len(YEAR))
    course = RailCourse(rail, flat, flat - band, flat + band, flat, flat + stop, {})
    season = a_division([a_note(note, SPELL) for note in NOTES], YEAR, rail, course)
    found = adjust(season, 64, bench=a_bench(season.notes, (RAIL,)), limits=WIDE)
    assert "First: the rail, 9 of 9 notes" in " ".join(told(found, YEAR)) and words in " ".join(told(found, YEAR))


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (0.3, "half a turn looser"),
        (0.25, "a quarter turn looser"),
        (1.1, "1.25 turns looser"),
        (-0.7, "three quarters of a turn tighter"),
        (0.0, "no turn"),
        (np.nan, "no turn"),
    ],
)
def test_turns_go_to_the_next_quarter(number, words):
    assert turns(number) == words


def test_sheets_have_a_row_for_every_nut_place_and_setting():
    one = over_tight()
    nuts, places, other = joints_sheet(one), commons_sheet(one), opposite_sheet(one, YEAR)
    assert [row[0] for row in nuts.rows] == ["riser", "level", "drop"]
    assert nuts.rows[0][2] == pytest.approx(0.8)  # mm
    assert "from memory" in nuts.note and "from memory" not in joints_sheet(replace(one, pitch=1e-3)).note
    assert [row[0] for row in places.rows] == ["rail"]
    assert [len(row) for row in other.rows] == [len(other.columns)] * 3
    assert joints_sheet(one, "si").rows[0][2] == pytest.approx(0.8e-3)
    assert notes_sheet([one], YEAR).rows[0][:6] == ["note 64", "day 2", pytest.approx(-0.15), "yes", "nut", "riser"]


# -- today and the year --------------------------------------------------------------------------------------
def too_wide():
    """Least 2 - 1.2 + 0.2 = 1.0 mm; most: lift (5 - 2) - 4.5 = -1.5 mm: the middle, -0.25, leaves it sounding."""
    spell = np.array([0.0, 2.0e-3, -2.0e-3, 0.0])
    return advice([a_note(note, spell) for note in NOTES], Limits(balanced=(0.5e-3, 9e-3), short=0.0))


def test_what_cures_today_is_said_before_what_is_least_bad_and_leaves_it_sounding():
    words = said(too_wide())
    assert "To silence it today, its margin kept: the rail 0.5 mm up" in words  # 1.0 mm over a gain of 2
    year = words.index("For the whole climate: 0.125 mm down, which is least bad")
    assert words.index("To silence it today") < year
    assert "but lets it go on sounding until day 3" in words[year:]
    assert "Or, of this note alone: riser, 1.25 turns looser, for this day" in words


def test_one_turn_that_serves_both_is_said_once():
    words = said(alike())
    assert "0.525 mm up, which silences it on this day and is least bad" in words
    assert "To silence it today" not in words and "go on sounding" not in words


def test_a_nut_that_leaves_it_sounding_says_until_when():
    own = advice([a_note(64, [0.0, 2e-3, -2e-3, 0.0])], Limits(balanced=(0.5e-3, 9e-3), short=0.0))
    words = said(own)
    assert "As a makeshift riser. To silence it today, its margin kept: 1 turn" not in words
    assert "one turn looser would end the sounding on this day, 1.25 turns looser keep the margin" in words
    assert "go on sounding until day 3" in words


def test_of_alike_nuts_that_at_the_key_or_where_play_is_written():
    notes = {64: a_note(64, SPELL)}
    season = a_division([notes[64]], YEAR)
    bench = a_bench(notes, (), {"riser": 0.8, "level": 0.8 + 1e-12, "drop": 0.8})
    first = adjust(season, 64, bench=bench, limits=WIDE)
    assert "3 of its nuts do as much a turn: take that of riser, the one nearest the key" in said(first)
    written = adjust(season, 64, bench=replace(bench, written={64: ("drop",)}), limits=WIDE)
    assert written.joints[0].rod == "drop" and "take that of drop, where the case writes play" in said(written)
    assert "do as much" not in said(over_tight())


def test_a_rail_is_spoken_of_only_where_one_floats_and_felt_only_of_what_lacks():
    one = over_tight()
    assert "rail is taken" not in joints_sheet(one).note
    assert "rail is taken" in joints_sheet(replace(one, rail="load")).note
    hung = advice([a_note(note, 0.1 * SPELL, balanced=False) for note in NOTES])
    assert "Nothing is to be turned." in said(hung) and "A hung key" not in said(hung)


def test_the_other_end_is_of_the_climate_unless_it_is_a_year():
    one = over_tight()
    assert "other end of the climate" in opposite_sheet(one, YEAR).title
    assert "other end of the year" in opposite_sheet(one, a_year(np.linspace(0.4, 0.6, 365))).title


def test_every_table_fits_80_columns():
    one = over_tight()
    for sheet in (commons_sheet(one), joints_sheet(one), turned_sheet(one, YEAR), opposite_sheet(one, YEAR)):
        assert len(list(sheet.pieces(1, 80, 2))) == 1


# -- a note that is mute -------------------------------------------------------------------------------------
MUTE = replace(WIDE, lift=0.9)


def mute(alone, margin=9e-3):
    """5.5 mm slacker on the third day: no lift is left of 5 mm; 4.5 mm are to come back, 5 mm tighter."""
    damp = np.array([0.0, 0.5e-3, -5.5e-3, 0.0])
    notes = [a_note(note, 0.01 * damp if alone and note != 64 else damp, margin) for note in NOTES]
    felt = {one.note: np.maximum(one.figures["steady_lift"], 0.0) for one in notes}
    return [replace(one, figures=dict(one.figures) | {"steady_lift": felt[one.note]}) for one in notes]


def test_a_mute_note_is_made_tighter_until_it_speaks():
    told_of = advice(mute(alone=True), MUTE)
    assert told_of.mute and told_of.day == 2 and told_of.first == "nut"
    assert told_of.speaks == pytest.approx(5.0e-3)
    words = said(told_of)
    assert "note 64 is mute on day 3" in words and "margin enough" not in words
    assert "6.25 turns tighter" in words  # 5 mm at 0.8 mm a turn
    assert "at the tightest, day 2: margin 8.5 mm to 3.5 mm. It is well there." in words


def test_what_a_mute_note_loses_at_the_dry_end_is_said():
    words = said(advice(mute(alone=True, margin=2e-3), MUTE))
    assert "margin 1.5 mm to -3.5 mm. That leaves the opposite fault: a margin below the 0.2 mm" in words
    assert "No turn serves throughout the climate" in words


def test_most_notes_mute_the_common_place_first():
    told_of = advice(mute(alone=False), MUTE)
    assert told_of.first == "common"
    assert told_of.today(told_of.commons[0]) == pytest.approx(2.5e-3)  # down draws tighter, 5 mm over a gain of 2
    words = said(told_of)
    assert "the common adjuster, before any single nut" in words and "mm down" in words
    assert "Or, of this note alone: riser, 6.25 turns tighter" in words


def test_what_the_season_calls_mute_counts_too():
    notes = [a_note(note, 0.1 * SPELL) for note in NOTES]
    notes[4] = replace(notes[4], mute=np.array([False, False, True, False]))
    assert advice(notes).mute
    season = a_division(notes, YEAR)
    other = adjust(season, 64, 1, bench=a_bench(season.notes, (RAIL,)), limits=WIDE)
    assert not other.mute and "does not open its pallet from day 3 on" in " ".join(told(other, YEAR))


def test_what_no_turn_makes_speak_is_not_said_to():
    """No note speaks on any day: there is no lift to come back to."""
    notes = [a_note(note, [-9e-3] * 4, 20e-3) for note in NOTES]
    never = [replace(one, figures=dict(one.figures) | {"steady_lift": np.zeros(4)}) for one in notes]
    told_of = advice(never, MUTE)
    assert told_of.mute and np.isnan(told_of.speaks) and told_of.first == "material"
    words = said(told_of)
    assert "no lift to come back to is known" in words and "margin enough" not in words


def test_margin_enough_but_too_much_play_on_the_slackest_day():
    """Play 1 + 0.8 mm is 0.3 mm more than 1.5: -0.3 mm, 0.375 of a turn."""
    notes = [a_note(note, [0.0, 0.1e-3, -0.8e-3, 0.0], 9e-3) for note in NOTES]
    words = said(advice(notes, Limits(lift=0.5)))
    assert "its slackest has too much play: riser" in words and "turns tighter, for that" in words
