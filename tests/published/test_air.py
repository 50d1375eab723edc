"""Density of moist air, pressure units and the orifice law against published figures."""

import math

import pytest

from keyaction.models.formulas import air
from keyaction.models.units.quantity import parse_quantity


@pytest.mark.parametrize(
    ("celsius", "pressure", "humidity", "cipm", "coolprop", "ashrae"),
    [
        # CIPM-2007 (Picard, Davis, Gläser, Fujii, Metrologia 45, 2008, 149-155), CoolProp's equation of state
        # for humid air and psychrolib's ASHRAE relations: three codes, run for these rows (derived).
        (20, 101325, 0.50, 1.19931, 1.19936, 1.19890),
        (20, 101325, 0.00, 1.20456, 1.20460, 1.20415),
        (15, 101325, 0.00, 1.22552, 1.22557, 1.22505),
        (10, 101325, 0.40, 1.24495, 1.24500, 1.24439),
        (25, 101325, 0.80, 1.17314, 1.17318, 1.17276),
        (18, 98000, 0.60, 1.16745, 1.16749, 1.16703),
        (30, 101325, 0.60, 1.15368, 1.15372, 1.15336),
    ],
)
def test_density_agrees_with_three_codes(celsius, pressure, humidity, cipm, coolprop, ashrae):
    density = air.density(celsius + 273.15, pressure, humidity)
    assert density == pytest.approx(cipm, abs=5.1e-6)
    assert density == pytest.approx(coolprop, rel=5e-4)
    assert density == pytest.approx(ashrae, rel=5e-4)


def test_density_refuses_values_outside_its_range_all_at_once():
    with pytest.raises(ValueError, match=r"temperature 20 K.*relative humidity 50"):
        air.density(20.0, 101325.0, 50.0)
    with pytest.raises(ValueError, match=r"pressure 735 Pa is out of range; 60000 to 110000"):
        air.density(293.15, 735.0, 0.5)
    with pytest.raises(ValueError, match="temperature nan"):
        air.density(math.nan, 101325.0, 0.5)


@pytest.mark.parametrize(
    ("text", "unit", "value", "tolerance"),
    [
        # By definition: conventional water column and standard gravity.
        ("1 mmH2O", "Pa", 9.80665, 1e-12),
        ("1 inH2O", "Pa", 249.089, 1e-6),
        ("75 mmH2O", "Pa", 735.5, 1e-5),
        ("3 inH2O", "Pa", 747.3, 1e-4),
        ("1 gf", "N", 9.80665e-3, 1e-12),
    ],
)
def test_wind_and_weight_units(text, unit, value, tolerance):
    assert parse_quantity(text, unit) == pytest.approx(value, rel=tolerance)


def test_orifice_law():
    # Textbook law, derived: C_d 0.61, 1 cm2, 75 mmH2O, 1.2 kg/m3 give 2.1357e-3 m3/s; ideal jet 35.01 m/s.
    wind = parse_quantity("75 mmH2O", "Pa")
    assert air.orifice_flow(0.61, 1e-4, wind, 1.2) == pytest.approx(2.1357e-3, rel=1e-4)
    assert air.jet_speed(wind, 1.2) == pytest.approx(35.01, rel=1e-4)
    assert air.orifice_flow(0.61, 1e-4, -wind, 1.2) == -air.orifice_flow(0.61, 1e-4, wind, 1.2)
    assert air.orifice_flow(0.61, 1e-4, 0.0, 1.2) == 0.0
