"""Quantities with units: reading, writing, and what is said about a wrong one."""

import math
import re
import time
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from keyaction.models.units.kinds import KINDS
from keyaction.models.units.quantity import (
    Dimension,
    UnitProblem,
    convert,
    dimension,
    dimension_words,
    format_value,
    kind_of,
    parse_quantity,
    unit_label,
    unit_of,
)

# Values by definition of the units (SI Brochure, 9th ed. 2019; conventional water column; standard gravity).
READINGS = [
    ("12 mm", "m", 0.012),
    ("1.2 cm", "m", 0.012),
    ("2 in", "m", 0.0508),
    ("1 ft", "m", 0.3048),
    ("35 g", "kg", 0.035),
    ("1 gf", "N", 9.80665e-3),
    ("1 kgf", "N", 9.80665),
    ("250 mN", "N", 0.25),
    ("75 mmH2O", "Pa", 735.49875),
    ("75 mm H2O", "Pa", 735.49875),
    ("75 mm H₂O", "Pa", 735.49875),
    ("7.5 cmH2O", "Pa", 735.49875),
    ("0.7 kPa", "Pa", 700.0),
    ("40 ms", "s", 0.04),
    ("6 Hz", "Hz", 6.0),
    ("180 deg", "rad", math.pi),
    ("180°", "rad", math.pi),
    ("5 mrad", "rad", 0.005),
    ("20 degC", "K", 293.15),
    ("-5 °C", "K", 268.15),
    ("293 K", "K", 293.0),
    ("35 %", "1", 0.35),
    ("35%", "1", 0.35),
    ("0.35", "1", 0.35),
    ("40 N/mm", "N/m", 40e3),
    ("40 N*m/rad", "N*m/rad", 40.0),
    ("1 N*mm/deg", "N*m/rad", 0.18 / math.pi),
    ("100 gf*mm", "N*m", 9.80665e-4),
    ("3 N·mm", "N*m", 3e-3),
    ("250 g*mm^2", "kg*m^2", 2.5e-7),
    ("250 g·cm²", "kg*m^2", 2.5e-5),
    ("0.4 g/cm^3", "kg/m^3", 400.0),
    ("9.9 GPa", "Pa", 9.9e9),
    ("150 mm²", "m^2", 150e-6),
    ("1.5 cm^2", "m^2", 150e-6),
    ("0.8 L", "m^3", 0.8e-3),
    ("800 cm^3", "m^3", 0.8e-3),
    ("100 mm/s", "m/s", 0.1),
    ("0.6 s/m", "s/m", 0.6),
    ("20 N/m^1.5", "N/m^1.5", 20.0),
    ("20 N/mm^1.5", "N/m^1.5", 20 * 1000**1.5),
    ("3 mJ", "J", 3e-3),
    ("4e-6 1/K", "1/K", 4e-6),
    ("4e-6 K^-1", "1/K", 4e-6),
    ("4e-6 K⁻¹", "1/K", 4e-6),
    ("−3 mm", "m", -0.003),
    ("+.5 mm", "m", 0.0005),
    ("5. mm", "m", 0.005),
    ("1 m/s/s", "m/s^2", 1.0),
    # NIST Special Publication 811, 2008, Appendix B (from memory): the exact pound, ounce and their forces.
    ("1 lb", "kg", 0.45359237),
    ("16 oz", "kg", 0.45359237),
    ("1 lbf", "N", 0.45359237 * 9.80665),
    ("16 ozf", "N", 0.45359237 * 9.80665),
    ("1 psi", "Pa", 0.45359237 * 9.80665 / 0.0254**2),
    ("1 inH2O", "Pa", 25.4 * 9.80665),
    ("1013.25 mbar", "Pa", 101325.0),
    ("1013.25 hPa", "Pa", 101325.0),
    ("1.01325 bar", "Pa", 101325.0),
    ("3/8 in", "m", 0.009525),
    ("1 1/2 in", "m", 0.0381),
    ("1-1/2 in", "m", 0.0381),
    ("1½ in", "m", 0.0381),
    ("¾ in", "m", 0.01905),
    ("-1/4 in", "m", -0.00635),
    ("1/2 lbf", "N", 0.45359237 * 9.80665 / 2),
    ("5 1/s", "Hz", 5.0),
    ("2 min", "s", 120.0),
    ("1 day", "h", 24.0),
]


