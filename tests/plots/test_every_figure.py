"""What holds for every picture: lettering that can be read, nothing cut off, settings of the library untouched."""

import subprocess
import sys

import matplotlib as mpl
import numpy as np
import pytest
from figure_checks import MUTE, REASON, changed, failed, outside, overlaps, pick, words
from patience import HANG

from keyaction import plots

OF_NOTE = [plots.feel_curve, plots.slow_press, plots.stroke, plots.stroke_path, plots.budgets]
OF_COMPASS = [plots.compass, plots.budgets_compass]
RESULTS = ["played", "other", "one_failed", "silent"]


def _drawn(draw, result, units="trade"):
    return draw(result, units=units) if draw in OF_COMPASS else draw(result, "C4", units=units)


@pytest.mark.one_in(3)
@pytest.mark.parametrize("units", ["trade", "si"])
@pytest.mark.parametrize("name", RESULTS)
@pytest.mark.parametrize("draw", OF_NOTE + OF_COMPASS)
def test_lettering_is_clear(draw, name, units, request):
    figure = _drawn(draw, request.getfixturevalue(name), units)
    assert overlaps(figure) == []
    assert outside(figure) == []


@pytest.mark.parametrize("draw", OF_NOTE + OF_COMPASS)
def test_title_case_and_version_stand_on_the_page(draw, played):
    figure = _drawn(draw, played)
    found = {text.get_gid(): text.get_text() for text in figure.texts}
    assert found["case"] == played.title
    assert found["footer"].startswith("keyaction ")
    assert "demo-wood.toml" in found["footer"]
    assert ("C4" in found["heading"]) == (draw in OF_NOTE)


@pytest.mark.parametrize("draw", OF_NOTE)
def test_a_failed_note_is_a_page_with_its_reason(draw, one_failed):
    shown = " ".join(words(draw(one_failed, "C#4")))
    assert f"C#4 could not be played: {REASON}" in shown


LONG = "hangs: let go, the pallet stays 5.3 mm open: held by the friction of roller" + " (134 gf of 135 gf)" * 9
UNSOUND = [MUTE, LONG, "sounds unplayed (a cipher): the pallet stands 0.561 mm open, the groove holds 81 %", "no wind"]


@pytest.mark.one_in(2)
@pytest.mark.parametrize("verdict", UNSOUND)
@pytest.mark.parametrize("draw", OF_NOTE + OF_COMPASS)
def test_what_is_wrong_with_a_note_stands_in_its_picture(draw, verdict, played):
    unsound = changed(played, verdict=np.array([verdict, played["verdict"][1]], dtype=object))
    figure = _drawn(draw, unsound)
    assert overlaps(figure) == [] and outside(figure) == []
    told = [text.get_text() for text in figure.texts if text.get_gid() == "verdict"]
    if draw in OF_COMPASS:
        assert told == []
    elif verdict == LONG:
        assert told[0].startswith("hangs: let go, the pallet stays 5.3 mm open") and told[0].endswith(" ...")
    else:
        assert told == [verdict]


@pytest.mark.parametrize("draw", OF_NOTE)
def test_of_a_sound_note_no_verdict_is_told(draw, played):
    assert "verdict" not in [text.get_gid() for text in _drawn(draw, played).texts]


@pytest.mark.parametrize("draw", OF_COMPASS)
def test_nothing_but_failed_notes_is_a_page_with_a_reason(draw, played):
    shown = " ".join(words(draw(failed(played, [0, 1]))))
    assert "None of the notes could be played (2 tried)" in shown
    assert REASON in shown


@pytest.mark.parametrize("draw", OF_COMPASS)
def test_one_note_is_a_compass(draw, played):
    figure = draw(pick(played, [1]))
    assert "C#4" in words(figure)
    assert overlaps(figure) == []


@pytest.mark.parametrize("draw", OF_NOTE)
def test_an_absent_note_is_named_with_those_that_are_there(draw, played):
    with pytest.raises(KeyError, match=r"D5 is not in this result; it holds C4, C#4"):
        draw(played, "D5")


@pytest.mark.one_in(2)
@pytest.mark.parametrize("draw", OF_NOTE + OF_COMPASS)
def test_the_librarys_settings_stay_as_they_were(draw, played):
    before = dict(mpl.rcParams)
    _drawn(draw, played)
    assert dict(mpl.rcParams) == before


def test_a_title_with_signs_of_formulas_is_shown_as_it_is(other):
    shown = {text.get_gid(): text.get_text() for text in plots.compass(other).texts}["case"]
    assert shown.startswith("Costs $5 & <more>")
    assert shown.endswith(" ...")


def test_importing_the_pictures_brings_no_display_with_it():
    code = "import sys, keyaction.plots; sys.exit('matplotlib.pyplot' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False, timeout=HANG).returncode == 0
