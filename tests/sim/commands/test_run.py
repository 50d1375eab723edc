"""keyaction run: notes that fail, places that cannot be written, warnings, pictures."""

import errno
import os
import shutil
import subprocess
from pathlib import Path

import pytest
from command_line import ended, start, tree
from short_case import ABSURD, write_case

from keyaction.sim.commands import playing
from keyaction.sim.files.hdf5 import load
from keyaction.sim.run.kept_notes import PartsFolder


def played(keyaction, *more):
    return keyaction("run", "short.toml", "--notes", "C4:D4", "--jobs", "1", *more)


# -- warnings and failures -------------------------------------------------------------------------------
def test_a_spring_too_weak_warns_by_name_and_plays_on(keyaction, folder):
    weak = "".join(f'\n[notes.{note}.pallet-spring]\nforce = "0.1 N"\n' for note in ("Cs4", "D4"))
    write_case(folder, more=weak)
    expected = "C#4, D4: the spring does not close the pallet at zero wind: the note would sound unplayed (a cipher)"
    said = keyaction("check", "short.toml")
    assert said.status == 0
    assert expected in " ".join(said.out.split())
    said = played(keyaction)
    assert said.status == 0
    assert f"warning: {expected}" in said.lines
    assert load("short.h5").notes == ["C4", "C#4", "D4"]
    assert set(load("short.h5")["status"]) == {"ok"}


def test_a_pallet_that_nothing_holds_back_flies_further_than_the_model_goes(keyaction, folder):
    write_case(folder, ('force = "3 N"', 'force = "0.01 N"'))
    said = played(keyaction)
    assert said.status == 1
    assert "pallet turns by 0.5" in said.err and "what holds it back" in said.err
    assert "Traceback" not in said.err


def test_a_pallet_that_nothing_closes_still_gives_a_result(keyaction, folder):
    write_case(folder, ('force = "3 N"', 'force = "0 N"'), ('pressure = "70 mmH2O"', 'pressure = "0 mmH2O"'))
    said = played(keyaction)
    assert said.status == 0
    assert "sounds unplayed" in said.err
    assert "Traceback" not in said.err


def test_absurd_values_fail_their_note_and_no_other(keyaction, folder):
    write_case(folder, more=ABSURD.format(note="Cs4"))
    said = played(keyaction)
    assert said.status == 1
    (line,) = [line for line in said.lines if not line.startswith("warning: ")]
    assert line.startswith("C#4: failed: its fastest vibration, ")
    assert "absurdly stiff or light; look at its sizes and measured figures with `keyaction check`" in line
    rows = [line.split() for line in said.out.split("\n") if line.startswith(("C4", "C#4", "D4"))]
    assert rows[1] == ["C#4", "failed"]
    assert len(rows[0]) == len(rows[2]) == 11
    assert "result: short.h5" in said.out
    said = keyaction("show", "short.h5", "--note", "C#4")
    assert said.status == 0
    assert "not played" in said.out
    assert "absurdly stiff or light" in " ".join(said.out.split())
    assert not Path("short.h5.part").exists()


def test_absurd_values_in_a_process_of_its_own(folder):
    write_case(folder, more=ABSURD.format(note="C4"))
    said = ended(start(folder, "run", "short.toml", "--notes", "C4"))
    assert said.status == 1
    *before, last = said.lines
    assert last.startswith("C4: failed: its fastest vibration, ")
    assert all(line.startswith("warning: ") for line in before)
    assert (folder / "short.h5").is_file()


# -- places that cannot be written -----------------------------------------------------------------------
@pytest.mark.parametrize(
    ("out", "words"),
    [
        ("none/some.h5", "none/some.h5: there is no folder none; make it or choose another --out"),
        ("taken", "taken: is a folder; name a file with --out"),
        ("chest.csv/some.h5", "chest.csv/some.h5: there is no folder chest.csv; make it or choose another --out"),
    ],
)
def test_a_place_that_is_none(keyaction, folder, out, words):
    (folder / "taken").mkdir()
    before = tree(folder)
    said = played(keyaction, "--out", out)
    assert (said.status, said.out, said.err) == (1, "", f"{words}\n")
    assert tree(folder) == before


def test_a_folder_without_leave_to_write(keyaction, folder, monkeypatch):
    closed = folder / "closed"
    closed.mkdir()
    real = os.access
    monkeypatch.setattr(os, "access", lambda path, mode: Path(path) != Path("closed") and real(path, mode))
    said = played(keyaction, "--out", "closed/some.h5")
    assert (said.status, said.out) == (1, "")
    assert said.err == "closed/some.h5: the folder closed cannot be written to; choose another --out\n"
    assert not list(closed.iterdir())


def test_pictures_where_a_file_is(keyaction, folder):
    before = tree(folder)
    said = played(keyaction, "--plots", "chest.csv")
    assert (said.status, said.out) == (1, "")
    assert said.err == "chest.csv: is no folder; name another with --plots\n"
    assert tree(folder) == before


def test_a_second_run_into_the_same_file_is_refused(keyaction):
    held = PartsFolder(Path("short.h5"), "another run")
    said = played(keyaction)
    assert said.status == 1
    assert said.err == "short.h5.part: another run is writing this result; wait for it or choose another --out\n"
    held.remove()
    assert played(keyaction).status == 0


