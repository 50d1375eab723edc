"""Chords with couplers drawn: every note that sounds is counted once, in the box of its division."""

import pytest

import keyaction as ka
from keyaction.sim.chord.of_case import members_of
from keyaction.sim.chord.problem import ChordProblem


@pytest.fixture(scope="module")
def instrument():
    return ka.read_instrument("demo-instrument")


def test_each_key_brings_what_it_moves_in_the_box_of_its_division(instrument):
    (c3, c4), told = members_of(instrument, "behind/C3 behind/D4", coupled="II/I,II/I 4")
    assert not told
    assert dict(c3.boxes) == {"box": "behind", "high-box": "high", "high-up-12-box": "high"}
    assert list(c3.titles.values()) == ["behind/C3", "high/C3 by behind/C3", "high/C4 by behind/C3"]
    assert len(c4.titles) == 3


def test_a_note_that_two_keys_reach_is_counted_with_the_first(instrument):
    members, told = members_of(instrument, "behind/C3 behind/C4 high/C5", coupled="II/I,II/I 4")
    # C4 of the upper manual is moved by C3, and C5 is played there: the key of C4 has its own pallet alone.
    assert [len(one.titles) for one in members] == [3, 1, 1]
    assert told == (
        "high/C4 is moved by behind/C3 already: the key of behind/C4 is played without it.",
        "high/C5 is played already: the key of behind/C4 is played without it.",
    )


def test_what_couples_nothing_is_told(instrument):
    _, told = members_of(instrument, "behind/G6", coupled="II/I 4")
    assert told == ("II/I 4 couples nothing at G6 of behind: high has no G7.",)


def test_couplers_need_an_instrument_and_have_to_be_there(instrument):
    with pytest.raises(ChordProblem, match="an action case has no couplers"):
        ka.chord(ka.read_case("demo-wood"), "C4", coupled="II/I")
    with pytest.raises(ka.CouplerProblem, match="III/I"):
        ka.chord(instrument, "behind/C4", coupled="III/I")


def test_a_coupled_chord_loses_nothing_and_takes_from_both_boxes(instrument):
    found = ka.chord(instrument, "behind/C4", coupled="II/I")
    audit = found.played.audit
    assert abs(audit.residual) < 1e-4 * audit.throughput
    alone = ka.chord(instrument, "high/C4")
    flows = {box.name: box.flow for box in found.boxes}
    assert flows["high"] == pytest.approx(alone.boxes[0].flow, rel=0.01)  # its lift is a little less
    assert flows["behind"] > 0.0
    # One key has one pluck: that of both.
    assert {one.pluck_alone for one in found.notes} == {found.notes[0].pluck_alone}
    assert found.notes[0].pluck_alone > ka.chord(instrument, "behind/C4").notes[0].pluck_alone


def test_notes_without_a_division_are_those_that_the_couplers_take_hold_of(instrument):
    (one,), _ = members_of(instrument, "C3", coupled="II/I,II/I 4")
    assert one.name == "behind/C3"
    with pytest.raises(ChordProblem, match="'C3': of which division"):
        members_of(instrument, "C3", coupled="II/I,I/pedal")  # one takes hold of behind, one of the pedal
    with pytest.raises(ChordProblem, match="'C3': of which division"):
        members_of(instrument, "C3", coupled="III/I")
    (high,), _ = members_of(instrument, "C3", "high", coupled="II/I")
    assert high.name == "high/C3"
