"""Moisture of wood and what it does to lengths, against the Wood Handbook and figures that restate it."""

import math

import numpy as np
import pytest

from keyaction.models.formulas.wood import (
    DAMPEST,
    DRIEST,
    FIBRE_SATURATION,
    ZERO_CELSIUS,
    length_strain,
    moisture_content,
    movement,
    size_change,
)
from keyaction.models.materials.library import default_library
from keyaction.sim.published.wood import CONTENTS, percent

LIBRARY = default_library()


def test_the_fahrenheit_coefficients_say_the_same():
    # Wood Handbook ch. 4, FPL-GTR-282, eq. (4-5) with its coefficients for deg F (second-hand): within 0.02 %.
    def handbook(f, h):
        w = 330 + 0.452 * f + 0.00415 * f**2
        k = 0.791 + 0.000463 * f - 0.000000844 * f**2
        k1 = 6.34 + 0.000775 * f - 0.0000935 * f**2
        k2 = 1.09 + 0.0284 * f - 0.0000904 * f**2
        bound = (k1 * k * h + 2 * k1 * k2 * k**2 * h**2) / (1 + k1 * k * h + k1 * k2 * k**2 * h**2)
        return 1800 / w * (k * h / (1 - k * h) + bound)

    for celsius, humidity, _ in CONTENTS:
        assert percent(celsius, humidity) == pytest.approx(handbook(celsius * 1.8 + 32, humidity / 100), abs=0.02)


def test_moisture_rises_with_humidity_and_falls_with_heat():
    humid = [percent(20, h) for h in np.linspace(5, 95, 40)]
    assert np.all(np.diff(humid) > 0)
    warm = [percent(t, 50) for t in np.linspace(10, 60, 40)]
    assert np.all(np.diff(warm) < 0)


@pytest.mark.parametrize(
    ("temperature", "humidity", "told"),
    [
        (200.0, 0.5, "temperature"),
        (293.15, DRIEST - 0.01, "humidity"),
        (293.15, DAMPEST + 0.01, "humidity"),
        (math.nan, 0.5, "temperature"),
    ],
)
def test_outside_the_table_there_is_no_figure(temperature, humidity, told):
    with pytest.raises(ValueError, match=told):
        moisture_content(temperature, humidity)


# -- along the grain ----------------------------------------------------------------------------------------
DRY, DAMP = (18 + ZERO_CELSIUS, 0.35), (18 + ZERO_CELSIUS, 0.70)


def test_a_tracker_of_two_metres():
    # Derived from the American Wood Council's FAQ restating Wood Handbook ch. 4 (read): 0.1 to 0.2 % from green to
    # oven-dry. 2 m of tracker, 18 deg C, 35 to 70 % humidity, fibre saturation 30 %: 0.41 to 0.83 mm.
    gained = moisture_content(*DAMP) - moisture_content(*DRY)
    assert 100 * gained == pytest.approx(6.20, abs=0.01)
    low, high = (2.0 * share * gained / FIBRE_SATURATION for share in (0.001, 0.002))
    assert (1e3 * low, 1e3 * high) == (pytest.approx(0.41, abs=0.005), pytest.approx(0.83, abs=0.005))
    for name in ("sitka-spruce", "western-redcedar"):
        assert low < 2.0 * length_strain(LIBRARY.get(name), DRY, DAMP) < high


def test_carbon_takes_up_no_moisture():
    assert length_strain(LIBRARY.get("carbon-rod"), DRY, DAMP) == 0.0


def test_growth_and_shrinkage_undo_each_other():
    spruce = LIBRARY.get("spruce")
    assert length_strain(spruce, DRY, DAMP) == -length_strain(spruce, DAMP, DRY) > 0
    assert length_strain(spruce, DRY, DRY) == 0


# -- across the grain, and stiffness ------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("celsius", "humidity", "content"),
    # Derived: the equation of the Wood Handbook (FPL-GTR-282, eq. 4-5) worked out to four places elsewhere.
    [
        (20, 30, 6.1882),
        (20, 50, 9.2711),
        (20, 65, 11.9963),
        (20, 80, 16.0371),
        (5, 85, 18.4695),
        (18, 35, 6.998),
        (18, 70, 13.200),
    ],
)
def test_moisture_to_three_places(celsius, humidity, content):
    assert percent(celsius, humidity) == pytest.approx(content, abs=1e-3)


def test_white_fir_of_the_handbook():
    # Table 4-3 (read) has white fir at 3.3 and 7.0 %; from them 0.00112 and 0.00245 (from memory).
    assert (movement(0.033), movement(0.070)) == (pytest.approx(0.00112, abs=5e-6), pytest.approx(0.00245, abs=5e-6))


def test_a_roller_of_beech_over_the_seasons():
    # Derived from Table 13-5 (read): 38 mm of American beech, tangential, 18 deg C from 35 to 70 %: 1.015 mm.
    coefficient = LIBRARY.get("american-beech")["movement_tangential"].value
    found = 1e3 * size_change(0.038, coefficient, moisture_content(*DRY), moisture_content(*DAMP))
    assert found == pytest.approx(1.015, rel=0.01)


def test_the_softwoods_lie_about_the_general_line():
    # D. W. Green, FPL-RP-489 (year 1989 from memory), abstract (read): softwoods but redwood and cedar shrink over
    # their width by 6.031 - 0.215 M %, over their thickness by 5.062 - 0.181 M %. 13.25 in at 19 % are 12.989 at 10 %
    # (derived).
    line = 13.25 * (1 - (6.031 - 0.215 * 10) / 100) / (1 - (6.031 - 0.215 * 19) / 100)
    assert line == pytest.approx(12.989, abs=5e-4)
    # A species' coefficient is within two of its standard deviations (15 %) of the line.
    for name in ("sitka-spruce", "eastern-white-pine", "sugar-pine"):
        wood = LIBRARY.get(name)["movement_tangential"]
        assert wood.value == pytest.approx(0.00215, rel=2 * wood.spread)
        shrunk = 13.25 + size_change(13.25, wood.value, 0.19, 0.10)
        assert shrunk - 13.25 == pytest.approx(line - 13.25, rel=2 * wood.spread)


def test_what_moisture_does_to_stiffness_is_within_its_spread():
    # Wood Handbook, eq. 5-3 (form from memory): P12 (P12/Pg)^((12 - M)/(25 - 12)). Sugar pine, Table 5-3a (read):
    # 8.2 GPa at 12 %, 7.1 green: 8.57 at 8 % and 8.76 at 6 % (derived). The program has one stiffness for all seasons.
    dry, green = LIBRARY.get("sugar-pine")["E"], 7.1e9
    at = {m: dry.value * (dry.value / green) ** ((12 - m) / 13) for m in (8, 6)}
    assert (at[8], at[6]) == (pytest.approx(8.57e9, rel=1e-3), pytest.approx(8.76e9, rel=1e-3))
    assert at[6] - dry.value < dry.spread * dry.value / 2