@pytest.mark.parametrize(("text", "unit", "value"), READINGS)
def test_reads(text, unit, value):
    assert parse_quantity(text, unit) == pytest.approx(value, rel=1e-14)


@pytest.mark.parametrize(("text", "unit", "value"), [("75 mmH2O", "Pa", 735.49875), ("35 %", "1", 0.35)])
def test_reads_without_a_rounding_error(text, unit, value):
    assert parse_quantity(text, unit) == value


@pytest.mark.parametrize(
    ("text", "unit"),
    [("250 mN", "mN"), (" 35% ", "%"), ("0.35", ""), ("1 1/2 in", "in"), ("−5 °C", "°C"), ("4e-6 1/K", "1/K")],
)
def test_the_unit_is_told_as_it_is_written(text, unit):
    assert unit_of(text) == unit


PROBLEMS = [
    ("12", "m", None, "'12' has no unit; write e.g. '12 mm'"),
    ("12", "K", None, "'12' has no unit; write e.g. '12 degC'"),
    ("12 mm", "Pa", None, "'12 mm' is a length; a pressure is needed, e.g. '75 mmH2O'"),
    ("12 mm", "Pa", "modulus", "'12 mm' is a length; a modulus is needed, e.g. '9.9 GPa'"),
    ("200 g", "N", None, "'200 g' is a mass; write '200 gf' for the force that 200 g weigh"),
    ("0.5 kg", "N", None, "'0.5 kg' is a mass; write '0.5 kgf' for the force that 0.5 kg weigh"),
    ("7 oz", "N", None, "'7 oz' is a mass; write '7 ozf' for the force that 7 oz weigh"),
    ("200 gf", "kg", None, "'200 gf' is a force; write '200 g' for the mass that weighs 200 gf"),
    ("12 mg", "N", None, "'12 mg' is a mass; a force is needed, e.g. '120 gf'"),
    ("3/8", "m", None, "'3/8' has no unit; write e.g. '3/8 mm'"),
    ("3/0 in", "m", None, "'3/0' divides by 0"),
    ("3/8/2 in", "m", None, "'3/8/2 in': cannot read the unit"),
    ("4 N*m", "N*m/rad", None, "'4 N*m' is a torque; a torsional stiffness is needed, e.g. '40 N*m/rad'"),
    ("3 deg", "1", None, "'3 deg' is an angle; a plain number is needed, e.g. '0.35'"),
    ("12 mmm", "m", None, "'12 mmm': unit 'mmm' is not known; the nearest known unit is 'mm'"),
    ("3 mPa", "Pa", None, "'3 mPa': unit 'mPa' is not known; the nearest known unit is 'MPa'"),
    ("12 ml2", "m^2", None, "'12 ml2': unit 'ml2' is not known"),
    ("12 parsnips", "m", None, "'12 parsnips': unit 'parsnips' is not known; units look like"),
    ("7,5 mm", "m", None, "'7,5 mm' has a decimal comma; use a point: '7.5 mm'"),
    ("nan mm", "m", None, "'nan mm' is not a finite number; a length is needed"),
    ("-inf mm", "m", None, "'-inf mm' is not a finite number; a length is needed"),
    ("1e999 mm", "m", None, "'1e999 mm' is too large to be a number"),
    ("1e-400 N", "N", None, "'1e-400 N' is too small to be a number; write 0 if that is meant"),
    ("-0.01e-399 N", "N", None, "'-0.01e-399 N' is too small to be a number"),
    ("5e-324 mm", "m", None, "'5e-324 mm' is too small to be a number"),
    ("1e308 GPa", "Pa", None, "'1e308 GPa' is too large to be a number"),
    ("twelve mm", "m", None, "'twelve mm' does not begin with a number; a length is needed, e.g. '12 mm'"),
    ("", "m", None, "'' does not begin with a number; a length is needed, e.g. '12 mm'"),
    ("1.2.3 mm", "m", None, "'1.2.3 mm' does not begin with a number"),
    ("9**9**9", "m", None, "'9**9**9': cannot read the unit '**9**9'"),
    ("9 m**9", "m", None, "'9 m**9': cannot read the unit 'm**9'"),
    ("1 m^9", "m", None, "'1 m^9': the power 9 is out of range; -4 to 4 is allowed"),
    ("1 (m)", "m", None, "'1 (m)': cannot read the unit '(m)'"),
    ("1 __import__('os')", "m", None, "cannot read the unit"),
    ("1 " + "m*" * 500 + "m", "m", None, "is too long to be a quantity (at most 60 characters)"),
]


