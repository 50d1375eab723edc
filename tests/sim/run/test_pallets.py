"""What a result holds of every pallet that a key opens, and of a coupled note as a whole."""

import numpy as np
import pytest
from small_couplers import SWELL, coupler, write_coupled

from keyaction.cases.instrument.reader import read_instrument
from keyaction.sim.figures.columns import OVER_COMPASS, QUANTITIES
from keyaction.sim.figures.coupled import COUPLED
from keyaction.sim.files.hdf5 import load
from keyaction.sim.files.labelled import Result
from keyaction.sim.run.assemble import CURVES
from keyaction.sim.run.kept_notes import PartsFolder
from keyaction.sim.run.pallets import COURSES, VARIABLES
from keyaction.sim.run.run import run
from keyaction.sim.run.shape import no_run

SIXTH = coupler("II/I 6", "great", "II", "pitch = 4")
SOME = ("pallet_pluck_point", "pallet_pluck_force", "pallet_lift", "pallet_opening_time", "pallet_release_delay")


@pytest.fixture(scope="module")
def organ(tmp_path_factory):
    return read_instrument(write_coupled(tmp_path_factory.mktemp("organ"), SWELL, SIXTH))


@pytest.fixture(scope="module")
def both(organ):
    """A note with both couplers, and one whose upper coupler reaches nothing."""
    return run(organ, "C4,F4", organ.path.parent / "both.h5", coupled="all-on")["great"]


def of(result, name, note):
    return dict(zip(result["pallet"], result[name][result.index(note)], strict=True))


def test_names_of_a_result_are_each_of_one_thing():
    names = [*QUANTITIES, *OVER_COMPASS, *CURVES, *COUPLED, *VARIABLES.values(), *COURSES]
    assert len(set(names)) == len(names)


def test_every_pallet_with_what_it_sounds_and_why(both):
    assert list(both["pallet"]) == ["pallet", "ii-pallet", "ii-up-4-pallet"]
    assert of(both, "pallet_note", "C4") == {"pallet": "great/C4", "ii-pallet": "II/C4", "ii-up-4-pallet": "II/E4"}
    assert of(both, "pallet_coupler", "C4") == {"pallet": "", "ii-pallet": "II/I", "ii-up-4-pallet": "II/I 6"}
    assert set(of(both, "pallet_verdict", "C4").values()) == {"speaks and falls silent"}
    assert np.isfinite([list(of(both, VARIABLES[name], "C4").values()) for name in SOME]).all()


def test_a_note_with_fewer_pallets_lacks_the_others(both):
    assert of(both, "pallet_note", "F4") == {"pallet": "great/F4", "ii-pallet": "II/F4", "ii-up-4-pallet": ""}
    for name in VARIABLES.values():
        assert np.isnan(of(both, name, "F4")["ii-up-4-pallet"])
    course = both["pallets_course"][both.index("F4")]
    assert np.isnan(course).any(axis=1).tolist() == [False, False, True]


def test_the_first_pallet_is_that_of_the_figures_of_the_note(both):
    for note in both.notes:
        for name, of_note in (("pallet_opening_time", "opening_time"), ("pallet_lift", "steady_lift")):
            assert of(both, VARIABLES[name], note)["pallet"] == pytest.approx(both.value(of_note, note))
        row = both.index(note)
        np.testing.assert_array_equal(both["pallets_pressure"][row, 0], both["groove_pressure"][row])


def test_coupled_figures_are_less_those_of_the_key_alone(organ, both):
    alone = run(organ, "great/C4")["great"]
    for added, name in (("added_pluck", "pluck_force"), ("added_work", "loop_work"), ("added_mass", "effective_mass")):
        apart = both.value(name, "C4") - alone.value(name, "C4")
        assert both.value(added, "C4") == pytest.approx(apart, rel=1e-9)
        assert apart > 0
    points = [point for point in of(both, "pallets_pluck_point", "C4").values() if np.isfinite(point)]
    assert both.value("plucks_apart", "C4") == pytest.approx(max(points) - min(points))


def test_a_plain_result_has_nothing_of_it(organ):
    alone = run(organ, "great/C4")["great"]
    assert "pallet" not in alone
    assert not set(COUPLED) & set(alone.variables)
    assert no_run(alone) == ""


def test_the_file_gives_it_back(organ, both):
    again = load(organ.path.parent / "both.h5")["great"]
    assert no_run(again) == ""
    for name in ("pallet", "pallet_note", "pallet_verdict"):
        assert list(again[name].ravel()) == list(both[name].ravel())
    for name in (*VARIABLES.values(), *COUPLED, *COURSES):
        np.testing.assert_array_equal(again[name], both[name])


def test_a_result_that_lacks_some_of_it_is_no_whole_one(both):
    for name in ("pallet", "pallets_lift", "plucks_apart", "pallet_verdict"):
        kept = {key: one for key, one in both.variables.items() if key != name}
        assert f"'{name}' is missing" in no_run(Result(kept, both.about))


def test_kept_notes_hold_it(organ, both, tmp_path):
    out, seen = tmp_path / "some.h5", []

    def stop(_, note, __):
        seen.append(note)
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run(organ, "C4,F4", out, progress=stop, coupled="all-on")
    folder = PartsFolder(out, {"great": both.about["fingerprint"]})
    (kept,) = folder.done("great").values()
    folder.release()
    assert (kept.pallets, kept.coupled) == (seen[0].pallets, seen[0].coupled)
    whole = run(organ, "C4,F4", out, coupled="all-on")["great"]
    np.testing.assert_array_equal(whole["pallets_course"], both["pallets_course"])
