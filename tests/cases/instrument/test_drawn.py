"""Which couplers are drawn: names, all of them, loops."""

import pickle

import pytest
from small_couplers import coupler, write_coupled, write_demo
from small_instrument import write_instrument

from keyaction.cases.instrument.drawn import CouplerProblem, drawn_couplers
from keyaction.cases.instrument.reader import read_instrument


@pytest.fixture(scope="module")
def organ(tmp_path_factory):
    folder = tmp_path_factory.mktemp("organ")
    return read_instrument(
        write_coupled(
            folder,
            coupler("II/I", "great", "II"),
            coupler("II/I 4", "great", "II", 'pitch = "octave-up"'),
            coupler("I/II", "II", "great"),
            coupler("I/pedal", "feet", "great"),
            coupler("Pedal/II", "II", "feet"),
        )
    )


def refused(organ, text):
    with pytest.raises(CouplerProblem) as caught:
        drawn_couplers(organ, text)
    return list(caught.value.defects)


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("II/I", ("II/I",)),
        ("ii/i 4 , i/PEDAL", ("II/I 4", "I/pedal")),
        ("I/pedal,II/I", ("II/I", "I/pedal")),
        (["I/pedal", "II/I"], ("II/I", "I/pedal")),
        ("II/I   4", ("II/I 4",)),
    ],
)
def test_names_in_the_order_of_the_instrument(organ, text, names):
    assert drawn_couplers(organ, text) == names


def test_all_on(tmp_path):
    path = write_coupled(tmp_path, coupler("II/I", "great", "II"), coupler("I/pedal", "feet", "great"))
    found = read_instrument(path)
    assert drawn_couplers(found, "all-on") == drawn_couplers(found, "All-On") == ("II/I", "I/pedal")


def test_every_name_that_is_wrong(organ):
    assert refused(organ, "II/J,I/pedal,i/pedal,,all-on") == [
        "no coupler 'II/J'; did you mean 'II/I'?",
        "the coupler 'I/pedal' is named twice",
        "a coupler's name is missing; there are II/I, II/I 4, I/II, I/pedal, Pedal/II",
        "'all-on' stands for all couplers; no other is named beside it",
    ]
    assert refused(organ, "") == ["a coupler's name is missing; there are II/I, II/I 4, I/II, I/pedal, Pedal/II"]


def test_an_instrument_without_couplers(tmp_path):
    found = read_instrument(write_instrument(tmp_path))
    assert (
        refused(found, "II/I")
        == refused(found, "all-on")
        == ["organ.toml has no couplers: it has no [[coupler]] table"]
    )


def test_a_loop_is_named_with_its_couplers(organ):
    (line,) = refused(organ, "II/I,I/II")
    assert line.startswith("the couplers II/I, I/II go round in a loop: 'great' would move itself (the same note)")


def test_a_loop_with_a_shift_plays_on_and_on(organ):
    (line,) = refused(organ, "II/I 4,I/II")
    assert "'great' would move itself (octave up, and so on)" in line


def test_a_loop_of_three(organ):
    (line,) = refused(organ, "II/I,Pedal/II,I/pedal")
    assert line.startswith("the couplers II/I, Pedal/II, I/pedal go round in a loop")


def test_every_coupler_of_a_loop_is_named(organ):
    lines = refused(organ, "all-on")
    assert [line.partition(" go round")[0].removeprefix("the couplers ") for line in lines] == [
        "II/I, I/II",
        "II/I 4, I/II",
        "Pedal/II, I/pedal, II/I",
    ]


def test_one_division_reached_by_two_ways_is_no_loop(tmp_path):
    path = write_demo(
        tmp_path, coupler("II/I", "I", "II"), coupler("I/pedal", "pedal", "I"), coupler("II/pedal", "pedal", "II")
    )
    assert len(drawn_couplers(read_instrument(path), "all-on")) == 3


def test_what_gives_behind_the_next_ones_hold_goes_no_further(tmp_path):
    """A coupler that moves a roller does not move the key before it, and so not what the key moves."""
    octave = coupler("I 4", "I", "I", 'pitch = "octave-up"\ntakes = "key"\ngives = "roller"')
    up = coupler("II/I 4", "I", "II", 'pitch = "octave-up"')
    found = read_instrument(write_demo(tmp_path, octave, up, coupler("I/II", "II", "I", 'gives = "roller"')))
    assert drawn_couplers(found, "I 4,II/I 4") == ("I 4", "II/I 4")
    assert drawn_couplers(found, "II/I 4,I/II") == ("II/I 4", "I/II")


def test_a_note_that_moves_itself_at_a_later_part_is_a_loop(tmp_path):
    path = write_demo(tmp_path, coupler("II/I", "I", "II"), coupler("I/II", "II", "I", 'gives = "roller"'))
    (line,) = refused(read_instrument(path), "all-on")
    assert "'behind' would move itself (the same note)" in line


def test_a_loop_behind_the_keys(tmp_path):
    """Neither key is moved, and yet the rollers move each other from octave to octave."""
    both = 'takes = "roller"\ngives = {{ part = "roller", end = "out" }}\npitch = "{}"'
    path = write_demo(
        tmp_path,
        coupler("II/I", "I", "II", both.format("octave-up")),
        coupler("I/II", "II", "I", both.format("unison")),
    )
    (line,) = refused(read_instrument(path), "all-on")
    assert "(octave up, and so on)" in line


def test_the_problem_travels_to_other_processes():
    assert pickle.loads(pickle.dumps(CouplerProblem(["a", "b"]))).defects == ("a", "b")
