"""Closed forms of a held chord: openings of trains, what carries it, and that it does."""

import math

import numpy as np
import pytest

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.models.algebra.names import Name
from keyaction.models.formulas.supply import effective_trunk, steady_box
from keyaction.sim.chord.robbing import robbing
from keyaction.sim.chord.steady import (
    Opening,
    openings_of,
    scales_that_carry,
    steady_pressures,
    trunk_that_carries,
)
from keyaction.sim.figures.play import press_note
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.wind.stops import StopProblem, leaving, names_of, read_stops, stops_of, with_stops
from keyaction.sim.wind.supplies import Supply

SUPPLY = Supply(700.0, 1.2, 101325.0, volume=0.05, area=2e-3, length=1.0, loss=1.5, fall=500.0)


def opening(area, toes, note="C4"):
    return Opening(note, "groove", "pallet", "box", area, toes)


def test_an_opening_is_read_off_where_the_pallet_stands():
    train = train_of(read_case("demo-wood"), "C4")
    model = NoteModel(train)
    held = press_note(model, read_case("demo-wood").strokes).press.down.states[-1]
    (found,) = openings_of("C4", model, {"box": "box"}, held)
    turn = held[model.kernel().states.index("q_pallet")] - train.value("pallet", "q_open")
    gap, slot = train.value("pallet", "gap") * turn, train.value("pallet", "A_slot")
    assert found.area == pytest.approx(train.value("groove", "Cd") * gap * slot / math.hypot(gap, slot), rel=1e-9)
    assert found.toes == train.value("groove", "A_out")


def test_shares_by_hand():
    assert opening(3.0, 1.0).share == pytest.approx(0.9)  # opening of three times the toes
    assert opening(1.0, 1.0).share == pytest.approx(0.5)
    assert opening(0.0, 1.0).share == 0.0
    assert opening(1.0, 0.0).share == 1.0


def test_the_smallest_trunk_leaves_the_worst_groove_just_its_share():
    notes = [opening(6e-4, 1e-4), opening(4e-4, 1e-4)]
    area = trunk_that_carries(notes, SUPPLY)
    supplied = steady_box(700.0, 500.0, effective_trunk(area, 1.5), sum(one.through for one in notes), 1.2)
    assert min(one.share for one in notes) * supplied == pytest.approx(0.9 * 700.0, rel=1e-9)
    assert math.isnan(trunk_that_carries([opening(2e-4, 1e-4)], SUPPLY))  # its own share is 80 %
    assert math.isnan(trunk_that_carries([opening(0.0, 1e-4)], SUPPLY))


def test_the_least_openings_leave_every_groove_just_its_share():
    notes = [opening(6e-4, 1e-4), opening(4e-4, 0.5e-4)]
    scales = scales_that_carry(notes, SUPPLY)
    least = [opening(scale * one.area, one.toes) for scale, one in zip(scales, notes, strict=True)]
    box = steady_pressures(least, {"box": SUPPLY})["box"]
    assert [one.share * box for one in least] == pytest.approx([630.0, 630.0], rel=1e-9)
    assert all(math.isnan(one) for one in scales_that_carry([opening(6e-4, 3e-3)], SUPPLY))
    assert scales_that_carry([opening(6e-4, 0.0)], SUPPLY) == [0.0]


# -- stops -------------------------------------------------------------------------------------------------
@pytest.fixture(scope="module")
def train():
    return train_of(read_case("demo-wood"), "C4")


def test_stops_are_those_of_the_list(train):
    groove = train.part("groove")
    assert [(stop.name, stop.drawn) for stop in stops_of(groove)] == [
        ("Principal 8", True), ("Flute 8", True), ("Octave 4", True), ("Fifteenth 2", False),
    ]  # fmt: skip
    drawn = [stop.name for stop in stops_of(groove) if stop.drawn]
    assert leaving(groove, drawn) == train.value("groove", "A_out")


def test_drawing_stops_is_what_the_case_does_when_it_says_so(train):
    whole = read_case("demo-wood").text.replace("drawn = false", "drawn = true")
    assert whole.count("drawn = true") == 4
    area = with_stops(train, names_of([train])).value("groove", "A_out")
    leak = 2e-6
    assert area == pytest.approx(0.6 * (35e-6 + 28e-6 + 18e-6 + 10e-6 + leak))
    assert with_stops(train, []).value("groove", "A_out") == pytest.approx(0.6 * leak)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("all", ["A 8", "B 4"]),
        ("None", []),
        ("", []),
        ("b 4, A 8", ["B 4", "A 8"]),
        (["A 8"], ["A 8"]),
        ("A 8,a 8", ["A 8"]),
    ],
)
def test_stops_as_they_are_named(text, found):
    assert read_stops(text, ["A 8", "B 4"]) == found


def test_stops_that_there_are_not():
    with pytest.raises(StopProblem) as told:
        read_stops("Principle 8, Flut 8", ["Principal 8", "Flute 8"])
    assert told.value.defects == (
        "stops: no stop 'Principle 8'; did you mean 'Principal 8'?",
        "stops: no stop 'Flut 8'; did you mean 'Flute 8'?",
    )
    with pytest.raises(StopProblem, match="no list of stops"):
        read_stops("all", [])


def test_robbing_goes_with_the_stops_in_their_order(train):
    notes = [opening(6e-4, 0.0)]
    found = robbing(notes, {"C4": train}, {"box": SUPPLY}, ["Octave 4", "Principal 8"])
    assert [one.stop for one in found] == ["", "Octave 4", "Principal 8"]
    toes = 0.6 * np.array([2e-6, 20e-6, 55e-6])
    assert [one.of_now for one in found] == pytest.approx(list(6e-4**2 / (6e-4**2 + toes**2)))
    for one in found:
        assert one.of_rest == pytest.approx(one.of_now * one.box)
    assert robbing(notes, {"C4": train}, {"box": SUPPLY})[-1].count == 4


def test_no_wind_has_no_shares(train):
    still = Supply(0.0, 1.2, 101325.0)
    assert math.isnan(robbing([opening(6e-4, 0.0)], {"C4": train}, {"box": still}, [])[0].of_rest)
    assert math.isnan(trunk_that_carries([opening(6e-4, 1e-4)], still))


def test_toes_given_as_an_area_have_no_stops():
    bare = train_of(read_case("demo-wood", set_={"groove.feet_area": "90 mm^2"}), "C4")
    assert names_of([bare]) == []
    assert with_stops(bare, ["Principal 8"]) == bare
    assert robbing([opening(6e-4, 1e-4)], {"C4": bare}, {"box": SUPPLY}) == []
    assert Name("groove", "A_out") in bare.parameters
