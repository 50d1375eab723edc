"""The instant of a year that people name."""

from datetime import date

import numpy as np
import pytest

from keyaction.models.climate.year import DAY, Year
from keyaction.sim.seasons.day import instant_of


def climate(start=date(2026, 10, 1), days=120):
    flat = np.full(days, 0.5)
    return Year("made up", np.arange(days) * DAY, flat + 290, flat, start)


@pytest.mark.parametrize("text", ["2026-11-02", "2 Nov", "2 November", "Nov 2", "day 33", "33"])
def test_a_day_in_many_spellings(text):
    assert climate().when(instant_of(climate(), text)) == "2 Nov"


def test_a_day_after_the_new_year():
    assert instant_of(climate(), "1 Jan") == 92


@pytest.mark.parametrize(("text", "says"), [("30 Feb", "no day"), ("soon", "1 Oct to 28 Jan"), ("1 Apr", "outside")])
def test_what_is_no_day_says_what_is(text, says):
    with pytest.raises(ValueError, match=says):
        instant_of(climate(), text)


def test_a_climate_without_dates_knows_numbers_alone():
    assert instant_of(climate(None), "day 5") == 4
    with pytest.raises(ValueError, match="day 12"):
        instant_of(climate(None), "5 Jan")
