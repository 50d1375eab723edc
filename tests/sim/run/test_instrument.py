"""All divisions of an instrument in one run and one file: each as by itself, resumable, whole or not at all."""

import json
from pathlib import Path

import h5py
import numpy as np
import pytest
import xarray
from runs import assert_same_variables
from small_instrument import write_instrument

import keyaction
from keyaction.cases.instrument.reader import read_instrument
from keyaction.models.notes import NoteProblem
from keyaction.models.train.train import TrainProblem
from keyaction.plots.report.case import case_of
from keyaction.sim.files.hdf5 import load, save
from keyaction.sim.files.instrument_result import InstrumentResult
from keyaction.sim.files.problem import FileProblem
from keyaction.sim.files.seal import sealed
from keyaction.sim.run.run import run
from keyaction.sim.run.shape import no_run

NOTES = "great/C4:C#4,II/C4,pedal/D4"


@pytest.fixture(scope="module")
def organ(tmp_path_factory):
    return read_instrument(write_instrument(tmp_path_factory.mktemp("organ")))


@pytest.fixture(scope="module")
def whole(organ):
    """The instrument played into a file beside it."""
    out = organ.path.parent / "organ.h5"
    return run(organ, NOTES, out), out


def test_each_division_is_as_by_itself(organ, whole):
    result, _ = whole
    assert result.notes == ["great/C4", "great/C#4", "II/C4", "pedal/D4"]
    for name, notes in (("great", "C4,C#4"), ("II", "C4"), ("pedal", "D4")):
        own = run(organ.divisions[name], notes)
        assert list(own.variables) == list(result[name].variables)
        assert_same_variables(own, result[name])
        assert {k: v for k, v in own.about.items() if k != "made"} == {
            k: v for k, v in result[name].about.items() if k != "made"
        }


def test_divisions_differ_by_what_the_instrument_gives(whole):
    result, _ = whole
    assert result["great"].value("pluck_force", "C4") > 1.2 * result["II"].value("pluck_force", "C4")
    assert result.value("pluck_force", "great/C4") == result["great"].value("pluck_force", "C4")
    assert result["II"].title == "II: Invented upper action"


def test_the_file_gives_back_what_was_played(whole):
    result, out = whole
    again = load(out)
    assert isinstance(again, InstrumentResult)
    assert (list(again), again.about, again.notes) == (list(result), dict(result.about), result.notes)
    for name in result:
        assert_same_variables(again[name], result[name])
    assert no_run(again) == ""


@pytest.mark.parametrize("engine", ["h5netcdf", "netcdf4"])
def test_the_file_opens_as_a_tree(organ, whole, engine, tmp_path):
    if engine == "netcdf4":
        pytest.importorskip("netCDF4")
    _, out = whole
    run(organ.divisions["II"], "C4", tmp_path / "own.h5")
    with (
        xarray.open_datatree(out, engine=engine) as tree,
        xarray.open_dataset(tmp_path / "own.h5", engine=engine) as own,
    ):
        assert list(tree.attrs["divisions"]) == ["great", "II", "pedal"]
        found = tree["II"].to_dataset()
        xarray.testing.assert_equal(found, own)
        assert {name: one.attrs for name, one in found.variables.items()} == {
            name: one.attrs for name, one in own.variables.items()
        }
        assert tree["great/pluck_force"].sel(note="C#4") == pytest.approx(whole[0].value("pluck_force", "great/C#4"))


def test_a_division_s_case_travels_with_it(organ, whole):
    for name, result in load(whole[1]).items():
        case = case_of(result)
        assert (case.division, case.parts, case.compass) == (
            name,
            organ.divisions[name].parts,
            organ.divisions[name].compass,
        )
        assert case.fingerprint == organ.divisions[name].fingerprint


def test_notes_are_shared_out_to_one_crew(organ, whole):
    told = []
    result = run(organ, NOTES, jobs=2, progress=lambda division, note, kept: told.append((division, note.note, kept)))
    assert sorted(told) == [("II", 60, False), ("great", 60, False), ("great", 61, False), ("pedal", 62, False)]
    for name in result:
        assert_same_variables(result[name], whole[0][name])


