"""A pedal key: figures by hand, and the same motion as a hung key of the same moment."""

import pytest

from keyaction.cases.fields.tables import defaults
from keyaction.models.fields.values import Given, Values
from keyaction.models.materials.library import default_library
from keyaction.models.parts import PARTS
from keyaction.models.parts.common import GRAVITY

PEDAL = {
    "front": 0.5,
    "arm": 0.45,
    "dip": 0.017,
    "stick_front": 0.6,
    "stick_tail": 0.02,
    "width": 0.022,
    "height": 0.04,
    "material": "sitka-spruce",
    "spring_force": 9.0,
    "pin.diameter": 0.006,
    "pin.friction": "cloth-on-pin",
    "pin.breakaway": 0.0005,
    **{
        f"{felt}_felt.{name}": value
        for felt in ("rest", "bottom")
        for name, value in (("material", "key-felt"), ("thickness", 0.005), ("area", 4e-4))
    },
}


def figures(kind, values, **more):
    """Derived figures of a key by itself; the rest of the train is of no account here."""
    given = {path: one[36] for field in PARTS[kind].fields for path, one in defaults(field, "", (36,)).items()}
    given |= {path: Given(one, "test") for path, one in {**values, **more}.items()}
    read = Values("key", given, default_library())
    PARTS[kind].resolve(read)
    assert read.defects == []
    return {name: one.value for name, one in read.derived.items()}, [warned.text for warned in read.warnings]


def test_the_moment_is_the_stick_s_weight_less_the_spring_s_lift():
    found, _ = figures("pedal-key", PEDAL)
    density = default_library().get("sitka-spruce")["density"].value
    mass = density * 0.022 * 0.04 * 0.62
    assert found["B"] == pytest.approx(mass * GRAVITY * (0.6 - 0.02) / 2 - 9.0 * 0.5, rel=1e-12)
    assert found["x0_rest"] == pytest.approx((-found["B"] / 0.5 / found["K_rest"]) ** (2 / 3), rel=1e-12)


def test_without_its_spring_it_is_a_hung_key():
    unsprung = {name: value for name, value in PEDAL.items() if name != "spring_force"}
    pedal, _ = figures("pedal-key", unsprung)
    hung, _ = figures("key", unsprung, balance="tail-hinged")
    assert pedal == hung


def test_a_measured_moment_is_that_of_the_weight_alone():
    found, _ = figures("pedal-key", PEDAL, balance_moment=1.5)
    assert found["B"] == pytest.approx(1.5 - 4.5, rel=1e-12)


def test_a_key_kept_up_by_its_spring_is_not_remarked_on():
    _, warned = figures("pedal-key", PEDAL)
    assert warned == []


def test_what_is_usual_for_feet_is_not_what_is_for_fingers():
    manual, pedal = PARTS["key"], PARTS["pedal-key"]
    assert manual.usual_pluck[1] < pedal.usual_pluck[1]
    assert (manual.keyboard, pedal.keyboard, pedal.comfortable) == ("manual", "pedal", None)
