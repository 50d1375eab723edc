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
)
from keyaction.models.materials.library import default_library

LIBRARY = default_library()

# S. V. Glass and S. L. Zelinka, Wood Handbook ch. 4, FPL-GTR-282 (2021), Table 4-2, p. 4-4 (second-hand): temperature
# in deg C, relative humidity in %, moisture content in %.
TABLE = [
    (21.1, 5, 1.3),
    (21.1, 30, 6.2),
    (21.1, 50, 9.2),
    (21.1, 75, 14.4),
    (21.1, 85, 17.9),
    (21.1, 95, 23.9),
    (-1.1, 75, 14.9),
    (-1.1, 95, 24.3),
    (37.8, 50, 8.7),
    (37.8, 90, 19.5),
]

# W. T. Simpson, FPL-RN-0268 (1998), restated in an article (read): 70 and 140 deg F.
RESTATED = [(70, 60, 11.1), (70, 84, 17.6)]


def percent(celsius, humidity):
    return 100 * moisture_content(celsius + ZERO_CELSIUS, humidity / 100)


@pytest.mark.parametrize(("celsius", "humidity", "content"), TABLE)
def test_moisture_is_the_handbooks_table(celsius, humidity, content):
    assert percent(celsius, humidity) == pytest.approx(content, abs=0.06)


@pytest.mark.parametrize(("fahrenheit", "humidity", "content"), RESTATED)
def test_moisture_meets_other_anchors(fahrenheit, humidity, content):
    assert percent((fahrenheit - 32) / 1.8, humidity) == pytest.approx(content, abs=0.2)


def test_the_fahrenheit_coefficients_say_the_same():
    # The same chapter, eq. (4-5) with its coefficients for deg F (second-hand): within 0.02 % moisture content.
    def handbook(f, h):
        w = 330 + 0.452 * f + 0.00415 * f**2
        k = 0.791 + 0.000463 * f - 0.000000844 * f**2
        k1 = 6.34 + 0.000775 * f - 0.0000935 * f**2
        k2 = 1.09 + 0.0284 * f - 0.0000904 * f**2
        bound = (k1 * k * h + 2 * k1 * k2 * k**2 * h**2) / (1 + k1 * k * h + k1 * k2 * k**2 * h**2)
        return 1800 / w * (k * h / (1 - k * h) + bound)

    for celsius, humidity, _ in TABLE:
        assert percent(celsius, humidity) == pytest.approx(handbook(celsius * 1.8 + 32, humidity / 100), abs=0.02)


def test_heated_rooms_in_winter_and_summer():
    # A Swedish wood guide (second-hand): 10 to 25 % humidity in winter, 45 to 60 % in summer give 2 to 6 and 7 to 12 %.
    assert 2 <= percent(20, 10) < percent(20, 25) <= 6
    assert 7 <= percent(20, 45) < percent(20, 60) <= 12


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
