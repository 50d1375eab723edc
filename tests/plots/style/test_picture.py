"""Pictures are functions like others: by name, with arguments and a docstring that tells of each."""

import inspect
import re

import pytest

from keyaction import plots

PICTURES = {
    "budgets": ["result", "note", "units"],
    "feel_curve": ["result", "note", "units"],
    "slow_press": ["result", "note", "units"],
    "stroke": ["result", "note", "units"],
    "stroke_path": ["result", "note", "units"],
    "budgets_compass": ["result", "units"],
    "compass": ["result", "units"],
}


@pytest.mark.parametrize("name", PICTURES)
def test_a_picture_tells_of_its_arguments(name):
    picture = getattr(plots, name)
    assert picture.__name__ == name
    assert list(inspect.signature(picture).parameters) == PICTURES[name]
    assert inspect.signature(picture).parameters["units"].default == "trade"
    pieces = re.split(r"^(\w+)\n-{3,}$", picture.__doc__, flags=re.MULTILINE)
    found = dict(zip(pieces[1::2], pieces[2::2], strict=True))
    assert re.findall(r"^(\w+) : ", found["Parameters"], flags=re.MULTILINE) == PICTURES[name]
    assert pieces[0].startswith("Draw ")
    assert "matplotlib.figure.Figure" in found["Returns"]
    assert ("KeyError" in found.get("Raises", "")) == ("note" in PICTURES[name])
