"""Where keys stand: naturals and sharps in front, rods' lines behind, short and broken octaves."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from keyaction.models.instrument.bass import BASSES, bass_octave
from keyaction.models.instrument.keyboard import (
    PEDAL_OCTAVE,
    Keyboard,
    edges,
    front_place,
    fronts,
    stands,
    tails,
)
from keyaction.models.instrument.problem import LayoutProblem
from keyaction.models.notes import is_sharp, note_name, parse_note

C2, C4 = 36, 60


def manual(low="C2", high="G6", bass="full", **more):
    notes, where = bass_octave(bass, parse_note(low), parse_note(high))
    return Keyboard("manual", notes, more.pop("octave", 0.165), stands=where, **more)


def at(places, *names):
    return [places[parse_note(name)] for name in names]


def test_seven_naturals_share_the_octave_and_sharps_stand_between():
    places = fronts(manual(octave=0.168))
    c, d, e, f = at(places, "C4", "D4", "E4", "F4")
    assert d - c == pytest.approx(0.024) and e - d == pytest.approx(0.024) and f - e == pytest.approx(0.024)
    assert at(places, "C#4", "D#4") == pytest.approx([(c + d) / 2, (d + e) / 2])
    assert at(places, "C5")[0] - c == pytest.approx(0.168)


def test_the_whole_of_a_keyboard_is_as_wide_as_its_naturals():
    """C to f3, 54 notes: 32 naturals, 754 mm (a small house organ's is 750 mm over its keys)."""
    left, right = edges(manual("C2", "F6"))
    assert right - left == pytest.approx(32 * 0.165 / 7) == pytest.approx(0.7543, abs=1e-4)
    assert left == pytest.approx(-right)


@pytest.mark.parametrize("tails_", ["even", "by-naturals"])
def test_octaves_of_tails_are_those_of_fronts(tails_):
    keyboard = manual(tails=tails_)
    rear, front = tails(keyboard), fronts(keyboard)
    for note in keyboard.notes[:-12]:
        assert rear[note + 12] - rear[note] == pytest.approx(0.165)
    widths = {note: rear[note + 1] - rear[note] for note in keyboard.notes[:-1]}
    c_edge = (rear[47] + rear[48]) / 2 if tails_ == "even" else rear[48] - widths[48] / 2
    assert c_edge == pytest.approx(front[48] - 0.165 / 14)


def test_even_tails_are_twelfths_and_those_by_naturals_fifths_and_sevenths():
    even, uneven = tails(manual()), tails(manual(tails="by-naturals"))
    assert [even[n + 1] - even[n] for n in range(48, 59)] == pytest.approx([0.165 / 12] * 11)
    three, four = 3 / 7 * 0.165 / 5, 4 / 7 * 0.165 / 7
    steps = [uneven[n + 1] - uneven[n] for n in range(48, 60)]
    assert steps == pytest.approx([three] * 4 + [(three + four) / 2] + [four] * 6 + [(three + four) / 2])


@given(st.integers(0, 115), st.integers(1, 60), st.sampled_from(["even", "by-naturals"]), st.floats(-1, 1))
def test_any_compass_rises_and_has_its_middle_where_it_was_put(low, many, tails_, middle):
    keyboard = Keyboard("any", tuple(range(low, min(low + many, 128))), 0.165, middle=middle, tails=tails_)
    for places in (fronts(keyboard), tails(keyboard)):
        line = list(places.values())
        assert line == sorted(line) and len(set(line)) == len(line)
    assert sum(edges(keyboard)) / 2 == pytest.approx(middle)
    naturals = [fronts(keyboard)[note] for note in keyboard.notes if not is_sharp(note)]
    if naturals:
        assert (naturals[0] + naturals[-1]) / 2 == pytest.approx(middle, abs=1e-12)


@given(st.sets(st.integers(36, 91), min_size=1))
def test_notes_left_out_move_no_other_key_but_for_the_middle(kept):
    whole, some = fronts(manual()), fronts(Keyboard("some", tuple(sorted(kept)), 0.165))
    apart = {note: some[note] - whole[note] for note in kept}
    assert max(apart.values()) - min(apart.values()) < 1e-12


def test_a_symmetric_keyboard_has_symmetric_places():
    """D is a mirror of the keyboard: the fronts of C to E mirror each other."""
    for tails_ in ("even", "by-naturals"):
        line = list(fronts(Keyboard("five", tuple(range(36, 41)), 0.165, tails=tails_)).values())
        assert line == pytest.approx([-x for x in reversed(line)])


def test_short_octave_sounds_c_d_e_on_e_f_sharp_g_sharp():
    keyboard = manual(bass="short C/E")
    assert [note_name(note) for note in keyboard.notes[:9]] == ["C2", "D2", "E2", "F2", "G2", "A2", "A#2", "B2", "C3"]
    places = fronts(keyboard)
    rising = sorted(places, key=places.__getitem__)
    assert [note_name(note) for note in rising[:6]] == ["C2", "F2", "D2", "G2", "E2", "A2"]
    assert len(keyboard.notes) == 52
    left, right = edges(keyboard)
    assert right - left == pytest.approx((33 - 2) * 0.165 / 7), "its naturals begin with the key E"


def test_short_octave_from_g_sounds_g_a_b_on_b_c_sharp_d_sharp():
    keyboard = manual("G1", "C6", bass="short G/B")
    names = ["G1", "A1", "B1", "C2", "D2", "E2", "F2", "F#2", "G2", "G#2"]
    assert [note_name(note) for note in keyboard.notes[:10]] == names
    places = fronts(keyboard)
    rising = sorted(places, key=places.__getitem__)
    assert [note_name(note) for note in rising[:6]] == ["G1", "C2", "A1", "D2", "B1", "E2"]


@pytest.mark.parametrize("tails_", ["even", "by-naturals"])
def test_split_sharps_have_two_lines_in_the_width_of_one(tails_):
    keyboard, usual = manual(bass="broken C/E", tails=tails_), manual("E2", tails=tails_)
    assert [note_name(note) for note in keyboard.notes[:6]] == ["C2", "D2", "E2", "F2", "F#2", "G2"]
    split, whole = tails(keyboard), tails(usual)
    for front_half, rear_half in (("D2", "F#2"), ("E2", "G#2")):
        low, high = at(split, front_half, rear_half)
        (line,) = at(whole, rear_half)
        wide = 0.165 / 12 if tails_ == "even" else 4 / 7 * 0.165 / 7
        assert (low, high) == pytest.approx((line - wide / 4, line + wide / 4))
        places = [front_place(keyboard, parse_note(name)) for name in (front_half, rear_half)]
        assert places[0][0] == places[1][0] and places[1][1] > places[0][1]


def test_sharps_stand_higher_and_further_back():
    keyboard = manual(back=0.1, up=0.2)
    natural, sharp = front_place(keyboard, C4), front_place(keyboard, C4 + 1)
    assert natural == (pytest.approx(fronts(keyboard)[C4]), 0.1, 0.2)
    assert sharp[1] > natural[1] and sharp[2] > natural[2]


def test_a_key_between_two_others_stands_midway():
    keyboard = Keyboard("odd", (60, 61, 62), 0.168, stands={61: 60.5})
    assert tails(keyboard)[61] - tails(keyboard)[60] == pytest.approx(0.007)
    assert fronts(keyboard)[61] == pytest.approx(fronts(keyboard)[60] + 0.006)


def test_a_pedal_has_its_own_pitch():
    pedal = Keyboard("pedal", tuple(range(36, 66)), PEDAL_OCTAVE, pedals=True)
    left, right = edges(pedal)
    assert right - left == pytest.approx(18 * 0.062)
    assert front_place(pedal, 37)[1] > front_place(manual(), 37)[1]


def test_one_note_alone_stands_in_the_middle():
    for note in (60, 61):
        keyboard = Keyboard("one", (note,), 0.165, middle=0.3)
        assert fronts(keyboard)[note] == pytest.approx(0.3) and stands(keyboard) == {note: note}


@pytest.mark.parametrize(("bass", "low"), [("short C/E", "D2"), ("broken C/E", "G1"), ("short G/B", "C2")])
def test_an_octave_that_does_not_begin_so_is_refused(bass, low):
    with pytest.raises(LayoutProblem, match=f'bass = "{bass}"'):
        bass_octave(bass, parse_note(low), 84)


@pytest.mark.parametrize("bass", BASSES)
def test_every_octave_stands_on_keys_of_its_own(bass):
    low = parse_note("G1" if "G" in bass else "C2")
    notes, where = bass_octave(bass, low, low + 40)
    taken = [where.get(note, note) for note in notes]
    assert len(set(taken)) == len(taken) and notes == tuple(sorted(notes))
