"""Felts and pins by hand, wherever they sit: from material and size, from a measured squeeze, from a friction pair."""

import pytest
from by_hand import figures

from keyaction.cases.action.reader import read_case
from keyaction.cases.text.defects import CaseProblem
from keyaction.models.parts import PARTS

FELTS = {"key.rest_felt": ("key", "rest"), "key.bottom_felt": ("key", "bottom"), "pallet.seat": ("pallet", "seat")}
PINS = {"key": ("",), "sq1": ("",), "sq2": ("",), "roller": ("_in", "_out"), "pallet": ("",)}
MEASURED = ("squeeze", "force", "alpha")


def felt(make_train, place, **fields):
    """Stiffness and damping of the felt at a place, of which nothing is known but `fields`."""
    part, base = FELTS[place]
    only = {f"{place}.{name}": None for name in MEASURED} | {f"{place}.{name}": v for name, v in fields.items()}
    found = figures(make_train(**only), part)
    return found[f"K_{base}"], found[f"alpha_{base}"]


@pytest.mark.parametrize("place", FELTS)
def test_felt_from_material_and_size(make_train, place):
    # Pressure = stiffness (x/t)^1.5 on the area: K = stiffness A / t^1.5, here 0.2 MPa, 150 mm2, 4 mm.
    k, alpha = felt(make_train, place, material="key-felt", area="150 mm^2", thickness="4 mm")
    assert k == pytest.approx(0.2e6 * 150e-6 / 0.004**1.5, rel=1e-12)
    assert alpha == 4.0
    # Squeezed by all of its thickness it bears its stiffness on its area.
    assert k * 0.004**1.5 == pytest.approx(30.0, rel=1e-12)


@pytest.mark.parametrize("place", FELTS)
def test_felt_of_another_cloth(make_train, place):
    k, alpha = felt(make_train, place, material="pallet-leather", area="900 mm^2", thickness="1.5 mm")
    assert (k, alpha) == pytest.approx((0.8e6 * 900e-6 / 0.0015**1.5, 1.0), rel=1e-12)


@pytest.mark.parametrize("place", FELTS)
def test_felt_from_a_measured_squeeze(make_train, place):
    k, alpha = felt(make_train, place, squeeze="0.8 mm", force="5 N", alpha=0.7)
    assert k * 0.0008**1.5 == pytest.approx(5.0, rel=1e-12)
    assert alpha == 0.7


@pytest.mark.parametrize("place", FELTS)
def test_what_was_measured_goes_before_material_and_size(make_train, place):
    sizes = {"material": "key-felt", "area": "150 mm^2", "thickness": "4 mm"}
    k, alpha = felt(make_train, place, squeeze="0.8 mm", force="5 N", **sizes)
    assert (k, alpha) == pytest.approx((5.0 / 0.0008**1.5, 4.0), rel=1e-12)


@pytest.mark.parametrize("part", PINS)
def test_pin_of_a_given_coefficient(make_train, part):
    fields = {"pin.coefficient": 0.31, "pin.diameter": "2.6 mm", "pin.breakaway": "0.45 N*mm"}
    found = figures(make_train(**{f"{part}.{name}": value for name, value in fields.items()}), part)
    for end in PINS[part]:
        assert found[f"c{end}"] == pytest.approx(0.31 * 0.0013, rel=1e-12)  # coefficient times radius
        assert found[f"tau0{end}"] == pytest.approx(0.45e-3, rel=1e-12)


@pytest.mark.parametrize(("pair", "coefficient"), [("cloth-on-pin", 0.25), ("leather-on-pin", 0.5)])
@pytest.mark.parametrize("part", PINS)
def test_pin_of_a_friction_pair(make_train, part, pair, coefficient):
    fields = {"pin.coefficient": None, "pin.friction": pair, "pin.diameter": "3 mm"}
    found = figures(make_train(**{f"{part}.{name}": value for name, value in fields.items()}), part)
    assert [found[f"c{end}"] for end in PINS[part]] == pytest.approx([coefficient * 0.0015] * len(PINS[part]))


ROLLER = {"roller.pin.coefficient": 0.3, "roller.pin.diameter": "3 mm", "roller.pin.breakaway": "0.4 N*mm"}


@pytest.mark.parametrize(("end", "other"), [("in", "out"), ("out", "in")])
def test_one_of_a_rollers_pins_may_be_set_apart(make_train, end, other):
    own = {f"roller.pin_{end}.breakaway": "8 N*mm"}
    found = figures(make_train(**ROLLER, **own), "roller")
    assert found[f"tau0_{end}"] == pytest.approx(8e-3) and found[f"tau0_{other}"] == pytest.approx(0.4e-3)
    assert found[f"c_{end}"] == found[f"c_{other}"] == pytest.approx(0.3 * 0.0015)
    own |= {f"roller.pin_{end}.diameter": "2 mm", f"roller.pin_{end}.coefficient": 0.7}
    found = figures(make_train(**ROLLER, **own), "roller")
    assert found[f"c_{end}"] == pytest.approx(0.7 * 0.001) and found[f"c_{other}"] == pytest.approx(0.3 * 0.0015)
    # Its own pair of surfaces goes before the coefficient of both (leather on pin: 0.5 in the library).
    found = figures(make_train(**ROLLER, **{f"roller.pin_{end}.friction": "leather-on-pin"}), "roller")
    assert found[f"c_{end}"] == pytest.approx(0.5 * 0.0015) and found[f"c_{other}"] == pytest.approx(0.3 * 0.0015)


def leaves(fields, prefix=""):
    for one in fields:
        if one.fields:
            yield from leaves(one.fields, f"{prefix}{one.name}.")
        else:
            yield prefix + one.name, one


@pytest.mark.parametrize("kind", PARTS)
def test_what_was_weighed_weighs_something(kind):
    # One rule for all parts: a measured mass or inertia is above 0, and who has none leaves it out.
    known = dict(leaves(PARTS[kind].fields))
    measured = [one for path, one in known.items() if path.rpartition(".")[2] in ("mass", "inertia")]
    assert all(one.positive for one in measured)
    # What need not be there may be nothing.
    assert not any(one.positive for path, one in known.items() if path in ("end_mass", "leak", "seat_leak"))


LEAST_AND_MOST = {
    "key": "0.3 g to 5000 g",
    "riser": "0.003 g to 5000 g",
    "lower-square": "0.005 g to 5000 g",
    "roller": "0.1 g to 20000 g",
    "pallet": "0.05 g to 5000 g",
}


@pytest.mark.parametrize("own", LEAST_AND_MOST)
def test_a_mass_of_nothing_is_refused_in_words(own):
    with pytest.raises(CaseProblem) as told:
        read_case("demo-wood", set_=[(f"{own}.mass", "0 g")])
    (line,) = str(told.value).splitlines()
    assert line.endswith(f"out of range; allowed: {LEAST_AND_MOST[own]}")
    assert f"'{own}.mass'" in line