# -- which notes -----------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("notes", "expected"),
    [
        ("C4", {"great": [60], "II": [60], "pedal": [60]}),
        ("G4", {"great": [67], "II": [67]}),
        ("F4:G4:2,pedal/C4", {"great": [65, 67], "II": [65, 67], "pedal": [60]}),
        ("PEDAL/all", {"pedal": [60, 61, 62, 63, 64]}),
        ({"II": [60], "great": "D4"}, {"great": [62], "II": [60]}),
    ],
)
def test_notes_of_divisions(organ, notes, expected):
    from keyaction.sim.run.wanted import wanted

    assert {one.division: one.notes for one in wanted(organ, notes)} == expected


@pytest.mark.parametrize(
    ("notes", "why"),
    [
        ("pedl/C4", "'pedl/C4': no division 'pedl'; did you mean 'pedal'?"),
        ("pedal/G4", "pedal: 'G4': this keyboard has no G4; the compass is C4 to E4"),
        ("C7", "'C7': this keyboard has no C7; the compass is C4 to G4"),
        ("x/C4,great/C9,H4", "no division 'x'"),
        ("x/C4,great/C9,H4", "great: 'C9': this keyboard has no C9; the compass is C4 to G4; the nearest is C4"),
        ("x/C4,great/C9,H4", "'H4': 'H4' is not a note"),
        ([60], "numbers of notes go with a division"),
        ({}, "no division is named; there are great, II, pedal"),
        ({"grea": [60]}, "no division 'grea'; did you mean 'great'?"),
    ],
)
def test_notes_that_there_are_not(organ, notes, why):
    with pytest.raises(NoteProblem) as caught:
        run(organ, notes)
    assert why in str(caught.value)


def test_all_wrong_divisions_are_named(organ):
    with pytest.raises(NoteProblem) as caught:
        run(organ, "x/C4,C4,y/C4")
    assert len(str(caught.value).split("\n")) == 2


def test_defects_of_trains_name_their_division(tmp_path):
    path = write_instrument(tmp_path)
    for name in ("great", "pedal"):
        file = tmp_path / f"{name}.toml"
        file.write_text(file.read_text().replace('arm = "250 mm"\n', ""))
    with pytest.raises(TrainProblem) as caught:
        run(read_instrument(path), "C4")
    assert [text.partition(":")[0] for text in caught.value.defects] == ["great", "pedal"]


# -- taken up again --------------------------------------------------------------------------------------
def interrupted(organ, out: Path, after: int) -> None:
    count = 0

    def stop(*_):
        nonlocal count
        count += 1
        if count == after:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run(organ, NOTES, out, progress=stop)


def kept_of(organ, out: Path, notes: str = NOTES) -> list[str]:
    """What a run takes over."""
    found = []
    run(
        organ,
        notes,
        out,
        progress=lambda division, note, kept: found.append(f"{division} {note.note}") if kept else None,
    )
    return found


def test_an_interrupted_run_is_taken_up(organ, whole, tmp_path):
    out = tmp_path / "some.h5"
    interrupted(organ, out, 3)
    assert not out.exists()
    names = sorted(path.name for path in Path(f"{out}.part").glob("*.npz"))
    assert names == ["II.60.npz", "great.60.npz", "great.61.npz"]
    assert sorted(kept_of(organ, out)) == ["II 60", "great 60", "great 61"]
    assert not Path(f"{out}.part").exists()
    for name in whole[0]:
        assert_same_variables(load(out)[name], whole[0][name])


def test_what_another_call_asks_for_leaves_the_rest(organ, tmp_path):
    out = tmp_path / "some.h5"
    interrupted(organ, out, 3)
    count = []

    def stop(division, note, kept):
        count.append((division, note.note, kept))
        if len(count) == 2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run(organ, "II/C4,II/D4", out, progress=stop)
    assert count == [("II", 60, True), ("II", 62, False)]
    assert sorted(kept_of(organ, out)) == ["II 60", "great 60", "great 61"]


def test_a_changed_instrument_begins_again(organ, tmp_path):
    out = tmp_path / "some.h5"
    interrupted(organ, out, 3)
    other = read_instrument(write_instrument(tmp_path, ('"12 degC"', '"13 degC"')))
    assert kept_of(other, out) == []


