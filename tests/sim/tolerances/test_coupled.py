"""Staggered plucks under one finger, drawn in full."""

import numpy as np
import pytest
from small_couplers import SWELL, write_coupled

from keyaction.cases.instrument.reader import read_instrument
from keyaction.sim.tolerances.coupled import Coupled, coupled_staggers
from keyaction.sim.tolerances.sheets import coupled_sheet
from keyaction.sim.tolerances.told import coupled_told

APART = 1.5e-3
"""m: the small organ's plucks are 0.8 mm apart with no play at all."""


@pytest.fixture(scope="module")
def organ(tmp_path_factory):
    return read_instrument(write_coupled(tmp_path_factory.mktemp("organ"), SWELL))


@pytest.fixture(scope="module")
def found(organ):
    (one,) = coupled_staggers(organ, "II/I", [60], APART, draws=5, jobs=1)
    return one


def test_plucks_are_set_as_they_were_asked_and_scatter_about_that(found):
    assert found.reason == ""
    assert found.plays[1] > found.plays[0] == 0.0
    assert found.peaks[1] <= found.peaks[0]
    assert np.isfinite(found.drawn).all()
    error = np.std(found.apart, ddof=1) / np.sqrt(5)
    assert np.std(found.apart) > 0.0 and abs(np.mean(found.apart) - APART) < 4 * error
    saved, off = found.saved
    assert off > 0.0 and abs(saved - (found.peaks[0] - found.peaks[1])) < 4 * off


def test_the_same_seed_draws_the_same(organ, found):
    (again,) = coupled_staggers(organ, "II/I", [60], APART, draws=1, jobs=1)
    assert again.drawn.tolist() == found.drawn[:1].tolist()


def test_shares_and_errors_of_what_was_drawn():
    one = Coupled("II/I", "I", 60, apart=np.array([-0.1e-3, 0.1e-3, 0.3e-3, np.nan]))
    assert one.left(0.0)[0] == pytest.approx(2 / 3)
    assert one.left(0.2e-3)[0] == pytest.approx(1 / 3)
    assert one.left(-1.0)[1] > 0.0  # all of few is not sure


def test_a_key_that_couples_nothing_says_so(organ, found):
    top = organ.divisions["great"].compass[-1]
    above = [note for note in organ.divisions["great"].compass if note not in organ.divisions["II"].compass]
    if above:
        (one,) = coupled_staggers(organ, "II/I", above[:1], 0.4e-3, draws=2, jobs=1)
        assert one.reason == "II has no note there"
    sheet = coupled_sheet([found, Coupled("II/I", "great", top, reason="no")], "trade", "trade", 0.4e-3)
    assert len(sheet.rows) == 1
    text = " ".join(coupled_told([found, Coupled("II/I", "great", top, reason="no")], str, 0.4e-3, "trade"))
    assert f"{top}: no." in text
