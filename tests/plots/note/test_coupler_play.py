"""The picture of peak against lift: what is drawn, and that it can be read."""

import math

import numpy as np
import pytest
from figure_checks import outside, overlaps

from keyaction.plots.note.coupler_play import coupler_play

PLAYS = np.linspace(0.0, 1e-3, 21)
PEAKS = np.where(PLAYS < 3e-4, 3.0 - 3e3 * PLAYS, 2.1)
LIFTS = 5e-3 - PLAYS
ABOUT = {"title": "An invented instrument", "case_name": "invented.toml"}


@pytest.mark.parametrize("units", ["trade", "si"])
@pytest.mark.parametrize("kept", [4.2e-3, 1e-3, math.nan])
def test_peak_and_lift_stand_over_the_play(units, kept):
    figure = coupler_play("II/I at C4", PLAYS, PEAKS, LIFTS, kept, {"as stated": 4e-4, "to set": 3e-4}, ABOUT, units)
    above, below = figure.axes
    scale = 1e3 if units == "trade" else 1.0
    assert above.lines[0].get_xdata()[-1] == pytest.approx(1e-3 * scale)
    assert below.lines[0].get_ydata()[0] == pytest.approx(5e-3 * scale)
    marks = [text.get_text() for text in above.texts if text.get_gid() == "mark"]
    assert sorted(marks) == ["as stated", "to set"]
    assert any(text.get_text() == "least lift" for text in below.texts) == math.isfinite(kept)
    assert overlaps(figure) == [] and outside(figure) == []


def test_gaps_are_left_open():
    peaks = PEAKS.copy()
    peaks[5] = math.nan
    figure = coupler_play("II/I at C4", PLAYS, peaks, LIFTS, math.nan, {}, ABOUT)
    assert math.isnan(figure.axes[0].lines[0].get_ydata()[5])
