"""Values of a wrong kind, given in Python: an error of ours that says what is wanted."""

import math

import numpy as np
import pytest

import keyaction as ka
from keyaction import drives
from keyaction.cases.action.reader import read_case
from keyaction.sim.code.kernel import asked_plain, load_kernel


@pytest.mark.parametrize("mass", ["x", None, [0.1]])
def test_a_mass_that_is_no_number(mass):
    with pytest.raises(TypeError, match=r"^mass is .*; a number is needed, in SI units$"):
        drives.laid_mass(mass)


def test_a_number_of_numpy_is_one():
    assert drives.laid_mass(np.float32(0.12)).mass == pytest.approx(0.12)
    with pytest.raises(ValueError, match="stiffness is -1; it must be above 0"):
        drives.laid_mass(0.12, stiffness=-1)


@pytest.mark.parametrize("drive", [None, 0.12, "stroke"])
def test_what_is_no_drive(short_model, drive):
    with pytest.raises(TypeError, match=r"cannot be played; a drive is needed, such as keyaction\.drives\.laid_mass"):
        short_model.play(drive)


@pytest.mark.parametrize("notes", [60, 6.5])
def test_one_number_is_no_choice_of_notes(short_case, notes):
    with pytest.raises(ka.NoteProblem, match=rf"^{notes}: notes are named in a text, such as 'C4,E4', or by a list"):
        ka.run(short_case, notes)


def test_a_name_is_no_case():
    with pytest.raises(TypeError, match=r"'demo-wood' is no case; read one with keyaction\.read_case"):
        ka.run("demo-wood")


@pytest.mark.parametrize(("sample", "kind"), [(-1, ValueError), (1.5, TypeError), (True, TypeError)])
def test_a_sample_is_a_number_of_designs(sample, kind):
    with pytest.raises(kind, match=r"^sample is "):
        ka.evaluate("demo-wood", "C4", [{}], ["key_dip"], sample=sample)
    with pytest.raises(kind, match=r"^sample is "):
        ka.evaluate_parameters("demo-wood", "C4", {"K_roller": 40.0}, ["key_dip"], sample=sample)


# -- settings --------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("given", "wanted"),
    [
        ({"roller": "2 mm"}, "a field of roller is wanted, each with its value: roller.length, "),
        ({"roller.": "2 mm"}, "a field of roller is wanted, each with its value: roller.length, "),
        ({"roller": {"length": "2 mm"}}, "a field of roller is wanted, each with its value: roller.length, "),
        ({"strokes": "3 ms"}, "a field of strokes is wanted, each with its value: strokes.down, "),
        ({"key.pin": "3 mm"}, "a field of key.pin is wanted, each with its value: key.pin.diameter, "),
    ],
)
def test_a_setting_without_its_field(given, wanted):
    with pytest.raises(ka.CaseProblem) as told:
        read_case("demo-wood", set_=given)
    assert wanted in str(told.value)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_a_size_that_is_not_finite(value):
    with pytest.raises(ka.CaseProblem, match="not a finite number; allowed: 5 mm to 20000 mm"):
        read_case("demo-wood", set_={"roller.length": value})


# -- the environment -------------------------------------------------------------------------------------
@pytest.mark.parametrize(("text", "plain"), [("1", True), ("yes", True), ("0", False), ("", False), ("No", False)])
def test_what_asks_for_plain_python(short_model, monkeypatch, text, plain):
    monkeypatch.setenv("KEYACTION_PLAIN", text)
    assert asked_plain() is plain
    assert load_kernel.__wrapped__(short_model.train.structure).compiled is not plain  # not from its memory
    monkeypatch.delenv("KEYACTION_PLAIN")
    assert asked_plain() is False
