"""The filled-in sheet that ships is what its helper says of it: computed, with the faults that stand there."""

import numpy as np
import pytest
from onsite_sheet import FAULTS, FIGURES, SEED, shipped_readings

from keyaction.cases.action.reader import read_case
from keyaction.cases.measured.sheet import read_sheet
from keyaction.cases.measured.writing import written
from keyaction.models.notes import parse_note
from keyaction.models.readings.figures import BY_NAME


@pytest.fixture(scope="module")
def case():
    return read_case("demo-wood")


@pytest.fixture(scope="module")
def shipped(case):
    return read_sheet("demo-wood", case.compass, case.naming)


def test_it_says_what_it_is(case, shipped):
    assert (shipped.head.case, shipped.head.key) == (case.title, case.fingerprint[:8])
    assert "invented" in shipped.head.remark
    assert f"seed {SEED}" in shipped.head.remark
    assert not any(name in shipped.path.read_text() for name in ("dirty", "weak", "slip", "fault"))


def test_its_figures_are_computed(case, shipped):
    again = shipped_readings(case)
    digit = np.array([1e-4 if BY_NAME[name].tool == "ruler" else 1e-3 * 9.80665 for name in FIGURES])
    got, want = shipped.values(FIGURES, case.compass), again.values(FIGURES, case.compass)
    np.testing.assert_array_equal(np.isnan(got), np.isnan(want))
    assert np.nanmax(np.abs(got - want) / digit) < 0.6
    assert shipped.speech == again.speech


@pytest.mark.parametrize(
    ("note", "figures", "sign"), [("F3", ("pluck", "hold"), (1, -1)), ("A4", ("pluck", "up"), (-1, -1)),
                                  ("D5", ("play", "point"), (1, 1))]
)  # fmt: skip
def test_its_faults_can_be_seen(shipped, note, figures, sign):
    assert note in FAULTS
    here = parse_note(note)
    for figure, way in zip(figures, sign, strict=True):
        row = shipped.values([figure], [here - 1, here, here + 1])[:, 0]
        error = shipped.head.error(figure)
        assert way * (row[1] - np.nanmean(row[[0, 2]])) > 3 * error


def test_what_is_written_is_read_back(case, shipped, tmp_path):
    for units in ("trade", "si"):
        for naming in ("scientific", "german"):
            path = tmp_path / f"{units}-{naming}.csv"
            path.write_text(written(shipped, case.compass, FIGURES, naming, units))
            again = read_sheet(path, case.compass)
            assert again.head.key == shipped.head.key
            assert again.head.pressure == pytest.approx(shipped.head.pressure, rel=1e-3)
            np.testing.assert_allclose(again.values(FIGURES), shipped.values(FIGURES), rtol=1e-3, atol=1e-9)
            assert again.speech == shipped.speech
