"""Named states: their figures against what they say they come from."""

import math

import numpy as np
import pytest

from keyaction.models.climate.lag import moisture
from keyaction.models.climate.states import STATES, ZERO, State, steady
from keyaction.models.formulas.wood import moisture_content


def test_the_four_states_of_the_trade_are_there():
    assert list(STATES) == ["heated-dry-winter", "unheated-damp-winter", "damp-summer", "after-air-heating"]
    assert all(one.name == name and one.doc and one.source for name, one in STATES.items())


def test_the_heated_winter_is_in_the_published_bands():
    # A Swedish guide to wood (second-hand): heated dwellings in winter, 10 to 25 % humidity, wood at 2 to 6 %.
    winter = STATES["heated-dry-winter"]
    assert 0.10 <= winter.humidity <= 0.25
    assert 0.02 <= moisture_content(winter.temperature, winter.humidity) <= 0.06


def magnus(celsius):
    """Saturation pressure of water in hPa: Magnus' formula (coefficients from memory)."""
    return 6.112 * math.exp(17.62 * celsius / (243.12 + celsius))


def test_air_heating_keeps_the_water_of_the_air():
    heated = STATES["after-air-heating"]
    dried = 0.60 * magnus(12) / magnus(25)
    assert heated.temperature == ZERO + 25
    assert heated.humidity == pytest.approx(dried, abs=0.005)


def test_the_damp_states_are_damper_than_the_dry_ones_in_wood():
    held = {name: moisture_content(one.temperature, one.humidity) for name, one in STATES.items()}
    assert max(held["heated-dry-winter"], held["after-air-heating"]) < 0.06
    assert min(held["unheated-damp-winter"], held["damp-summer"]) > 0.14


@pytest.mark.parametrize("name", STATES)
def test_wood_rests_in_a_steady_year(name):
    year, one = steady(name), STATES[name]
    assert (len(year), year.start, year.name) == (365, None, name)
    rest = moisture_content(one.temperature, one.humidity)
    assert moisture(year, np.array([0.0, 3600.0, 3e7])) == pytest.approx(np.full((3, 365), rest), rel=1e-12)


def test_a_state_of_ones_own_and_one_day():
    own = State("cellar", ZERO + 8, 0.9, "A cellar.", "assumed")
    year = steady(own, days=1)
    assert (year.seconds.tolist(), year.temperature.tolist(), year.humidity.tolist()) == ([0.0], [ZERO + 8], [0.9])
    assert year.when(0) == "day 1"


def test_there_is_no_year_without_days_and_no_unknown_state():
    with pytest.raises(ValueError, match="at least 1"):
        steady("damp-summer", days=0)
    with pytest.raises(KeyError):
        steady("damp-sumer")
