"""What is told of feel curves before anything is fitted to them."""

import math
from dataclasses import replace

import numpy as np
import pytest
from planted import C4, EXAMPLE, SEED, curve_of, of_note, planted_train

from keyaction.models.readings.readings import Head
from keyaction.sim.calibration.asked import Asked
from keyaction.sim.calibration.measured import measured_at
from keyaction.sim.calibration.odd import odd_curves, of_other_case, of_other_pressure

GRAM, OUNCE = 1e-3, 0.028349523125
"""kg: the avoirdupois ounce by definition (international yard and pound agreement, 1959)."""


@pytest.fixture(scope="module")
def read():
    """A case, its unknowns, and curves of a planted note with the wind on and off."""
    case, there = of_note()
    train = planted_train(case, there, EXAMPLE)
    random = np.random.default_rng(SEED)
    return case, there, {wind: curve_of(train, case.strokes, random, wind=wind) for wind in (True, False)}


def told(read, **other):
    """What is told of the curve, changed."""
    case, there, curves = read
    wind = other.pop("measured", True)
    measured = measured_at(C4, (), (replace(curves[wind], **other),), (), case.naming)
    return odd_curves(Asked(case, measured, (there["spring"],)))


@pytest.mark.parametrize(
    ("column", "factor", "unit"),
    [
        ("force", GRAM / OUNCE, "ounces written in a column of gf"),
        ("force", 9.80665e-3, "newtons written in a column of gf"),
        ("travel", 1 / 25.4, "inches written in a column of mm"),
        ("travel", 0.1, "centimetres written in a column of mm"),
    ],
)
def test_units_of_another_column_are_asked_after(read, column, factor, unit):
    curve = read[2][True]
    (said,) = told(read, **{column: getattr(curve, column) * factor})
    assert said.startswith(f"C4: under {column} stands ") and unit in said


def test_a_curve_that_stops_before_the_bottom_is_not_suspected(read):
    curve = read[2][True]
    part = (curve.travel < 4e-3) & curve.down
    kept = {name: getattr(curve, name)[part] for name in ("travel", "force", "down", "each")}
    assert told(read, **kept) == []


@pytest.mark.parametrize("measured", [True, False])
def test_the_other_state_of_the_wind_is_noticed(read, measured):
    assert told(read, measured=measured) == []
    (said,) = told(read, measured=measured, wind=not measured)
    states = ("on", "off") if measured else ("off", "on")
    assert f"measured with the wind {states[0]}, where the file says {states[1]}?" in said


def test_a_curve_at_another_pressure_is_told(read):
    case, _, curves = read
    at = [replace(curves[True], pressure=one * 9.80665) for one in (math.nan, 70.0, 60.0, 60.0)]
    (said,) = of_other_pressure(at, case)
    assert said.startswith("The curve of C4 was measured at 60 mmH2O, and the case has 70 mmH2O")
    assert of_other_pressure([replace(at[2], wind=False)], case) == []


def test_a_division_on_a_case_without_divisions_is_told(read):
    case, _, curves = read
    named = replace(curves[True], head=Head(case.title, case.fingerprint[:8], division="great"))
    assert of_other_case([named], case) == ["The curve of C4 is of division 'great', and the case has no divisions."]


def test_curves_of_another_case_or_division_are_told_once(read):
    case, _, curves = read
    ours = replace(curves[True], head=Head(case.title, case.fingerprint[:8]))
    other = replace(curves[True], head=Head("Another action"))
    changed = replace(curves[True], head=Head(case.title, "00000000"))
    assert of_other_case([ours, curves[True]], case) == []
    (said,) = of_other_case([other, other], case)
    assert said == f"The curve of C4 is of another case: 'Another action', and this is '{case.title}'."
    assert "changed since the curve of C4 was made for it" in of_other_case([changed], case)[0]