def test_an_older_result_is_replaced_only_by_a_whole_one(keyaction, folder, monkeypatch):
    assert played(keyaction).status == 0
    older = (folder / "short.h5").read_bytes()[:-9]  # damaged, but known as a result of this program
    (folder / "short.h5").write_bytes(older)

    def full(*_):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", full)
    said = played(keyaction)
    monkeypatch.undo()
    assert said.status == 1
    assert said.lines == [
        "note: short.h5 is there already; it is replaced when all notes are played",
        "short.h5: cannot be written (No space left on device); choose another place with --out",
    ]
    assert (folder / "short.h5").read_bytes() == older
    # The notes are kept: with room again, the same command has only to write.
    monkeypatch.chdir(folder)
    monkeypatch.setattr("keyaction.sim.run.task.play_note", None)
    assert played(keyaction).status == 0
    assert load(folder / "short.h5").notes == ["C4", "C#4", "D4"]


# -- a disk that fills up --------------------------------------------------------------------------------
@pytest.fixture
def small_disk(tmp_path):
    """`small_disk(kilobytes)`: a disk of that size, where the system lets one be made."""
    place = tmp_path / "disk"
    place.mkdir()
    made = []

    def make(kilobytes):
        tool = shutil.which("mount")
        if not tool or not hasattr(os, "geteuid") or os.geteuid() != 0:
            pytest.skip("a small disk can be made by root only")
        done = subprocess.run(
            [tool, "-t", "tmpfs", "-o", f"size={kilobytes}k", "tmpfs", str(place)], capture_output=True, text=True
        )
        if done.returncode:
            pytest.skip(f"this system makes no small disk: {done.stderr.strip()}")
        made.append(place)
        return place

    yield make
    for mounted in made:
        subprocess.run(["umount", str(mounted)], check=True)


def test_a_disk_too_small_for_a_note(folder, small_disk):
    disk = small_disk(16)
    said = ended(start(folder, "run", "short.toml", "--notes", "C4", "--out", disk / "some.h5"))
    assert said.status == 1
    assert said.err == (
        f"{disk}/some.h5.part: a finished note cannot be kept (No space left on device); make room and give the same "
        "command again, or choose another place with --out\n"
    )
    assert list(disk.iterdir()) == []


def test_a_disk_too_small_for_the_result(folder, small_disk):
    disk = small_disk(400)
    (disk / "filling").write_bytes(bytes(4096))
    said = ended(start(folder, "run", "short.toml", "--notes", "C4", "--out", disk / "some.h5"))
    assert said.status == 1, "HDF5 brings the process down when its disk is full"
    assert said.err == f"{disk}/some.h5: cannot be written (No space left on device); choose another place with --out\n"
    assert sorted(path.name for path in disk.iterdir()) == ["filling", "some.h5.part"]
    assert [path.name for path in (disk / "some.h5.part").glob("*.npz")] == ["60.npz"]


# -- pictures --------------------------------------------------------------------------------------------
@pytest.fixture
def drawn(monkeypatch):
    """What is asked of the drawing, which is done without."""
    asked = []

    def save_all(result, folder, notes=None, units="trade"):
        asked.append((result.notes, str(folder), notes, units))
        return [Path(folder) / "one.png", Path(folder) / "two.png"]

    monkeypatch.setattr("keyaction.plots.save.save_all", save_all)
    return asked


def test_pictures_are_drawn_when_asked_for(keyaction, drawn):
    said = played(keyaction, "--plots", "pics", "--units", "si")
    assert (said.status, said.err) == (0, "")
    assert said.out.endswith("result: short.h5\npictures: 2 in pics\n")
    assert keyaction("show", "short.h5", "--plots", "pics").status == 0
    assert keyaction("show", "short.h5", "--note", "D4", "--plots", "more").out.endswith("pictures: 2 in more\n")
    notes = ["C4", "C#4", "D4"]
    assert drawn == [(notes, "pics", None, "si"), (notes, "pics", None, "trade"), (notes, "more", ["D4"], "trade")]


def test_pictures_that_cannot_be_written_do_not_cost_the_result(keyaction, monkeypatch):
    def save_all(*_, **__):
        raise OSError("pics: pictures cannot be written (No space left on device); choose another folder")

    monkeypatch.setattr("keyaction.plots.save.save_all", save_all)
    for said in (played(keyaction, "--plots", "pics"), keyaction("show", "short.h5", "--plots", "pics")):
        assert said.status == 1
        assert said.err == "pics: pictures cannot be written (No space left on device); choose another folder\n"
    assert load("short.h5").notes == ["C4", "C#4", "D4"]


def test_one_real_picture_of_every_kind(keyaction, folder):
    assert keyaction("run", "short.toml", "--notes", "C4", "--jobs", "1", "--plots", "pics").status == 0
    names = sorted(path.name for path in (folder / "pics").iterdir())
    assert names == ["budget-C4.png", "budgets.png", "compass.png", "feel-C4.png", "path-C4.png", "stroke-C4.png"]
    assert all((folder / "pics" / name).read_bytes().startswith(b"\x89PNG") for name in names)


# -- how many at once ------------------------------------------------------------------------------------
@pytest.mark.parametrize(("jobs", "expected"), [([], 0), (["--jobs", "1"], 1), (["--jobs", "3"], 3)])
def test_jobs_are_handed_on(keyaction, monkeypatch, jobs, expected):
    class Handed(Exception):
        pass

    def run(_, notes, out, count, **__):
        raise Handed(notes, str(out), count)

    monkeypatch.setattr(playing.manual, "run", run)
    with pytest.raises(Handed) as caught:
        keyaction("run", "short.toml", "--notes", "C4,E4", "--out", "o.h5", *jobs)
    assert caught.value.args == ([60, 64], "o.h5", expected)
