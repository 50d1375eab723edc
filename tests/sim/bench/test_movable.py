"""What can be moved: every field of a note, its slider within what is usual and allowed, steps of the trade."""

import math

import pytest
from short_case import write_case

from keyaction.cases.action.reader import read_case
from keyaction.cases.fields.allowed import inside, usual
from keyaction.cases.fields.tables import field_at
from keyaction.models.fields.fields import Field
from keyaction.models.units.quantity import parse_quantity
from keyaction.sim.bench.movable import movable, round_step, slider_of


@pytest.fixture(scope="module")
def wood():
    return read_case("demo-wood")


@pytest.fixture(scope="module")
def fields(wood):
    return {(one.part, one.path): one for part in movable(wood, 60).values() for one in part}


def test_every_field_of_the_note_is_there(wood, fields):
    meant = {(part.name, path) for part in wood.parts for path in wood.values(60, part)}
    assert set(fields) == meant and len(meant) > 150


@pytest.mark.parametrize("units", ["trade", "si"])
def test_ends_of_sliders_are_usual_and_allowed_and_hold_the_value(wood, units):
    for part in movable(wood, 60, units).values():
        for one in part:
            if one.slider is None:
                continue
            field, at = field_at(wood.part(one.part).part.fields, one.path), one.slider
            assert at.low <= one.value <= at.high and at.low < at.high
            assert 15 <= (at.high - at.low) / at.step <= 260, one
            for end in (at.low, at.high):
                si = parse_quantity(f"{end} {one.unit}", field.unit, field.written or None) if field.unit else end
                assert inside(field, si)
                assert usual(field, si) or end == one.value


def test_steps_are_those_of_the_trade(fields):
    told = {
        ("key", "dip"): (7.5, 12.0, 0.1),
        ("pallet-spring", "force"): (32.0, 304.0, 2.0),
        ("box", "pressure"): (41.0, 132.0, 1.0),
        ("drop", "lost_motion"): (0.0, 1.5, 0.05),
        ("key", "leads.0.mass"): (5.0, 100.0, 0.5),
        ("box", "temperature"): (5.0, 35.0, 1.0),
    }
    assert {name: (one.low, one.high, one.step) for name in told if (one := fields[name].slider)} == told


def test_what_is_said_of_a_field(fields):
    dip = fields["key", "dip"]
    assert (dip.value, dip.unit, dip.text, dip.usual) == (9.5, "mm", "9.5 mm", "7.5 mm to 12 mm")
    assert dip.allowed == "allowed: 0.075 mm to 30 mm"
    assert (dip.odd, dip.default, dip.each, dip.origin) == (False, False, True, "case")
    assert fields["riser", "section"].choices[:3] == ("round", "tube", "square")
    assert not fields["riser", "section"].each
    assert "eastern-white-pine" in fields["pallet", "material"].choices
    assert "steel" not in fields["pallet", "material"].choices
    assert fields["key", "bending"].text == "true"
    assert fields["pallet-spring", "force"].origin == "case, smooth between C4 and G6" or fields[
        "pallet-spring", "force"
    ].origin.startswith("case, control point")


def test_a_value_outside_is_odd_and_widens_its_slider(tmp_path):
    case = read_case(write_case(tmp_path, ('dip = "9.5 mm"', 'dip = "14 mm"')))
    dip = next(one for one in movable(case, 60)["key"] if one.path == "dip")
    assert dip.odd and (dip.slider.low, dip.slider.high) == (7.5, 14.0)


def test_a_field_without_a_usual_range_goes_from_half_to_twice():
    slider = slider_of(Field("arm", "", unit="m", high=0.15), 0.1, "trade")
    assert (slider.low, slider.high, slider.step) == (50.0, 150.0, 1.0)
    assert slider_of(Field("arm", "", unit="m"), 0.0, "trade") is None


@pytest.mark.parametrize("about", [0.019, 0.02, 3.7, 999.0, 1e-7])
def test_steps_are_round(about):
    step = round_step(about)
    assert 0.4 * about < step <= about * (1 + 1e-9)
    assert round(step / 10 ** math.floor(math.log10(step) + 1e-9), 9) in (1.0, 2.0, 5.0)
