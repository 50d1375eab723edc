"""Result files: what is written is read back, labelled for any reader, and never half written."""

import errno
import json
import os
import stat
from pathlib import Path

import h5py
import numpy as np
import pytest
import xarray

from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.files.hdf5 import FORMAT, load, save
from keyaction.sim.files.labelled import Result, Variable
from keyaction.sim.files.problem import FileProblem
from keyaction.sim.files.replace import replacing
from keyaction.sim.files.seal import sealed


@pytest.fixture(scope="module")
def kept(short_result, tmp_path_factory):
    path = tmp_path_factory.mktemp("store") / "kept.h5"
    save(short_result, path)
    return path


@pytest.fixture
def opened(kept):
    with xarray.open_dataset(kept, engine="h5netcdf") as data:
        yield data


def same(one, other):
    return one.dtype == other.dtype and np.array_equal(one, other, equal_nan=one.dtype.kind == "f")


# -- round trip ------------------------------------------------------------------------------------------
def test_what_is_written_is_read_back(short_result, kept):
    back = load(kept)
    assert dict(back.about) == dict(short_result.about)
    assert set(back.variables) == set(short_result.variables)
    for name, variable in short_result.variables.items():
        found = back.variables[name]
        assert same(found.data, variable.data), name
        assert (found.dims, found.unit, found.label, found.definition) == (
            variable.dims,
            variable.unit,
            variable.label,
            variable.definition,
        ), name


def test_paths_may_be_text(short_result, tmp_path):
    save(short_result, str(tmp_path / "text.h5"))
    assert load(str(tmp_path / "text.h5")).notes == short_result.notes


def test_what_the_figures_rest_on_travels_with_them(kept, short_case):
    about = load(kept).about
    assert about["case_text"] == short_case.text
    assert json.loads(about["case_files"]) == dict(short_case.files)
    assert set(json.loads(about["versions"])) >= {"keyaction", "python", "numpy", "scipy", "sympy"}
    assert json.loads(about["assumptions"]) == [list(one) for one in short_case.assumptions]
    assert json.loads(about["tolerances"])["relative"] == 1e-5
    assert len(about["fingerprint"]) == 64


# -- labelled --------------------------------------------------------------------------------------------
def test_every_axis_has_a_coordinate(opened):
    assert set(opened.sizes) == set(opened.coords)
    assert list(opened.note.values) == ["C4", "C#4", "D4"]
    assert opened.sizes["speed"] == 3
    assert not [dim for dim in opened.sizes if dim.startswith("phony")]


def test_every_variable_has_a_long_name_and_every_number_a_unit(opened):
    for name, variable in {**opened.data_vars, **opened.coords}.items():
        assert variable.attrs["long_name"], name
        if variable.dtype.kind in "fi":
            assert variable.attrs["units"], name
        else:
            assert "units" not in variable.attrs, name


def test_the_units_are_those_of_the_registry(opened):
    for name, quantity in QUANTITIES.items():
        assert opened[name].attrs["units"] == (quantity.unit or "1")
        assert opened[name].attrs["long_name"] == quantity.label
        assert opened[name].attrs["definition"] == quantity.definition
    for name, unit in {"time": "s", "feel_down_force": "N", "groove_pressure": "Pa", "energy_audit": "J"}.items():
        assert opened[name].attrs["units"] == unit


def test_notes_strokes_and_parts_are_found_by_name(opened, short_result):
    assert opened.pluck_force.sel(note="C#4").item() == short_result.value("pluck_force", "C#4")
    audit = opened.energy_audit.sel(note="D4", played="standard stroke")
    assert audit.sel(account="finger") + audit.sel(account="wind") == pytest.approx(
        float(audit.sel(account=["friction", "damping", "stored", "residual"]).sum()), rel=1e-9
    )
    assert opened.mass_budget.sel(note="C4").sum() == pytest.approx(opened.effective_mass.sel(note="C4").item())
    assert opened.groove_pressure.sel(note="C4").sel(time=0.1, method="nearest") > 600
    assert opened.feel_speed_force.sel(speed=0.25, note="C4").shape == (opened.sizes["sample"],)