def test_failed_notes_are_kept_with_their_reason(tmp_path):
    path = write_instrument(tmp_path)
    file = tmp_path / "swell.toml"
    absurd = '\n[notes.C4.pallet]\nseat = { squeeze = "0.0005 mm", force = "500 N" }\n'
    file.write_text(file.read_text() + absurd)
    result = run(read_instrument(path), "great/C4,II/C4", tmp_path / "some.h5")
    again = load(tmp_path / "some.h5")
    assert again.value("status", "great/C4") == "ok"
    assert again.value("status", "II/C4") == result.value("status", "II/C4") != "ok"
    assert np.isnan(again.value("repetition_rate", "II/C4"))
    assert no_run(again) == ""


# -- damage ----------------------------------------------------------------------------------------------
def resealed(source: Path, path: Path, change) -> Path:
    """A copy in which something is changed, sealed anew."""
    path.write_bytes(source.read_bytes())
    with h5py.File(path, "a") as file:
        change(file)
    path.write_bytes(sealed(path.read_bytes()))
    return path


def test_a_damaged_file_is_refused(whole, tmp_path):
    content = bytearray(whole[1].read_bytes())
    content[len(content) // 2] ^= 1
    (tmp_path / "some.h5").write_bytes(bytes(content))
    with pytest.raises(FileProblem, match="damaged, or changed by another program"):
        load(tmp_path / "some.h5")


@pytest.mark.parametrize(
    ("change", "why"),
    [
        (lambda file: file.pop("II"), "not laid out as a result of this program"),
        (lambda file: file.pop("about"), "an HDF5 file, but not a result of this program"),
        (lambda file: file["II"].pop("about"), "not laid out as a result of this program"),
        (lambda file: file.attrs.__setitem__("divisions", 3), "not laid out as a result of this program"),
        (lambda file: file.attrs.__setitem__("divisions", ["about"]), "not laid out as a result of this program"),
    ],
)
def test_a_file_laid_out_otherwise_is_refused_in_words(whole, tmp_path, change, why):
    with pytest.raises(FileProblem, match=why):
        load(resealed(whole[1], tmp_path / "some.h5", change))


def test_a_division_that_is_no_run_is_named(whole, tmp_path):
    path = resealed(whole[1], tmp_path / "some.h5", lambda file: file["II"].pop("status"))
    assert no_run(load(path)).startswith("division II is no whole result of keyaction run ('status' is missing)")
    save(InstrumentResult({}, {"title": "Nothing"}), tmp_path / "none.h5")
    assert "it holds no division" in no_run(load(tmp_path / "none.h5"))


# -- in memory -------------------------------------------------------------------------------------------
def test_one_note_is_found_by_its_full_name_or_alone(whole):
    result, _ = whole
    assert result.find("great/C4") == ("great", "C4")
    assert result.find("GREAT/c4") == ("great", "C4")
    assert result.find("C#4") == ("great", "C#4")
    with pytest.raises(KeyError, match="write one of great/C4, II/C4"):
        result.find("C4")
    with pytest.raises(KeyError, match="no division of this result holds 'G4'; it holds great: C4 to C#4; II: C4"):
        result.find("G4")
    with pytest.raises(KeyError, match="great: note G4 is not in this result"):
        result.find("great/G4")
    with pytest.raises(KeyError, match="no division 'pedl'; did you mean 'pedal'"):
        result.find("pedl/C4")
    with pytest.raises(KeyError, match="no division 'pedl' in this result; did you mean 'pedal'"):
        result["pedl"]


def test_it_is_shown_in_a_line(whole):
    assert (
        repr(whole[0]) == "<InstrumentResult 'Three small divisions': great (2 notes), II (1 notes), pedal (1 notes)>"
    )


def test_the_public_names(organ, whole):
    assert keyaction.read_instrument(organ.path).divisions.keys() == organ.divisions.keys()
    assert isinstance(whole[0], keyaction.InstrumentResult)
    assert json.loads(whole[0].about["versions"])["keyaction"] == keyaction.__version__
