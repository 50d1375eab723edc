"""Any material in any place: a train, or a refusal that says what the part needs; never an error of another kind."""

import re

import pytest
from short_case import start_case

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.cases.text.defects import CaseProblem
from keyaction.models.train.train import PartProblem, TrainProblem

PLACES = (
    "key.material",
    "key.rest_felt.material",
    "key.bottom_felt.material",
    "key.pin.friction",
    "riser.material",
    "square.material",
    "roller.material",
    "roller.arm_material",
    "pallet.material",
    "pallet.seat.material",
    "pallet-spring.wire.material",
)


WIRE = """wire = { diameter = "1.4 mm", material = "spring-brass", coil_diameter = "25 mm", turns = 1, arm = "120 mm", \
free_gape = "190 mm", closed_gape = "70 mm" }"""


def tried(path, field, material):
    """Whether it is taken, else the refusal."""
    try:
        train_of(read_case(path, set_={field: material}), "C4")
    except PartProblem:
        raise
    except (TrainProblem, CaseProblem) as problem:
        return str(problem)
    return ""


@pytest.mark.parametrize("field", PLACES)
def test_every_material_in_every_place(tmp_path, field):
    path = start_case(tmp_path)
    if "wire" in field:
        text = path.read_text("utf-8")
        force = next(line for line in text.split("\n") if line.startswith("force = { between"))
        path.write_text(text.replace(force, WIRE).replace('rate = "12 N/m"', ""), "utf-8")
    names = read_case(path).library.names()
    said = {material: tried(path, field, material) for material in names}
    assert len(said) > 20
    refusals = {text for text in said.values() if text}
    assert refusals, "a place that takes everything is none of this test"
    for text in refusals:
        assert re.search(r"has no '|is no |needs |unknown|not known|no such|give it", text), text
