"""A chord of a case: its figures against those of single notes, and against playing with what should carry it."""

import math

import pytest

import keyaction as ka
from keyaction.cases.action.reader import read_case
from keyaction.sim.chord.of_case import chord, members_of
from keyaction.sim.chord.problem import ChordProblem
from keyaction.sim.chord.sheet import openings_sheet, sentences
from keyaction.sim.run.run import run

NARROW = {"box.trunk.area": "25 cm^2"}


@pytest.fixture(scope="module")
def found():
    return chord(read_case("demo-wood", set_=NARROW), "C2 G2 C3", stops="all", repeat=5.0)


def test_alone_is_what_run_has_to_the_last_digit(found):
    result = run(read_case("demo-wood"), "C3")
    held = chord(read_case("demo-carbon"), "C3 E3")  # nothing is said of its supply
    carbon = run(read_case("demo-carbon"), "C3")
    assert held.boxes[0].holds
    (one,) = (note for note in held.notes if note.name == "C3")
    for name, alone, under in (
        ("opening_time", one.alone.opening, one.under.opening),
        ("speech_delay", one.alone.speech, one.under.speech),
        ("release_delay", one.alone.release, one.under.release),
        ("pluck_force", one.pluck_alone, one.pluck_under),
    ):
        assert alone == under == carbon.value(name, "C3"), name
    assert one.of_rest == pytest.approx(carbon.value("groove_share", "C3"), rel=2e-4)  # below 1 Pa flow creeps
    wood = next(note for note in found.notes if note.name == "C3")  # other stops drawn, which no pluck depends on
    assert wood.pluck_alone == pytest.approx(result.value("pluck_force", "C3"), rel=1e-9)


def test_under_the_chord_notes_pluck_lighter_and_speak_later(found):
    box = found.boxes[0]
    assert not box.holds
    for one in found.notes:
        assert one.pluck_under < one.pluck_alone
        assert one.under.speech > one.alone.speech
        assert one.of_rest == pytest.approx(one.of_now * box.steady / box.pressure, rel=1e-12)
    assert 0.0 < box.sag < box.deepest_sag < 1.0


def test_what_is_held_is_played_too(found):
    box = found.boxes[0]
    assert box.held == pytest.approx(box.steady, rel=1e-3)
    assert box.unstill < 1e-3
    assert found.with_trunk == pytest.approx(0.9, abs=1e-3)
    assert found.with_pallets == pytest.approx(0.9, abs=1e-3)


@pytest.mark.parametrize("kind", ["two-pallets", "relief-pallet"])
def test_all_that_opens_into_a_groove_counts_in_its_least_opening(kind):
    """Second way: both pallets, or both pieces of one, so small are played, and the groove has just 90 %."""
    found = chord(read_case(kind), "C2")
    assert found.notes[0].of_rest > 0.95
    assert found.notes[0].scale < 0.7
    assert found.with_pallets == pytest.approx(0.9, abs=1e-3)


@pytest.mark.long
def test_a_box_that_swings_long_is_held_until_it_is_still():
    """A wide trunk with little flow swings for seconds; what is read at the end is steady all the same."""
    (box,) = chord(ka.read_instrument("demo-instrument"), "C3 E3 G3", division="behind").boxes
    assert box.held == pytest.approx(box.steady, rel=2e-4)
    assert box.unstill < 1e-3


def test_the_sag_counts_until_the_keys_are_let_go_and_does_not_hang_on_what_the_trunk_loses():
    """A tenth of the loss of heads changes the first dip by nothing, the swing once the keys are up by a tenth."""
    weak, strong = (
        chord(read_case("demo-wood", set_={"box.trunk.loss": loss}), "C3 E3 G3 C4", stops="all")
        for loss in ("0.5", "6")
    )
    (one,), (other,) = weak.boxes, strong.boxes
    course = weak.played.boxes["box"]
    down = weak.played.t <= next(iter(weak.played.notes.values())).drive.mark("lift")
    assert one.deepest == course.pressure[down].min() > one.after == course.pressure.min()
    assert one.deepest_sag == pytest.approx(other.deepest_sag, abs=5e-4)
    assert (1 - one.after / one.pressure) / (1 - other.after / other.pressure) > 1.05
    told = " ".join(sentences(weak, "trade"))
    assert "at its lowest while the keys are down" in told
    assert "Once they are let go it swings, down to" in told