@pytest.mark.parametrize(("text", "unit", "kind", "message"), PROBLEMS)
def test_says_what_is_wrong(text, unit, kind, message):
    started = time.process_time()
    with pytest.raises(UnitProblem) as caught:
        parse_quantity(text, unit, kind)
    assert message in str(caught.value)
    assert time.process_time() - started < 1.0  # of this process's own work


@pytest.mark.parametrize("value", [True, None, ["12 mm"], {"value": "12 mm"}])
def test_refuses_what_is_not_text(value):
    with pytest.raises(UnitProblem, match=r"is not a quantity; a length is needed"):
        parse_quantity(value, "m")


def test_a_bare_number_of_a_file_has_no_unit():
    with pytest.raises(UnitProblem, match="'12' has no unit"):
        parse_quantity(12, "m")
    assert parse_quantity(0.35, "1") == 0.35


@given(st.text(max_size=80))
def test_any_text_is_read_or_refused_in_words(text):
    try:
        value = parse_quantity(text, "m")
    except UnitProblem as problem:
        assert str(problem)
    else:
        assert math.isfinite(value)


@given(st.floats(-1e6, 1e6), st.sampled_from(KINDS))
def test_what_is_converted_reads_back(number, kind):
    value, label = convert(number, kind.si, "trade", kind.words)
    read_back = parse_quantity(f"{value!r} {label}", kind.si, kind.words)
    # Around 0 degC the offset of 273 K costs digits; elsewhere there is none.
    assert read_back == pytest.approx(number, rel=1e-12, abs=1e-12 if kind.words == "temperature" else 1e-300)


@given(st.floats(1e-5, 1e5), st.sampled_from(KINDS), st.integers(2, 8), st.sampled_from(["trade", "si", "prefixed"]))
def test_what_is_written_reads_back_to_its_digits(number, kind, digits, system):
    text = format_value(number, kind.si, system, digits, kind.words)
    shown, _ = convert(number, kind.si, system, kind.words)
    read_back, _ = convert(parse_quantity(text, kind.si, kind.words), kind.si, system, kind.words)
    assert read_back == pytest.approx(shown, rel=10.0 ** (1 - digits))


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.words)
def test_every_example_is_of_its_kind(kind):
    assert math.isfinite(parse_quantity(kind.example, kind.si, kind.words))


@pytest.mark.parametrize(
    ("unit", "words"),
    [
        ("m", "length"), ("Pa", "pressure"), ("N", "force"), ("N*m/rad", "torsional stiffness"),
        ("N*m", "torque"), ("J", "energy"), ("kg*m^2", "moment of inertia"),
        ("mmH2O", "pressure"), ("1", "plain number"),
        ("N/m^1.5", "contact stiffness"), ("kg*m", "quantity in kg·m"),
    ],
)  # fmt: skip
def test_kinds_in_words(unit, words):
    assert kind_of(unit) == words


