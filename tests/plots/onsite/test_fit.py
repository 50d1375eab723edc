"""Pictures of a calibrated note: lettering that can be read, nothing cut off, what is poor said."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from figure_checks import outside, overlaps, words
from planted import curve_of, found, of_note, planted_train

from keyaction.models.readings.readings import Head
from keyaction.plots.onsite.fit import fit_picture, unknowns_picture
from keyaction.sim.measuring.computed import drawn_levels
from keyaction.sim.measuring.synthetic import synthetic

PLANT = {"spring": 2.1, "play": 0.5e-3}


@pytest.fixture(scope="module")
def note():
    """A curve and a sheet of one note, with an unknown that nothing tells."""
    case, there = of_note()
    train = planted_train(case, there, PLANT)
    curve = curve_of(train, case.strokes, np.random.default_rng(1), points=20)
    sheet = synthetic({60: train}, drawn_levels([train], case.strokes), case.strokes, 3, Head())
    return found(case, there, (*PLANT, "inertia"), sheets=[sheet], curves=[curve])


@pytest.mark.parametrize("units", ["trade", "si"])
@pytest.mark.parametrize("draw", [fit_picture, unknowns_picture])
def test_lettering_is_clear(draw, units, note):
    figure = draw(note, units)
    assert overlaps(figure) == [] and outside(figure) == []


def test_points_lines_and_residuals_are_drawn(note):
    figure = fit_picture(note)
    drawn = [[len(line.get_xdata()) for line in one.lines if line.get_marker() in ("o", "s")] for one in figure.axes]
    assert drawn.count([20, 20]) == 2  # both ways of the curve, and their residuals
    assert sorted(n for one in drawn for n in one) == [3, 7, 20, 20, 20, 20]  # figures with the wind on and off


def test_an_axis_says_what_one_of_it_is_and_dark_cells_have_light_letters(note):
    table = np.full((3, 3), 0.1)
    table[0, 1] = table[1, 0] = -0.95
    figure = unknowns_picture(replace(note, spread=SimpleNamespace(correlations=table)))
    shown = words(figure)
    assert {"one usual deviation", "153 gf", "1.5 mm", "Values and 95 % intervals"} <= set(shown)
    cells = [one for one in figure.axes[1].texts if one.get_text() != "1"]
    dark = [one for one in cells if abs(float(one.get_text().replace("\N{MINUS SIGN}", "-"))) > 0.56]
    assert len(dark) >= 2
    assert all(one.get_color() == "white" for one in dark)


def test_what_is_not_told_is_said(note):
    shown = " ".join(words(unknowns_picture(note)))
    assert "inertia: 1 times not told" in " ".join(shown.split())
