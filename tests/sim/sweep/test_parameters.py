"""Figures of a matrix of the equations' parameters: the same as one by one, and as by the case's own fields."""

import numpy as np
import pytest

import keyaction as ka
from keyaction.models.notes import NoteProblem


@pytest.fixture(scope="module")
def model():
    return ka.NoteModel(ka.train_of(ka.read_case("demo-wood"), "C4"))


def test_a_row_is_what_the_note_gives_with_those_parameters(model):
    found = ka.evaluate_parameters("demo-wood", "C4", {"K_roller": [40.0, 80.0]}, ["effective_mass", "train_frequency"])
    for i, stiffness in enumerate((40.0, 80.0)):
        lowest = ka.modes(model.with_parameters(K_roller=stiffness)).frequencies.min()
        assert found["train_frequency"][i, 0] == pytest.approx(lowest, rel=1e-4)  # rest by lanes and by SciPy
    assert found["effective_mass"][0, 0] == pytest.approx(found["effective_mass"][1, 0])  # nothing giving way
    assert list(found["input_K_roller"]) == [40.0, 80.0]
    assert found.variables["input_K_roller"].unit == "N*m/rad"
    assert list(found["status"][:, 0]) == ["ok", "ok"]


def test_a_parameter_that_is_a_field_gives_what_the_field_gives():
    # In the box the pressure is its parameter (and the density of its air, which a stroke does not feel at 1e-3).
    by_field = ka.evaluate("demo-wood", "C4", {"box.pressure": ["60 mmH2O", "80 mmH2O"]}, ["pluck_force"], sample=0)
    pressures = [60 * 9.80665, 80 * 9.80665]
    by_parameter = ka.evaluate_parameters("demo-wood", 60, {"p_box": pressures}, ["pluck_force"], sample=0)
    np.testing.assert_allclose(by_parameter["pluck_force"], by_field["pluck_force"], rtol=1e-3)


def test_a_whole_matrix_and_its_judge(model):
    own = model.parameters()
    stiffer = own.copy()
    stiffer[list(model.kernel().spellings).index("K_roller")] = 80.0
    found = ka.evaluate_parameters("demo-wood", "C4", np.array([own, stiffer]), ["pluck_force"], sample=2)
    named = ka.evaluate_parameters("demo-wood", "C4", {"K_roller": 80.0}, ["pluck_force"])
    assert found["pluck_force"][1, 0] == pytest.approx(named["pluck_force"][0, 0], rel=2e-3)
    assert "2 designs played again one by one as a check (SciPy)" in found.about["methods"]


@pytest.mark.parametrize(
    ("parameters", "words"),
    [
        (
            {"K_rolle": [1.0], "p_boxx": [1.0]},
            r"no parameter 'K_rolle'; did you mean 'K_roller'\?; no parameter 'p_boxx'",
        ),
        ({"K_roller": [1.0, 2.0], "p_box": [1.0]}, "differ in length"),
        ({"K_roller": [[1.0, 2.0]]}, "differ in length"),
        (np.ones((2, 3)), "no column for each of"),
        ({}, "no row"),
        ({"K_roller": []}, "no row"),
        ({"K_roller": [1.0, np.nan]}, "K_roller: every number must be finite"),
    ],
)
def test_a_table_that_cannot_be_used_says_why(parameters, words):
    with pytest.raises(ValueError, match=words):
        ka.evaluate_parameters("demo-wood", "C4", parameters, ["pluck_force"])


def test_unknown_quantities_and_notes_are_refused():
    with pytest.raises(ValueError, match="no figure 'pluck_forc'"):
        ka.evaluate_parameters("demo-wood", "C4", {"K_roller": [40.0]}, ["pluck_forc"])
    with pytest.raises(NoteProblem):
        ka.evaluate_parameters("demo-wood", "C9", {"K_roller": [40.0]}, ["pluck_force"])
