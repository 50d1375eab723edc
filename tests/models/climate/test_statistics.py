"""Spells and the statistic about a running mean: by hand, and by another way."""

import math
from datetime import date

import numpy as np
import pytest

from keyaction.models.climate.states import ZERO
from keyaction.models.climate.statistics import EXEMPT, habit, running_mean, spells, steps
from keyaction.models.climate.wave import wave
from keyaction.models.climate.year import DAY, YEAR, Year


def a_year(humidity, step=DAY, temperature=None):
    """A climate of these humidities."""
    humid = np.asarray(humidity, dtype=float)
    warm = np.full(len(humid), ZERO + 18) if temperature is None else np.asarray(temperature, dtype=float)
    return Year("made up", step * np.arange(float(len(humid))), warm, humid, date(2025, 1, 1), "invented")


def test_each_instant_stands_for_the_time_to_the_next():
    year = Year("uneven", np.array([0.0, 1.0, 3.0, 4.0]), np.full(4, 290.0), np.full(4, 0.5))
    assert steps(year).tolist() == [1.0, 2.0, 1.0, 1.0]
    assert steps(a_year([0.5])).tolist() == [DAY]


def test_spells_are_told_apart():
    year = Year("uneven", np.array([0.0, 1.0, 3.0, 4.0, 5.0]), np.full(5, 290.0), np.full(5, 0.5))
    found = spells(year, np.array([True, True, False, False, True]))
    assert [(one.first, one.last, one.seconds) for one in found] == [(0, 1, 3.0), (4, 4, 1.0)]
    assert spells(year, np.zeros(5, dtype=bool)) == ()
    assert sum(one.seconds for one in spells(year, np.ones(5, dtype=bool))) == 6.0


def test_the_running_mean_of_a_wave_is_a_smaller_wave():
    # Closed form: over a window T the swing is sin(w T/2) / (w T/2) of the wave's; lines between days cut (w h)²/12.
    year = wave((ZERO + 15, 0.5), (8.0, 0.2))
    half = math.pi * 30 * DAY / YEAR
    inside = slice(15, -15)
    expected = 0.5 + (year.humidity - 0.5) * math.sin(half) / half
    assert running_mean(year, year.humidity)[inside] == pytest.approx(expected[inside], abs=1e-5)


def test_the_running_mean_keeps_straight_lines_and_constants():
    year = a_year(np.linspace(0.3, 0.6, 100))
    assert running_mean(year, year.humidity)[15:-15] == pytest.approx(year.humidity[15:-15], abs=1e-12)
    assert running_mean(a_year([0.5]), np.array([0.5])).tolist() == [0.5]
    # At the very end only the half of the window that there is: the mean of 15 days.
    assert running_mean(year, year.humidity)[-1] == pytest.approx(year.humidity[-16:].mean())


def test_uneven_instants_weigh_by_their_time():
    fine = np.concatenate((np.arange(0, 40, 0.25), np.arange(40, 100, 1.0)))
    course = 0.5 + 0.1 * np.sin(np.arange(101) * 0.4)
    even = Year("even", DAY * np.arange(101.0), np.full(101, 290.0), course)
    values = np.interp(fine, np.arange(101), course)
    uneven = Year("uneven", DAY * fine, np.full(len(fine), 290.0), values)
    at_days = np.isin(fine, np.arange(16, 80))
    assert running_mean(uneven, values)[at_days] == pytest.approx(running_mean(even, course)[16:80], abs=1e-12)


def test_a_calm_year_is_within_its_band():
    used = habit(wave((ZERO + 15, 0.5), (8.0, 0.2)))
    assert (used.low, used.high) == (-EXEMPT, EXEMPT)
    assert not used.outside.any()


def test_the_band_holds_86_of_100_departures_where_they_are_large():
    rng = np.random.default_rng(7)
    year = a_year(np.clip(0.55 + rng.normal(0, 0.13, 365), 0, 1))
    used = habit(year)
    assert used.high > EXEMPT
    assert used.low < -EXEMPT
    assert np.mean(used.outside) == pytest.approx(0.14, abs=0.01)
    # The 7th and 93rd percentile of a normal spread lie 1.476 of it from its mean (tables).
    assert (used.low, used.high) == (pytest.approx(-1.476 * 0.13, rel=0.15), pytest.approx(1.476 * 0.13, rel=0.15))


def test_one_dry_week_is_outside():
    humid = np.full(365, 0.55)
    humid[100:107] = 0.38
    used = habit(a_year(humid))
    assert np.flatnonzero(used.outside).tolist() == list(range(100, 107))
