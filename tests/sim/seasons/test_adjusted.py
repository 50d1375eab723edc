"""What is advised for a note, as sentences and sheets."""

from dataclasses import replace

import numpy as np
import pytest
from made_up_season import MARGIN, a_bench, a_division, a_note, a_year

from keyaction.models.frame.rail import Rail
from keyaction.sim.floating.course import RailCourse
from keyaction.sim.seasons.adjust import adjust
from keyaction.sim.seasons.adjusted import commons_sheet, joints_sheet, notes_sheet, opposite_sheet, told
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