def test_areas_of_the_chord_say_what_they_are_and_where_lengths_are(found):
    sheet = openings_sheet(found, "trade")
    assert [column.heading for column in sheet.columns[1:3]] == ["opening\nx coeff.", "toes x\ncoeff."]
    assert "'keyaction pallets' with --chord" in sheet.note


def test_two_figures_of_ninety_per_cent():
    # A trunk so narrow that the box itself falls by more than a tenth; the pallets are wide enough.
    found = chord(read_case("demo-wood", set_={"box.trunk.area": "8 cm^2"}), "C2 D2 E2", stops="all")
    assert not found.carries
    assert found.carries_now
    assert found.boxes[0].trunk > 8e-4


def test_robbing_grows_with_the_stops(found):
    shares = [one.of_rest for one in found.robbing]
    assert len(shares) == 5
    assert shares == sorted(shares, reverse=True)
    least = min(one.of_rest for one in found.notes)
    assert shares[-1] == pytest.approx(least, rel=1e-12)  # all stops are drawn


def test_repeated(found):
    again = found.repeated
    assert again.rate == 5.0
    assert again.lowest["box"] < found.boxes[0].pressure < again.highest["box"]
    assert set(again.failing) <= {"C2", "G2", "C3"}


@pytest.mark.long
def test_a_chord_of_one_note_and_no_stop():
    found = chord(read_case("demo-wood"), ["C4"], stops="none")
    (one,) = found.notes
    assert found.stops == ()
    assert one.pluck_under == one.pluck_alone  # nobody else draws wind
    assert one.of_rest == pytest.approx(1.0, abs=1e-5)
    assert found.carries


def test_no_wind_is_said():
    found = chord(read_case("demo-wood", set_={"box.pressure": "0 Pa"}), "C4")
    assert math.isnan(found.notes[0].of_rest)
    assert not found.carries


# -- how a chord is written ----------------------------------------------------------------------------------
def test_notes_with_spaces_or_commas():
    case = read_case("demo-wood")
    assert [one.name for one in members_of(case, "C3, E3  G3")[0]] == ["C3", "E3", "G3"]


@pytest.mark.parametrize(
    ("notes", "words"),
    [
        ("", "the chord has no note"),
        (" , ", "the chord has no note"),
        ("C3 C9", "'C9' is outside the compass C2 to G6"),
        ("C3 H", "'H' is not a note in scientific naming"),
        ("C3 E3 c3", "'C3' stands 2 times in the chord; a key is down once"),
        ("great/C3", "'great/C3': an action case has no divisions"),
    ],
)
def test_notes_that_are_no_chord(notes, words):
    with pytest.raises(ChordProblem) as told:
        chord(read_case("demo-wood"), notes)
    assert words in str(told.value)


def test_every_defect_is_told_at_once():
    with pytest.raises(ChordProblem) as told:
        chord(read_case("demo-wood"), "C9 D9", repeat=99.0)
    assert len(told.value.defects) == 3


def test_notes_of_an_instrument_each_draw_from_their_division_s_box():
    instrument = ka.read_instrument("demo-instrument")
    found, _ = members_of(instrument, "high/C4 C4 behind/E4", division="behind")
    assert [one.name for one in found] == ["high/C4", "behind/C4", "behind/E4"]
    assert [set(one.boxes.values()) for one in found] == [{"high"}, {"behind"}, {"behind"}]
    with pytest.raises(ChordProblem, match=r"'C4': of which division\? write high/C4"):
        members_of(instrument, "C4")
    with pytest.raises(ChordProblem, match="no division 'hihg'; did you mean 'high'"):
        members_of(instrument, "hihg/C4")
