"""Keys with more than one plain pallet: sized where each has its groove, else left out and told."""

from dataclasses import replace

import pytest
from trees import one_pallet, two_pallets

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.strokes import usual_strokes
from keyaction.cases.instrument.reader import read_instrument
from keyaction.sim.run.standings import standings
from keyaction.sim.sizes.shape import Shape
from keyaction.sim.sizes.sheet import openings_sheet, sizes_sheet, told
from keyaction.sim.sizes.sized import remarks_of
from keyaction.sim.sizes.sizes import smallest_pallets
from keyaction.sim.sizes.tried import tried
from keyaction.sim.wind.stops import groove_of


def test_the_first_is_sized_and_the_second_stays():
    train = two_pallets()
    shape = Shape(train)
    shorter = shape.train_of(0.9 * shape.length)
    assert [(member.name, member.after) for member in shorter.structure] == [
        (member.name, member.after) for member in train.structure
    ]
    assert shorter.part("pallet").values.number("opening_length") == pytest.approx(0.9 * shape.length)
    assert shorter.part("pallet-2").values.derived == train.part("pallet-2").values.derived
    assert groove_of(train).name == "groove"


def test_what_it_passes_is_that_of_the_train_built_anew():
    shape = Shape(two_pallets())
    length = 0.8 * shape.length
    standing = standings({0: shape.train_of(length)}, usual_strokes(), 1)[0]
    found = tried(standing)
    assert found.passed is not None
    assert shape.passed(length, found.travel) == found.passed


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("two-pallets", "pallet and second-pallet feed one groove together"),
        ("relief-pallet", "pallet is a relief pallet: sizes are sought of plain pallets alone"),
        ("pneumatic-lever", "pallet is moved by lever, a pneumatic lever: the key does not feel its size"),
    ],
)
def test_what_is_no_plain_pallet_felt_at_the_key_is_left_out_in_one_sentence(kind, words):
    (one,) = smallest_pallets(read_case(kind), "C2", chord="C2,E2")
    assert words in one.left_out
    assert told(one) == [one.left_out]
    assert one.smallest is None
    assert one.share_of(one.drawn) != one.share_of(one.drawn)  # no figure of one pallet for the groove of two
    assert openings_sheet([one], "scientific", "trade", False).rows == []
    (row,) = sizes_sheet([one], "scientific", "trade").rows
    assert row[-1] == one.left_out


def test_a_beam_before_a_plain_pallet_leaves_it_sized():
    (one,) = smallest_pallets(read_case("two-stage-beam"), "C2")
    assert not one.left_out and one.smallest is not None
    assert one.smallest.share == pytest.approx(0.9, abs=2e-3)


def test_custom_of_manuals_is_not_held_against_pedals():
    (one,) = smallest_pallets(read_case("demo-wood"), "C2")
    large = replace(one, drawn=replace(one.drawn, width=0.03), smallest=None)
    assert any("in a manual" in line for line in told(large))
    assert not any("in a manual" in line for line in told(replace(large, pedal=True)))
    instrument = read_instrument("demo-instrument")
    (pedal,) = smallest_pallets(instrument.divisions["pedal"], "C2")
    assert pedal.pedal and not one.pedal


def test_it_is_told():
    assert remarks_of(one_pallet()) == []
    (told,) = remarks_of(two_pallets())
    assert told == "several pallets: pallet, the first, is sized for the groove behind it alone"
