"""Remarks on a climate: what is outside of guidance is told with how long, and nothing else is."""

from dataclasses import replace
from datetime import datetime

import numpy as np
import pytest

from keyaction.models.climate.guidance import (
    LAMINATES,
    MOULD,
    MUSEUMS,
    ORGANS,
    STANDARD,
    TABLE,
    WARMING,
    rates,
    remarks,
)
from keyaction.models.climate.states import STATES, ZERO, steady
from keyaction.models.climate.wave import default_year, wave
from keyaction.models.climate.year import DAY, Year

HOUR = 3600.0


def hourly(hours=24 * 30, temperature=ZERO + 18, humidity=0.5):
    """A calm month, every hour."""
    t = HOUR * np.arange(float(hours))
    return Year("made up", t, np.full(hours, temperature), np.full(hours, humidity), datetime(2025, 6, 1), "invented")


def changed(year, **at):
    """The year with some instants given otherwise: humidity={5: 0.7}."""
    arrays = {name: getattr(year, name).copy() for name in at}
    for name, values in at.items():
        for i, value in values.items():
            arrays[name][i] = value
    return replace(year, **arrays)


def of(source, year):
    """The remarks of one source."""
    return [one for one in remarks(year) if one.source == source]


def test_a_calm_climate_calls_for_nothing():
    assert remarks(hourly()) == ()
    assert remarks(steady(replace(STATES["damp-summer"], humidity=0.5))) == ()


def test_the_edges_of_the_band_are_within_it():
    year = hourly(humidity=0.40)
    assert remarks(changed(year, humidity=dict.fromkeys(range(100), 0.60))) == ()


def test_a_summer_that_leaves_the_band_for_an_hour():
    (found,) = remarks(changed(hourly(), humidity={37: 0.63}))
    assert (found.source, found.severity, found.first, found.last) == (ORGANS, "warning", 37, 37)
    assert found.text == "humidity above 60 %, highest 63 %: 1 hour, on 2 Jun 13:00"


def test_the_same_from_a_daily_table_is_a_day():
    year = wave((ZERO + 15, 0.5), (0.0, 0.0))
    (found,) = of(ORGANS, changed(year, humidity={37: 0.63}))
    assert found.text == "humidity above 60 %, highest 63 %: 1 day, on 7 Feb"


def test_several_spells_are_one_remark():
    (found,) = remarks(changed(hourly(), humidity={10: 0.35, 11: 0.36, 300: 0.34}))
    assert (found.first, found.last) == (10, 300)
    assert "lowest 34 %: 3 hours in 2 spells between 1 Jun 10:00 and 13 Jun 12:00" in found.text
    assert found.text.endswith("the longest 2 hours, from 1 Jun 10:00 to 1 Jun 11:00")


def test_an_hour_of_very_dry_air_is_a_danger():
    found = remarks(changed(hourly(), humidity={37: 0.24}))
    assert [(one.source, one.severity) for one in found] == [(LAMINATES, "danger"), (ORGANS, "warning")]
    assert not of(LAMINATES, changed(hourly(), humidity={37: 0.25}))


@pytest.mark.parametrize(("days", "told"), [(13, 0), (14, 1), (20, 1)])
def test_mould_wants_weeks(days, told):
    year = hourly(24 * 60)
    damp = changed(year, humidity=dict.fromkeys(range(200, 200 + 24 * days), 0.78))
    assert len(of(MOULD, damp)) == told
    broken = changed(damp, humidity={200 + 24 * 7: 0.70})
    assert of(MOULD, broken) == []


def test_warming_is_reckoned_from_an_hourly_table():
    heated = hourly(48)
    heated.temperature[8:] += np.minimum(2.5 * np.arange(1.0, 41), 13.0)
    (found,) = remarks(heated)
    assert (found.source, found.first, found.last, found.severity) == (WARMING, 8, 12, "warning")
    assert found.text.startswith(
        "warms faster than 1.5 °C an hour, at most by 2.5 °C an hour: 5 hours, from 1 Jun 08:00"
    )
    cooled = replace(heated, temperature=2 * ZERO + 36 - heated.temperature)
    assert remarks(cooled)[0].text.startswith("cools faster")
    slow = replace(heated, temperature=heated.temperature[0] + 1.5 * np.arange(48.0) / 4)
    assert remarks(slow) == ()


