"""What feeds a box: read from a train, and shared by several."""

import math

import pytest

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.models.train.train import TrainProblem
from keyaction.sim.chord.problem import ChordProblem
from keyaction.sim.chord.supplies import shared_boxes
from keyaction.sim.wind.supplies import supply_of

FED = {"box.volume": "60 L", "box.trunk.area": "50 cm^2", "box.trunk.length": "2 m"}


def of(note="C4", name="demo-carbon", **settings):
    return train_of(read_case(name, set_=settings), note)


def test_a_box_of_which_nothing_is_said_holds():
    supply = supply_of(of().role("box"))
    assert supply.holds
    assert math.isinf(supply.orifice)
    assert math.isnan(supply.swing)


def test_a_volume_alone_moves_nothing():
    assert supply_of(of(**{"box.volume": "60 L"}).role("box")).holds


def test_a_trunk_is_read_with_what_is_assumed_of_it():
    supply = supply_of(of(**FED).role("box"))
    assert (supply.volume, supply.area, supply.length, supply.loss, supply.fall) == (0.06, 0.005, 2.0, 1.5, 0.0)
    # Air in a neck on air in a bottle: c/2pi sqrt(A / V L), c the speed of sound (Helmholtz; textbook).
    sound = math.sqrt(1.4 * supply.atmosphere / supply.density)
    assert supply.swing == pytest.approx(sound / (2 * math.pi) * math.sqrt(0.005 / (0.06 * 2.0)), rel=1e-12)


def test_no_figure_of_a_single_note_depends_on_it():
    plain, fed = of(), of(**FED)
    assert plain.structure == fed.structure
    assert {name: one.value for name, one in plain.parameters.items()} == {
        name: one.value for name, one in fed.parameters.items()
    }


@pytest.mark.parametrize(
    ("settings", "words"),
    [
        ({"box.trunk.area": "50 cm^2"}, ["volume: give it, the box has a trunk", "trunk.length: missing"]),
        ({"box.trunk.length": "2 m"}, ["trunk.area: give it, the trunk has a length"]),
        ({"box.fall": "0.5 mmH2O*s/L"}, ["volume: give it"]),
    ],
)
def test_half_a_supply_is_told(settings, words):
    with pytest.raises(TrainProblem) as told:
        of(**settings)
    assert all(word in str(told.value) for word in words)


def test_notes_fed_in_two_ways_do_not_share_a_box():
    trains = {"C4": of(**FED), "D4": of("D4", **{**FED, "box.trunk.length": "3 m"})}
    with pytest.raises(ChordProblem, match="box: D4 and C4 do not share one box: length 3 against 2"):
        shared_boxes(trains, {("C4", "box"): "box", ("D4", "box"): "box"})
    assert set(shared_boxes(trains, {("C4", "box"): "a", ("D4", "box"): "b"})) == {"a", "b"}
