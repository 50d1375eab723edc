"""A key with two pallets: the first is sized, with the groove behind it; the second stays as it is."""

import pytest
from trees import one_pallet, two_pallets

from keyaction.cases.action.strokes import usual_strokes
from keyaction.sim.run.standings import standings
from keyaction.sim.sizes.shape import Shape
from keyaction.sim.sizes.sized import remarks_of
from keyaction.sim.sizes.stops import groove_of
from keyaction.sim.sizes.tried import tried


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


def test_it_is_told():
    assert remarks_of(one_pallet()) == []
    (told,) = remarks_of(two_pallets())
    assert told == "several pallets: pallet, the first, is sized for the groove behind it alone"