def test_the_steps_of_a_thermometer_are_no_warming():
    t = 300.0 * np.arange(288.0)
    year = Year("made up", t, ZERO + 18 + 0.2 * (np.arange(288) % 2), np.full(288, 0.5), datetime(2025, 6, 1))
    assert remarks(year) == ()
    assert np.max(np.abs(rates(year))) * HOUR <= 0.2 + 1e-9
    steep = replace(year, temperature=ZERO + 10 + 2.0 * t / HOUR)
    assert rates(steep)[20:] * HOUR == pytest.approx(np.full(268, 2.0), rel=1e-9)


def test_a_daily_table_cannot_tell_how_fast_it_warmed():
    year = wave((ZERO + 15, 0.5), (0.0, 0.0))
    (found,) = remarks(changed(year, temperature={100: ZERO + 25}))
    assert (found.severity, found.source) == ("note", WARMING)
    assert "values up to 1 day apart cannot tell" in found.text
    # 13 degrees in 6 hours are more than 1.5 an hour however they went; 8 are not told to be.
    t = 6 * HOUR * np.arange(40.0)
    for rise, told in ((13.0, 2), (8.0, 1)):
        quarter = Year("made up", t, ZERO + 12 + rise * (t > 5 * DAY), np.full(40, 0.5))
        assert len(of(WARMING, quarter)) == told


def test_seasons_and_habits_are_notes():
    year = default_year()
    found = of(MUSEUMS, year)
    assert [one.severity for one in found] == ["note"]
    assert "±25 % over the seasons" in found[0].text
    assert of(MUSEUMS, wave((ZERO + 15, 0.5), (8.0, 0.09))) == []
    dry = dict.fromkeys(range(100, 107), 0.41)
    (spell,) = of(STANDARD, changed(wave((ZERO + 15, 0.55), (0.0, 0.0)), humidity=dry))
    assert (spell.first, spell.last) == (100, 106)
    assert "7 days" in spell.text
    assert "from memory" in spell.source


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"temperature": {5: ZERO - 8, 6: ZERO - 3}}, "frost below -1.1 °C: wood's moisture as at -1.1 °C: 2 days"),
        ({"humidity": {5: 0.98}}, "humidity above 95 %"),
        ({"humidity": {5: 0.03}}, "humidity below 5 %"),
    ],
)
def test_what_is_beyond_the_moisture_table_is_told(change, told):
    (found,) = of(TABLE, changed(wave((ZERO + 1, 0.5), (0.0, 0.0)), **change))
    assert found.text.startswith(told)
    assert (found.first, found.severity) == (5, "note")


def test_what_the_moisture_table_reaches_is_not_told():
    edges = {"temperature": {5: ZERO - 1.1, 6: ZERO + 0.5, 7: ZERO - 0.5}, "humidity": {5: 0.95, 6: 0.05}}
    assert of(TABLE, changed(wave((ZERO + 1, 0.5), (0.0, 0.0)), **edges)) == []


def test_dangers_come_first_and_one_instant_is_enough():
    lone = Year("one", np.array([0.0]), np.array([ZERO - 5]), np.array([0.2]))
    assert [one.severity for one in remarks(lone)] == ["danger", "warning", "note"]
    assert all("1 day, on day 1" in one.text for one in remarks(lone))


@pytest.mark.parametrize("name", STATES)
def test_every_named_state_is_remarked_on(name):
    found = remarks(steady(name))
    assert [one.source for one in found if one.severity == "warning"] == [ORGANS]
    assert [one.source for one in found if one.severity == "danger"] == (
        [MOULD] if name == "unheated-damp-winter" else []
    )
