"""A climate that is none is refused, with everything that is wrong in it."""

import math

import numpy as np
import pytest

from keyaction.models.climate.year import DAY, Year

GOOD = {"seconds": [0.0, DAY, 2 * DAY], "temperature": [290.0, 291.0, 292.0], "humidity": [0.5, 0.6, 0.55]}


def test_lists_become_floats():
    year = Year("air", **GOOD | {"temperature": [290, 291, 292]})
    for name, values in GOOD.items():
        course = getattr(year, name)
        assert (course.dtype, course.tolist()) == (np.float64, values)


@pytest.mark.parametrize("ends", [{"temperature": [200.0, 350.0, 300.0]}, {"humidity": [0.0, 1.0, 1.0 + 1e-12]}])
def test_the_ends_are_allowed(ends):
    assert len(Year("air", **GOOD | ends)) == 3


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"seconds": [0.0, 2.0, 1.0]}, "seconds must rise: 2, then 1 (index 2)"),
        ({"seconds": [0.0, 0.0, 0.0]}, "seconds must rise: 0, then 0 (index 1), and 1 more"),
        ({"seconds": [1.0, 2.0, 3.0]}, "seconds begin at 1; the first is 0"),
        ({"seconds": [0.0, math.nan, 3.0]}, "seconds: 1 of 3 values are not finite"),
        ({"temperature": [math.inf, math.nan, 290.0]}, "temperature: 2 of 3 values are not finite"),
        ({"temperature": [20.0, 21.0, 22.0]}, "temperature 20 to 22: allowed: 200 to 350 K"),
        ({"temperature": [290.0, 290.0, 350.1]}, "temperature 290 to 350.1: allowed: 200 to 350 K"),
        ({"humidity": [0.5, 55.0, 0.5]}, "humidity 0.5 to 55: allowed: 0 to 1"),
        ({"humidity": [-0.001, 0.5, 0.5]}, "humidity -0.001 to 0.5: allowed: 0 to 1"),
        ({"humidity": [0.5, 0.5]}, "lengths differ: seconds 3, temperature 3, humidity 2"),
        ({"humidity": [[0.5, 0.5, 0.5]]}, "humidity has 2 dimensions; one is needed"),
        ({"humidity": 0.5}, "humidity has 0 dimensions; one is needed"),
        ({"humidity": ["damp"] * 3}, "humidity holds what is no number"),
        ({"humidity": None}, "humidity"),
    ],
)
def test_nonsense_is_refused(wrong, told):
    with pytest.raises(ValueError, match="climate 'air': ") as problem:
        Year("air", **GOOD | wrong)
    assert told in str(problem.value)
    assert ";" not in str(problem.value).replace("; the first is", "").replace("; one is", "")


def test_everything_is_told_at_once():
    with pytest.raises(ValueError, match="air") as problem:
        Year("air", [0.0, 3.0, 2.0, 4.0], [20.0, 20.0], [math.nan, 0.5])
    told = str(problem.value)
    assert all(one in told for one in ("lengths differ", "must rise", "allowed: 200 to 350 K", "not finite"))
    with pytest.raises(ValueError, match="seconds is empty; temperature is empty; humidity is empty"):
        Year("none", [], [], [])
