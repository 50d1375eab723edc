"""Drawings as files: all of them or none, the same bytes for the same case."""

import sys
from dataclasses import replace

import pytest
from laid_out import Made, demo, laid_out

from keyaction.plots.drawings.cuts import BadAllowance
from keyaction.plots.drawings.dxf import NoDxf
from keyaction.plots.drawings.paper import BadSheet
from keyaction.plots.drawings.save import NothingToDraw, save_drawings
from keyaction.sim.files.problem import FileProblem, Taken

FEW = Made(notes=(48, 52, 57, 60, 65), order="chromatic", bar=0.04)


def contents(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_what_is_written(tmp_path):
    saved = save_drawings(laid_out(), tmp_path / "new")
    names = {path.name for path in saved.files}
    assert names == set(contents(tmp_path / "new"))
    drawings = ("plan", "board", "side-C2", "side-C4", "side-C6")
    assert names == {
        *(f"{name}.{kind}" for name in drawings for kind in ("svg", "pdf", "dxf")),
        "rollers.csv",
        "rods.csv",
        "levers.csv",
        "totals.csv",
    }
    assert saved.remarks == ()


def test_sharps_have_names_that_are_safe(tmp_path):
    saved = save_drawings(laid_out(), tmp_path, notes=[61], formats=["svg"])
    assert "side-Cs4.svg" in {path.name for path in saved.files}


def test_the_same_case_gives_the_same_bytes(tmp_path):
    save_drawings(laid_out(FEW), tmp_path / "a")
    save_drawings(laid_out(FEW), tmp_path / "b")
    assert contents(tmp_path / "a") == contents(tmp_path / "b")


def test_drawings_of_ours_are_replaced_and_other_files_stay(tmp_path):
    (tmp_path / "notes.txt").write_text("mine")
    save_drawings(laid_out(FEW), tmp_path, scale="1:1")  # in tiles: a long PDF
    before = contents(tmp_path)
    save_drawings(laid_out(FEW), tmp_path, scale="1:10")
    assert contents(tmp_path).keys() == before.keys()
    assert contents(tmp_path)["plan.pdf"] != before["plan.pdf"]
    assert (tmp_path / "notes.txt").read_text() == "mine"


@pytest.mark.parametrize("name", ["plan.pdf", "board.svg", "plan.dxf", "rods.csv"])
def test_a_file_of_another_hand_is_not_replaced(tmp_path, name):
    other = {"pdf": b"%PDF-1.4 a plan of my garden", "svg": b"<svg/>", "dxf": b"  0\nSECTION\n", "csv": b"a,b\n1,2\n"}
    (tmp_path / name).write_bytes(other[name[-3:]])
    with pytest.raises(Taken, match=f"{name}: is there already"):
        save_drawings(laid_out(FEW), tmp_path)
    assert contents(tmp_path) == {name: other[name[-3:]]}


def test_a_case_without_layout_says_so_in_a_sentence(tmp_path):
    with pytest.raises(NothingToDraw, match=r"^demo-wood.toml has no \[layout\]: there is nothing to draw to scale$"):
        save_drawings(demo(), tmp_path / "new")
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize(
    ("how", "told"),
    [
        ({"paper": "A9"}, "paper 'A9' is not known"),
        ({"scale": "1:4"}, "the nearest is 1:5"),
        ({"formats": ["dfx"]}, "format 'dfx' is not known.*did you mean 'dxf'"),
    ],
)
def test_bad_sheets_write_nothing(tmp_path, how, told):
    with pytest.raises(BadSheet, match=told):
        save_drawings(laid_out(FEW), tmp_path / "new", **how)
    assert not (tmp_path / "new").exists()


def test_bad_allowances_write_nothing(tmp_path):
    with pytest.raises(BadAllowance, match="allowance -400 mm at each end leaves nothing of C3 riser"):
        save_drawings(laid_out(FEW), tmp_path / "new", allowance=-0.4)
    with pytest.raises(BadAllowance, match=r"end play 50 mm leaves no shaft of .*C4"):
        save_drawings(laid_out(FEW), tmp_path / "new", end_play=0.05)
    assert not (tmp_path / "new").exists()


def test_a_note_without_a_path_is_named(tmp_path):
    with pytest.raises(KeyError, match="no path of C5 is drawn"):
        save_drawings(laid_out(FEW), tmp_path / "new", notes=[72])


def test_without_places_of_axes_there_is_no_side_view_and_it_is_said(tmp_path):
    saved = save_drawings(laid_out(replace(FEW, paths=False)), tmp_path, formats=["svg"])
    lists = {"rollers.csv", "rods.csv", "levers.csv", "totals.csv"}
    assert {path.name for path in saved.files} == {"plan.svg", "board.svg", *lists}
    assert "does not give the places of all axes" in saved.remarks[0]
    # Rods are then as long as the case says: 1800 mm of the level tracker.
    assert "level-tracker,tracker,1800.000,20.000,1840.000,,," in (tmp_path / "rods.csv").read_text("utf-8")


def test_without_the_library_of_dxf_one_line_names_the_extra(tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "ezdxf", None)
    saved = save_drawings(laid_out(FEW), tmp_path)
    assert not [path for path in saved.files if path.suffix == ".dxf"]
    assert saved.remarks == ('No DXF was written. DXF needs ezdxf: pip install "keyaction[drawings]"',)
    with pytest.raises(NoDxf, match=r'^DXF needs ezdxf: pip install "keyaction\[drawings\]"$'):
        save_drawings(laid_out(FEW), tmp_path / "new", formats=["dxf"])
    assert not (tmp_path / "new").exists()


def test_a_folder_that_is_a_file(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(FileProblem, match="is no folder"):
        save_drawings(laid_out(FEW), tmp_path / "file")


def test_titles_of_any_length_and_letters(tmp_path):
    case = replace(laid_out(FEW), title='Wörk & "Play" <of> ' * 12, naming="german")
    saved = save_drawings(case, tmp_path)
    text = (tmp_path / "board.svg").read_text("utf-8")
    assert "W\u00f6rk &amp; " in text
    assert {"side-C3.svg", "board.pdf"} <= {path.name for path in saved.files}
