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


# -- values that no such parameter can have --------------------------------------------------------------
NEVER_NOTHING = ("J_key", "K_seat_pallet", "k_drop", "p_atm", "A_slot_pallet", "V_groove", "rho_air", "t_slip")


@pytest.mark.parametrize(
    "name",
    [*NEVER_NOTHING, "m_riser", "alpha_drop", "K_roller", "C_roller", "tau0_in_roller", "c_key", "p_box"],
)
@pytest.mark.parametrize("value", [-1.0, 0.0])
def test_a_value_that_cannot_be_is_refused_by_name(model, name, value):
    if value == 0.0 and name not in NEVER_NOTHING:
        model.with_parameters(**{name: value})
        return
    own = dict(zip(model.kernel().spellings, model.parameters(), strict=True))[name]
    with pytest.raises(ValueError, match=rf"{name} = {value:g} \(row 1\): must be "):
        ka.evaluate_parameters("demo-wood", "C4", {name: [own, value]}, ["pluck_force"], sample=0)
    with pytest.raises(ValueError, match=rf"{name} = {value:g}: must be "):
        model.with_parameters(**{name: value})


def test_all_of_them_are_named_before_anything_is_computed(monkeypatch):
    monkeypatch.setattr("keyaction.sim.sweep.parameters.evaluate_trains", None)
    with pytest.raises(
        ValueError, match=r"J_key = -1 \(row 0 and 1 more\).*m_riser = -2 \(row 1\): must be 0 kg or more"
    ):
        ka.evaluate_parameters("demo-wood", "C4", {"J_key": [-1.0, -1.0], "m_riser": [0.1, -2.0]}, sample=0)


def test_what_may_be_nothing_or_negative_is_let_pass(model):
    for name in ("B_pallet", "slack_drop", "delta_in_roller", "down_drop"):
        model.with_parameters(**{name: -1e-3})
    for name in ("m_riser", "A_leak_pallet", "alpha_drop", "k_pallet_spring", "p_box"):
        model.with_parameters(**{name: 0.0})


def test_an_absurd_row_takes_no_other_with_it():
    wild = {"J_key": [0.0024, 1e-300, 1e300, 0.0024], "K_seat_pallet": [5e5, 5e5, 5e5, 1e300]}
    found = ka.evaluate_parameters("demo-wood", "C4", wild, ["pluck_force", "speech_delay"], sample=0)
    alone = ka.evaluate_parameters(
        "demo-wood", "C4", {"J_key": 0.0024, "K_seat_pallet": 5e5}, ["pluck_force", "speech_delay"], sample=0
    )
    assert found["status"][0, 0] == "ok"
    assert "its fastest vibration" in found["status"][3, 0] and "absurdly stiff or light" in found["status"][3, 0]
    for name in ("pluck_force", "speech_delay"):
        assert found[name][0, 0] == pytest.approx(alone[name][0, 0])
        assert np.isnan(found[name][3, 0])
