"""The picture of a chord: what is drawn is what was played, and its lettering can be read."""

import numpy as np
import pytest
from figure_checks import outside, overlaps

from keyaction.cases.action.reader import read_case
from keyaction.plots.chord.pressure import pressures
from keyaction.sim.chord.of_case import chord

ABOUT = {"title": "Invented", "case_name": "demo-wood.toml"}


@pytest.fixture(scope="module")
def played():
    return chord(read_case("demo-wood"), "C3 C4")


@pytest.mark.parametrize("units", ["trade", "si"])
def test_lettering_is_clear(played, units):
    figure = pressures(played, ABOUT, units)
    assert overlaps(figure) == []
    assert outside(figure) == []


def test_the_lines_are_the_pressures(played):
    box, groove, flow = pressures(played, ABOUT, "si").axes
    course = played.played.boxes["box"]
    np.testing.assert_allclose(box.lines[0].get_ydata(), course.pressure)
    np.testing.assert_allclose(flow.lines[0].get_ydata(), course.flow)
    found = {line.get_label(): line.get_ydata() for line in groove.lines}
    for name, motion in played.played.notes.items():
        np.testing.assert_allclose(found[name], motion["groove_pressure"])
    assert groove.get_ylabel() == "groove (Pa)"
    assert "C3 C4" in box.figure.texts[0].get_text()
