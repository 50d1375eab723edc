"""Orders of a chest: each is all of its notes once, and each word means what it says."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from keyaction.models.instrument.orders import ORDERS, check_order, order_notes
from keyaction.models.notes import note_name

OCTAVES = tuple(range(36, 60))
COMPASS = st.sets(st.integers(0, 127), min_size=1).map(lambda notes: tuple(sorted(notes)))


def named(name, first="left", notes=OCTAVES):
    return " ".join(note_name(note) for note in order_notes(notes, name, first))


def test_chromatic():
    assert named("chromatic") == " ".join(note_name(note) for note in OCTAVES)


def test_two_sides_are_whole_tone_rows_with_the_basses_outside():
    assert named("two-sides") == ("C2 D2 E2 F#2 G#2 A#2 C3 D3 E3 F#3 G#3 A#3 B3 A3 G3 F3 D#3 C#3 B2 A2 G2 F2 D#2 C#2")


def test_thirds_are_four_rows_with_basses_at_the_ends_and_in_the_middle():
    assert named("thirds") == ("C2 E2 G#2 C3 E3 G#3 A#3 F#3 D3 A#2 F#2 D2 D#2 G2 B2 D#3 G3 B3 A3 F3 C#3 A2 F2 C#2")


def test_symmetric_orders_go_by_turns():
    assert named("basses-outside", notes=OCTAVES[:6]) == "C2 D2 E2 F2 D#2 C#2"
    assert named("basses-inside", notes=OCTAVES[:6]) == "E2 D2 C2 C#2 D#2 F2"


def test_two_sides_keep_their_sides_where_notes_are_left_out_and_turns_go_on():
    short = (36, 38, 40, 41, 43, 45, 46, 47)
    assert named("two-sides", notes=short) == "C2 D2 E2 A#2 B2 A2 G2 F2"
    assert named("basses-outside", notes=short) == "C2 E2 G2 A#2 B2 A2 F2 D2"


@given(COMPASS, st.sampled_from(ORDERS), st.sampled_from(["left", "right"]))
def test_every_order_has_every_note_once(notes, name, first):
    ordered = order_notes(notes, name, first)
    assert sorted(ordered) == list(notes)
    assert check_order(ordered, notes) == []


@given(COMPASS, st.sampled_from(ORDERS))
def test_first_mirrors(notes, name):
    assert order_notes(notes, name, "right") == order_notes(notes, name)[::-1]


@given(COMPASS)
def test_the_lowest_note_is_where_its_order_says(notes):
    for name in ("chromatic", "two-sides", "thirds", "basses-outside"):
        assert order_notes(notes, name)[0] == notes[0] and order_notes(notes, name, "right")[-1] == notes[0]
    inside = order_notes(notes, "basses-inside")
    assert inside.index(notes[0]) == (len(notes) - 1) // 2


def test_a_whole_compass_by_turns_is_two_sides():
    assert named("basses-outside") == named("two-sides")


def test_a_list_is_checked_note_by_note():
    assert check_order([36, 37, 39, 39, 50], range(36, 40)) == [
        "the order leaves out D2",
        "the order repeats D#2",
        "the order has notes that are not there: D3",
    ]
    with pytest.raises(KeyError):
        order_notes(OCTAVES, "alphabetic")
