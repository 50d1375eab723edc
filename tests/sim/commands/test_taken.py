"""What stands already where a command writes: only this program's own file of that kind is replaced."""

import os
from pathlib import Path

import numpy as np
import pytest
from command_line import tree

from keyaction.cases.action.reader import read_case
from keyaction.sim.files.hdf5 import load, save
from keyaction.sim.files.labelled import Result, Variable
from keyaction.sim.files.problem import FileProblem, Taken
from keyaction.sim.files.taken import RESULT, refuse_taken
from keyaction.sim.run import run as manual

RUN = ("run", "short.toml", "--notes", "C4", "--jobs", "1", "--out")
DELETE = "nothing was written. Choose another --out, or delete it first"


def refused(said, words):
    assert (said.status, said.out) == (2, "")
    assert said.err == f"{words}\n"


def small(name="C4"):
    return Result({"note": Variable(("note",), np.array([name], dtype=object))}, {"title": "small"})


@pytest.mark.parametrize("name", ["short.toml", "precious.txt", "chest.csv", "empty.h5", "zeros.h5", "other.h5"])
def test_a_run_writes_over_nothing_but_a_result(keyaction, folder, name):
    (folder / "precious.txt").write_text("key action, note by note\n")  # words of a result file do not make it one
    (folder / "empty.h5").touch()
    (folder / "zeros.h5").write_bytes(bytes(4096))
    (folder / "other.h5").write_bytes(b"\x89HDF\r\n\x1a\n" + bytes(4096))
    before = tree(folder)
    refused(keyaction(*RUN, name), f"{name}: is there already and is no result file of this program; {DELETE}")
    with pytest.raises(FileProblem, match="is no result file of this program"):
        manual.run(read_case("short.toml"), "C4", out=name)
    assert tree(folder) == before


@pytest.mark.parametrize("command", [RUN, ("tune", "short.toml", "--pluck", "150 gf", "--force", "--out")])
def test_a_pipe_is_not_opened_and_not_replaced(keyaction, folder, command):
    os.mkfifo(folder / "pipe")
    said = keyaction(*command, "pipe")
    assert (said.status, said.out) == (2, "")
    assert said.err.startswith("pipe: is no plain file; ")
    assert (folder / "pipe").is_fifo()


def test_a_symlink_is_followed_to_a_result_or_to_nothing_yet(keyaction, folder):
    (folder / "far").mkdir()
    (folder / "link.h5").symlink_to("far/result.h5")
    for _ in range(2):
        assert keyaction(*RUN, "link.h5").status == 0
        assert (folder / "link.h5").is_symlink()
        assert load(folder / "far" / "result.h5").notes == ["C4"]


def test_a_symlink_to_something_else_is_refused(keyaction, folder):
    text = (folder / "short.toml").read_text()
    (folder / "link.h5").symlink_to("short.toml")
    words = f"link.h5: is there already (a symlink to {folder / 'short.toml'}) and is no result file of this program"
    refused(keyaction(*RUN, "link.h5"), f"{words}; {DELETE}")
    assert (folder / "short.toml").read_text() == text
    (folder / "round.h5").symlink_to("round.h5")
    refused(keyaction(*RUN, "round.h5"), f"round.h5: is a symlink that leads nowhere; {DELETE}")
    (folder / "gone.h5").symlink_to("none/some.h5")
    said = keyaction(*RUN, "gone.h5")
    assert said.status == 1
    assert f"there is no folder {folder / 'none'}" in said.err


@pytest.mark.parametrize("kept", [0.5, 0.999])
def test_a_damaged_result_is_known_and_replaced(tmp_path, kept):
    path = tmp_path / "some.h5"
    save(small(), path)
    path.write_bytes(path.read_bytes()[: int(path.stat().st_size * kept)])
    refuse_taken(path, RESULT)
    save(small("D4"), path)
    assert load(path).notes == ["D4"]


def test_save_writes_over_nothing_but_a_result(tmp_path):
    path = tmp_path / "some.h5"
    path.write_text("mine")
    with pytest.raises(Taken, match=r"some\.h5: is there already and is no result file"):
        save(small(), path)
    assert path.read_text() == "mine"


def test_a_folder_of_that_name_with_other_things_is_not_taken_for_kept_notes(keyaction, folder):
    (folder / "some.h5.part").mkdir()
    (folder / "some.h5.part" / "letter.txt").write_text("mine")
    refused(
        keyaction(*RUN, "some.h5"), "some.h5.part: a folder with other things in it (letter.txt); choose another --out"
    )
    assert (folder / "some.h5.part" / "letter.txt").read_text() == "mine"


# -- tables and folders ----------------------------------------------------------------------------------
TABLES = {
    "weigh": ("weigh", "short.toml", "--notes", "C4", "--laid", "none"),
    "springs": ("springs", "short.toml", "--notes", "C4"),
    "tune": ("tune", "short.toml", "--notes", "C4", "--pluck", "150 gf"),
    "materials": ("materials", "sitka-spruce"),
}


@pytest.mark.parametrize("command", TABLES)
@pytest.mark.parametrize("name", ["short.toml", "chest.csv"])
def test_a_table_is_not_written_over_the_case_or_its_columns(keyaction, folder, command, name):
    before = tree(folder)
    said = keyaction(*TABLES[command], "--csv", name)
    assert (said.status, said.out) == (2, "")
    assert said.err.startswith(f"{name}: is there already and is no table of this command; nothing was written")
    assert tree(folder) == before


@pytest.mark.parametrize("command", ["weigh", "materials"])
def test_a_table_takes_the_place_of_one_like_it_in_either_units(keyaction, folder, command):
    units = () if command == "materials" else ("--units", "si")
    first, again = (keyaction(*TABLES[command], *more, "--csv", "t.csv") for more in ((), units))
    assert first.status == again.status == 0
    assert (folder / "t.csv").read_text().count("\n") >= 2


def test_two_options_with_one_file(keyaction, folder):
    said = keyaction(*TABLES["tune"], "--out", "new.toml", "--csv", "./new.toml")
    refused(said, "new.toml: both --out and --csv; name two files")
    assert not (folder / "new.toml").exists()


@pytest.mark.parametrize(
    ("command", "name"),
    [
        (("compare", "demo-wood", "--rod", "case", "--notes", "C4"), "compare.h5"),
        (("report", "short.toml", "--notes", "C4", "--jobs", "1"), "report.html"),
        (("report", "short.toml", "--notes", "C4", "--jobs", "1"), "short.h5"),
    ],
)
def test_a_folder_with_a_file_of_mine_of_that_name(keyaction, folder, command, name):
    (folder / "made").mkdir()
    (folder / "made" / name).write_text("mine")
    said = keyaction(*command, "--out", "made")
    assert (said.status, said.out) == (2, "")
    assert f"{Path('made') / name}: is there already and is no re" in said.err
    assert [path.name for path in (folder / "made").iterdir()] == [name]
    assert (folder / "made" / name).read_text() == "mine"


def test_a_sheet_of_mine_in_the_folder_stops_all_of_it(keyaction, folder, played):
    (folder / "made").mkdir()
    (folder / "made" / "springs.csv").write_text("bought,from\n")
    said = keyaction("report", played / "short.h5", "--out", "made")
    assert said.status == 2
    assert "made/springs.csv: is there already and is no table of this command" in said.err
    assert [path.name for path in (folder / "made").iterdir()] == ["springs.csv"]
    (folder / "made" / "springs.csv").unlink()
    assert [keyaction("report", played / "short.h5", "--out", "made").status for _ in range(2)] == [0, 0]