# -- never half written ----------------------------------------------------------------------------------
def tree(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir()}


OLDER = b"\x89HDF\r\n\x1a\n a damaged one: key action, note by note"


@pytest.mark.parametrize("older", [None, OLDER])
@pytest.mark.parametrize("step", ["write_bytes", "replace", "fsync"])
def test_a_full_disk_leaves_everything_as_it_was(short_result, tmp_path, monkeypatch, step, older):
    path = tmp_path / "some.h5"
    if older:
        path.write_bytes(older)
    before = tree(tmp_path)

    def full(*_, **__):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(*((os, "fsync") if step == "fsync" else (Path, step)), full)
    with pytest.raises(FileProblem) as caught:
        save(short_result, path)
    assert str(caught.value) == f"{path}: cannot be written (No space left on device); choose another place with --out"
    monkeypatch.undo()
    assert tree(tmp_path) == before


def test_a_slip_while_writing_leaves_nothing_behind(tmp_path):
    path = tmp_path / "some.h5"
    wrong = Result({"note": Variable(("note",), np.array([object()]))})
    with pytest.raises(Exception, match=r".+"):
        save(wrong, path)
    assert not list(tmp_path.iterdir())


def test_replacing_is_all_or_nothing(tmp_path):
    path = tmp_path / "file"
    with pytest.raises(KeyError), replacing(path) as temporary:
        temporary.write_text("half")
        raise KeyError
    assert not list(tmp_path.iterdir())
    with replacing(path) as temporary:
        temporary.write_text("whole")
        assert not path.exists()
    assert path.read_text() == "whole"
    assert [one.name for one in tmp_path.iterdir()] == ["file"]


def test_a_written_file_has_the_usual_permissions(tmp_path):
    before = os.umask(0o027)
    try:
        with replacing(tmp_path / "file") as temporary:
            temporary.write_text("x")
    finally:
        os.umask(before)
    assert stat.S_IMODE((tmp_path / "file").stat().st_mode) == 0o640


def test_a_folder_that_is_not_there(short_result, tmp_path):
    with pytest.raises(FileProblem, match=r"none/some\.h5: cannot be written \(No such file or directory\)"):
        save(short_result, tmp_path / "none" / "some.h5")


# -- files that are no results ---------------------------------------------------------------------------
def refused(path):
    with pytest.raises(FileProblem) as caught:
        load(path)
    assert "\n" not in str(caught.value)
    assert str(caught.value).startswith(f"{path}: ")
    return str(caught.value)


def test_no_file(tmp_path):
    assert "no such file; make it with: keyaction run CASE --out some.h5" in refused(tmp_path / "some.h5")
    assert "is a folder; name the result file" in refused(tmp_path)
    os.mkfifo(tmp_path / "pipe")
    assert "is no plain file" in refused(tmp_path / "pipe")
    assert "cannot be read (File name too long)" in refused(tmp_path / ("x" * 300))
    assert "no such file" in refused(Path("a\0b"))


@pytest.mark.parametrize(
    "content", [b"", b"plain text", b"\x89HDF\r\n\x1a\n" + bytes(600), b"\nkeyaction sha256 " + b"0" * 64 + b"\n"]
)
def test_a_file_of_another_kind(tmp_path, content):
    path = tmp_path / "some.h5"
    path.write_bytes(content)
    told = refused(path)
    assert any(words in told for words in ("is empty", "there is no checksum at its end", "damaged, or changed"))


@pytest.mark.parametrize("left", [0.0001, 0.1, 0.5, 0.9, 0.999, -1])
def test_a_file_cut_short(kept, tmp_path, left):
    path = tmp_path / "short.h5"
    whole = kept.read_bytes()
    path.write_bytes(whole[: -1 if left < 0 else int(left * len(whole))])
    assert "there is no checksum at its end, so it is cut short, changed, of another program, or of" in refused(path)