@pytest.mark.parametrize(
    ("value", "unit", "kind", "trade", "si"),
    [
        (735.49875, "Pa", None, "75 mmH2O", "735 Pa"),
        (9.9e9, "Pa", "modulus", "9.9 GPa", "9.9e+09 Pa"),
        (0.0123456, "m", None, "12.3 mm", "0.0123 m"),
        (0.980665, "N", None, "100 gf", "0.981 N"),
        (0.04, "s", None, "40 ms", "0.04 s"),
        (6.0, "Hz", None, "6 Hz", "6 Hz"),
        (0.035, "kg", None, "35 g", "0.035 kg"),
        (math.pi / 60, "rad", None, "3 deg", "0.0524 rad"),
        (150e-6, "m^2", None, "150 mm²", "0.00015 m²"),
        (0.8e-3, "m^3", None, "0.8 L", "0.0008 m³"),
        (40e3, "N/m", None, "40 N/mm", "40000 N/m"),
        (0.015, "N*m", None, "15 N·mm", "0.015 N·m"),
        (2.5e-5, "kg*m^2", None, "250 g·cm²", "2.5e-05 kg·m²"),
        (3e-3, "J", None, "3 mJ", "0.003 J"),
        (0.1, "m/s", None, "100 mm/s", "0.1 m/s"),
        (293.15, "K", None, "20 °C", "293 K"),
        (38.27, "N*m/rad", None, "38.3 N·m/rad", "38.3 N·m/rad"),
        (403.2, "kg/m^3", None, "403 kg/m³", "403 kg/m³"),
        (0.35, "1", None, "0.35", "0.35"),
        (0.35, "1", "share", "35 %", "0.35"),
        (0.0, "m", None, "0 mm", "0 m"),
        (math.nan, "m", None, "n/a", "n/a"),
        (math.inf, "m", None, "inf mm", "inf m"),
        (1234.5678, "m/s", None, "1234568 mm/s", "1235 m/s"),
    ],
)
def test_writes_both_systems(value, unit, kind, trade, si):
    assert format_value(value, unit, kind=kind) == trade
    assert format_value(value, unit, "si", kind=kind) == si


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.words)
def test_si_with_prefixes_has_no_unit_of_the_trade_alone(kind):
    label = convert(1.0, kind.si, "prefixed", kind.words)[1]
    assert not set(re.split("[·/]", re.sub("[²³⁴]", "", label))) & {"gf", "mmH2O", "deg", "L"}
    trade = convert(1.0, kind.si, "trade", kind.words)[1]
    assert label == trade or any(one in trade for one in ("gf", "mmH2O", "deg", "L", "g·cm"))


def test_si_with_prefixes_has_figures_of_the_trades_size():
    written = [
        (0.00226, "m"),
        (1.2, "N"),
        (735.5, "Pa"),
        (2.5e-5, "kg*m^2"),
        (8e-4, "m^3"),
        (0.05, "rad"),
        (0.035, "kg"),
    ]
    told = ["2.26 mm", "1.2 N", "736 Pa", "25 kg·mm²", "800 cm³", "50 mrad", "35 g"]
    assert [format_value(value, unit, "prefixed") for value, unit in written] == told


def test_arrays_keep_their_shape():
    value, label = convert(np.array([[0.001, 0.002], [0.003, 0.004]]), "m")
    assert label == "mm"
    np.testing.assert_allclose(value, [[1, 2], [3, 4]], rtol=1e-15)
    assert format_value(np.array([0.001, np.nan]), "m") == "[1, n/a] mm"
    assert format_value(np.array(0.001), "m") == format_value(np.float64(0.001), "m") == "1 mm"


def test_unknown_system_and_kind_are_refused():
    with pytest.raises(ValueError, match="'trade', 'si' or 'prefixed'"):
        convert(1.0, "m", "imperial")
    with pytest.raises(ValueError, match="called 'hardness'"):
        convert(1.0, "Pa", kind="hardness")
    with pytest.raises(ValueError, match="does not measure a modulus"):
        convert(1.0, "m", kind="modulus")


def test_labels():
    assert unit_label("g*cm^2") == "g·cm²"
    assert unit_label("K^-1") == "K⁻¹"
    assert unit_label("N/mm^1.5") == "N/mm^1.5"
    assert unit_label("") == ""


def test_dimensions_multiply_like_the_quantities():
    assert dimension("N") == Dimension(kg=Fraction(1), m=Fraction(1), s=Fraction(-2))
    assert dimension("N/m^1.5") == dimension("N") / dimension("m") ** Fraction(3, 2)
    assert dimension("N*m/rad") == dimension("J")
    assert dimension("rad") == dimension("percent") == dimension("1") == dimension("") == Dimension()
    assert dimension("1/K").K == -1
    assert len({dimension("Pa"), dimension("N") / dimension("m^2"), dimension("mmH2O")}) == 1


@pytest.mark.parametrize(
    ("unit", "words"),
    [
        ("N", "force (kg·m/s²)"),
        ("Pa", "pressure (kg/m/s²)"),
        ("J", "torque or energy (kg·m²/s²)"),
        ("N/m^1.5", "contact stiffness (kg/m^0.5/s²)"),
        ("Hz", "frequency (1/s)"),
        ("kg*m", "kg·m"),
        ("rad", "plain number"),
    ],
)
def test_dimensions_in_words(unit, words):
    assert dimension_words(dimension(unit)) == words


@pytest.mark.parametrize("written", ["12 mm2", "12 mm^2", "12 mm²", "0.12 cm2"])
def test_areas_are_read_as_people_write_them(written):
    assert parse_quantity(written, "m^2") == pytest.approx(12e-6)
