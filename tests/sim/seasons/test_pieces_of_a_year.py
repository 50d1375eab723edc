"""A climate in months, weeks and days; spells; how soon a figure drifts."""

import math
from datetime import date, datetime
from time import process_time

import numpy as np
import pytest

from keyaction.models.climate.year import DAY, Year
from keyaction.sim.seasons.drift import fastest
from keyaction.sim.seasons.months import days_of, pieces, spells


def air(days, start=None, an_hour=1.0):
    count = int(days * an_hour)
    return Year("made up", np.arange(count) * DAY / an_hour, np.full(count, 290.0), np.full(count, 0.5), start)


def counts(year):
    return {name: int(there.sum()) for name, there in pieces(year).items()}


def test_a_year_with_dates_falls_into_its_months():
    found = counts(air(365, date(2025, 1, 1)))
    assert list(found) == ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]
    assert list(found.values()) == [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]


def test_months_of_the_same_name_are_together_and_the_first_begins():
    found = counts(air(400, date(2025, 10, 1)))
    assert next(iter(found)) == "Oct" and found["Oct"] == 62 and len(found) == 12


def test_without_dates_a_year_has_twelve_pieces():
    assert list(counts(air(365)).items())[-1] == ("day 336-365", 30)
    assert len(counts(air(365))) == 12


@pytest.mark.parametrize(
    ("days", "start", "names"),
    [
        (1, None, ["day 1"]),
        (2, date(2025, 3, 31), ["31 Mar", "1 Apr"]),
        (20, date(2025, 1, 22), ["22-28 Jan", "29 Jan-4 Feb", "5-10 Feb"]),
        (20, None, ["day 1-7", "day 8-14", "day 15-20"]),
    ],
)
def test_short_climates_are_told_by_weeks_and_days(days, start, names):
    assert list(counts(air(days, start))) == names


@pytest.mark.parametrize("days", [1, 13, 40, 90, 365, 800])
@pytest.mark.parametrize("start", [None, date(2025, 6, 17), datetime(2025, 6, 17, 23)])
def test_every_instant_is_in_one_piece(days, start):
    assert np.all(np.sum(list(pieces(air(days, start)).values()), axis=0) == 1)


def test_days_are_counted_once_however_many_instants_they_have():
    year = air(3, an_hour=24)
    there = np.zeros(72, dtype=bool)
    there[[1, 5, 30]] = True
    assert days_of(year, there) == 2
    assert days_of(year, ~there) == 3


def test_spells_are_unbroken():
    assert spells(np.array([True, True, False, True, False])) == [(0, 1), (3, 3)]
    assert spells(np.zeros(4, dtype=bool)) == []


# -- drift: by hand ----------------------------------------------------------------------------------------
def test_a_straight_course_drifts_in_the_time_of_its_slope():
    days = np.arange(11.0)
    assert fastest(days, 0.3 * days, 1.0).days == pytest.approx(1.0 / 0.3)


def test_the_steepest_stretch_counts_wherever_it_begins_and_either_way():
    days = np.arange(6.0)
    found = fastest(days, np.array([0.0, 0.1, 0.2, -0.3, -0.8, -0.8]), 0.5)
    assert (found.days, found.since) == (pytest.approx(1.0), 2)


def test_a_slow_wave_of_one_unit_takes_the_time_of_an_arc():
    """Round its middle x = a sin(w t): the shortest way from -d/2 to d/2 takes 2 asin(d / 2a) / w."""
    days = np.linspace(0.0, 365.0, 3651)
    turn = 2 * np.pi / 365
    exact = 2 * math.asin(0.5 / 2) / turn
    assert fastest(days, np.sin(turn * days), 0.5).days == pytest.approx(exact, rel=1e-3)


def one_by_one(days, course, by):
    """The same, from every instant to every later one."""
    best = math.inf, -1
    for i in range(len(days)):
        for j in range(i + 1, len(days)):
            if abs(course[j] - course[i]) >= by:
                time = days[j] - days[i]
                if np.isfinite(course[j - 1]):
                    share = (course[i] + math.copysign(by, course[j] - course[i]) - course[j - 1]) / (
                        course[j] - course[j - 1]
                    )
                    time = days[j - 1] + share * (days[j] - days[j - 1]) - days[i]
                best = min(best, (time, i))
                break
    return best


@pytest.mark.parametrize("seed", range(8))
def test_it_is_the_same_as_one_by_one(seed):
    rng = np.random.default_rng(seed)
    for _ in range(60):
        count = int(rng.integers(0, 40))
        days = np.cumsum(rng.uniform(0.1, 2.0, count))
        course = np.round(np.cumsum(rng.normal(size=count)), int(rng.integers(0, 3)))
        course[rng.random(count) < 0.1 * rng.integers(0, 3)] = np.nan
        by = float(rng.choice([0.5, 1.0, 2.0, 5.0]))
        found = fastest(days, course, by)
        assert (found.days, found.since) == one_by_one(days, course, by)


def test_many_instants_take_no_more_than_a_few():
    # 200 000 hours, by a loop over them a minute; here some tenths of a second.
    hours = np.arange(200_000) / 24.0
    before = process_time()
    found = fastest(hours, np.sin(2 * np.pi / 365.0 * hours), 0.5)
    assert process_time() - before < 5.0
    assert found.days == pytest.approx(2 * math.asin(0.25) * 365.0 / 2 / np.pi, rel=1e-4)


def test_what_never_goes_so_far_never_drifts():
    found = fastest(np.arange(5.0), np.array([0.0, 0.4, np.nan, 0.0, 0.1]), 0.5)
    assert (found.days, found.since) == (math.inf, -1)


@pytest.mark.parametrize("by", [0.0, -1.0, math.nan])
def test_no_drift_is_refused(by):
    with pytest.raises(ValueError, match="give a length above 0"):
        fastest(np.arange(3.0), np.zeros(3), by)