def test_a_flipped_bit_anywhere_is_seen(kept, tmp_path):
    path, whole = tmp_path / "flipped.h5", kept.read_bytes()
    for at in [*range(0, len(whole), len(whole) // 97), *range(len(whole) - 90, len(whole))]:
        damaged = bytearray(whole)
        damaged[at] ^= 1 << at % 8
        path.write_bytes(damaged)
        refused(path)
    path.write_bytes(whole + b"\n")
    refused(path)
    path.write_bytes(whole)
    assert load(path).notes == ["C4", "C#4", "D4"]


def test_a_foreign_hdf5_file(tmp_path):
    path = tmp_path / "foreign.h5"
    with h5py.File(path, "w") as file:
        file["some"] = [1, 2, 3]
    assert "there is no checksum at its end" in refused(path)
    seal_anew(path)
    assert "an HDF5 file, but not a result of this program" in refused(path)


def seal_anew(path):
    """As if the file had been written so."""
    path.write_bytes(sealed(path.read_bytes()))


def test_a_file_that_another_program_changed(kept, tmp_path):
    path = tmp_path / "changed.h5"
    path.write_bytes(kept.read_bytes())
    with h5py.File(path, "a") as file:
        file["pluck_force"][0] *= 1.001
    assert "there is no checksum at its end, so it is cut short, changed" in refused(path)
    whole = bytearray(kept.read_bytes())
    whole[len(whole) // 2] ^= 1
    path.write_bytes(whole)
    assert "damaged, or changed by another program since it was written; make it anew" in refused(path)


def test_a_file_in_which_something_is_of_another_kind(kept, tmp_path):
    """Sound to the last byte, and yet nothing that this program lays out."""
    for name, put in {"time": np.zeros(3), "note": np.zeros(3), "about": 1.0, "pluck_force": np.zeros((2, 2))}.items():
        path = tmp_path / f"{name}.h5"
        path.write_bytes(kept.read_bytes())
        with h5py.File(path, "a") as file:
            del file[name]
            file[name] = put
        seal_anew(path)
        assert "not laid out as a result of this program" in refused(path)


@pytest.mark.parametrize(("other", "words"), [(FORMAT - 1, "an earlier"), (FORMAT + 1, "a later")])
def test_a_file_of_another_version(kept, tmp_path, other, words):
    path = tmp_path / "other.h5"
    path.write_bytes(kept.read_bytes())
    with h5py.File(path, "a") as file:
        file.attrs["format"] = other
    seal_anew(path)
    assert f"format {other}, written by {words} version; this one reads format {FORMAT}" in refused(path)


# -- the result itself -----------------------------------------------------------------------------------
def test_asking_for_a_note(short_result):
    assert short_result.index("d4") == 2
    assert short_result.value("pluck_force", "Db4") == short_result["pluck_force"][1]
    assert "pluck_force" in short_result and "pluck" not in short_result
    with pytest.raises(KeyError, match="note C2 is not in this result; it holds C4, C#4, D4"):
        short_result.index("C2")
    with pytest.raises(ValueError, match="'X' is not a note"):
        short_result.index("X")


@pytest.mark.parametrize("name", ["note", "status", "verdict", "repetition_limit", "warning"])
def test_a_text_of_a_note_is_given_as_text(short_result, name):
    assert short_result.value(name, "D4") == str(short_result[name][short_result.index("D4")])
    assert isinstance(short_result.value(name, "D4"), str)


def test_one_figure_of_a_note_is_a_number_and_no_one_figure_is_refused(short_result):
    assert isinstance(short_result.value("pluck_force", "D4"), float)
    assert short_result.value("verdict", "D4") == "speaks and falls silent"
    with pytest.raises(ValueError, match=r"'key_force' is over note, time.*result\['key_force'\]"):
        short_result.value("key_force", "D4")
