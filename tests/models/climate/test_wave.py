"""The wave over the year."""

import numpy as np
import pytest

from keyaction.models.climate.states import STATES, ZERO
from keyaction.models.climate.wave import between, default_year, wave


def test_the_two_seasons_are_met_half_a_year_apart():
    year = between("heated-dry-winter", "damp-summer")
    winter, summer = STATES["heated-dry-winter"], STATES["damp-summer"]
    assert year.temperature[199] == summer.temperature
    assert year.humidity[199] == pytest.approx(summer.humidity, rel=1e-12)
    # Half of 365 days later there is no instant: the nearest is half a day off, 1 - cos(pi/365) of the swing away.
    assert year.humidity.min() == pytest.approx(winter.humidity, abs=4e-5 * (summer.humidity - winter.humidity))
    assert int(np.argmin(year.humidity)) in (16, 17)
    assert year.when(199) == "19 Jul"


def test_its_means_are_the_middles():
    year = wave((285.0, 0.5), (9.0, 0.2))
    assert np.mean(year.temperature) == pytest.approx(285.0, abs=1e-9)
    assert np.mean(year.humidity) == pytest.approx(0.5, abs=1e-12)
    # The mean square of a sine wave is half of its swing's square.
    assert np.mean((year.temperature - 285.0) ** 2) == pytest.approx(9.0**2 / 2, rel=1e-9)


def test_it_repeats_after_365_days():
    year = wave((285.0, 0.5), (9.0, -0.2), days=2 * 365)
    assert year.temperature[365:] == pytest.approx(year.temperature[:365], abs=1e-9)
    assert year.humidity[:365].argmin() == year.temperature[:365].argmax() == 199


def test_an_unheated_church_is_dampest_when_it_is_coldest():
    year = between("unheated-damp-winter", "damp-summer")
    assert year.humidity.argmax() == year.temperature.argmin()


def test_the_default_year_says_where_it_comes_from():
    year = default_year()
    assert (len(year), year.seconds[0], year.seconds[1]) == (365, 0.0, 86400.0)
    assert all(word in year.source for word in ("assumed", "heated-dry-winter", "damp-summer"))


@pytest.mark.parametrize(
    ("mean", "swing", "days", "told"),
    [
        ((ZERO + 10, 0.9), (5.0, 0.2), 365, "humidity 0.9"),
        ((ZERO + 10, 0.1), (5.0, -0.2), 365, "humidity 0.1"),
        ((5.0, 0.5), (5.0, 0.1), 365, "temperature 5"),
        ((ZERO, 0.5), (5.0, 0.1), 0, "at least 1"),
        ((ZERO, float("nan")), (5.0, 0.1), 365, "humidity"),
    ],
)
def test_what_is_no_air_is_refused(mean, swing, days, told):
    with pytest.raises(ValueError, match=told):
        wave(mean, swing, days=days)
