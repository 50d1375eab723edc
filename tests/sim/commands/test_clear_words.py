"""What a command says of input that once led to a bare word of Python, to an empty name, or to nothing at all."""

import errno

import pytest
from short_case import CHEST, start_case
from small_study import small

from keyaction.sim.sweep import results
from keyaction.sim.sweep.sweep import run_study


def refused(said, *words):
    assert (said.status, said.out) == (2, "")
    for word in words:
        assert word in said.err
    assert "Traceback" not in said.err


@pytest.mark.parametrize("same", ["C4=150 gf, C4=120 gf, D4=110 gf", "C4=150 gf, D4=110 gf, C4=150 gf"])
def test_a_note_with_two_targets(keyaction, same):
    said = keyaction("tune", "short.toml", "--pluck", same)
    refused(said, f"--pluck {same}: C4 is named twice; name each note once\n")


def test_wrong_notes_and_wrong_options_are_told_together(keyaction):
    said = keyaction("tune", "short.toml", "--pluck", "150 foo", "--notes", "Z", "--jobs", "-1")
    refused(said, "--jobs -1", "'Z' is not a note", "unit 'foo' is not known")
    said = keyaction("seasons", "short.toml", "--climate", "mars", "--notes", "Q,C9")
    refused(said, "'Q' is not a note", "this keyboard has no C9", "the nearest is C4", "mars: no such file")


def test_a_rod_of_the_case_takes_no_size(keyaction, folder):
    start_case(folder)
    said = keyaction("compare", "start.toml", "--rod", "case@2mm", "--notes", "C4", "--out", "here")
    refused(said, "--rod case@2mm: 'case' is the case's own rods", "write case alone")
    assert "nearest" not in said.err


def test_a_part_without_its_field(keyaction, folder):
    start_case(folder)
    said = keyaction("compare", "start.toml", "--rod", "case", "--set", "roller=2 mm", "--notes", "C4", "--out", "here")
    refused(said, "a field of roller is wanted, each with its value: roller.length, ")
    assert "unknown field ''" not in said.err


def test_springs_without_force_are_named_by_file_field_and_notes(keyaction, folder):
    text = (folder / "short.toml").read_text()
    (folder / "short.toml").write_text(text + '\n[notes.D4.pallet-spring]\nforce = "0 N"\n')
    refused(
        keyaction("springs", "short.toml", "--csv", "s.csv"),
        "short.toml: [[train]] pallet-spring, field 'force' = 0 N at D4: a spring is designed for a force above 0",
    )
    assert not (folder / "s.csv").exists()
    assert keyaction("springs", "short.toml", "--notes", "C4").err == ""


def test_columns_with_the_line_ends_of_old_machines_are_read(keyaction, folder):
    (folder / "chest.csv").write_bytes(CHEST.replace("\n", "\r").encode())
    assert keyaction("check", "short.toml").status == 0
    (folder / "chest.csv").write_bytes(CHEST.replace("251", "-3").replace("252", "-3").replace("\n", "\r").encode())
    refused(keyaction("check", "short.toml"), "chest.csv", "line 3")


@pytest.mark.parametrize(("content", "told"), [("", "is empty"), ("{", "is no JSON, or damaged"), ("{}", "damaged")])
def test_a_manifest_that_is_none(keyaction, folder, content, told):
    (folder / "swept").mkdir()
    (folder / "swept" / "study.json").write_text(content)
    refused(keyaction("sweep", "show", "swept"), told, "; sweep the study anew, into another folder\n")


def test_a_full_disk_while_a_sweep_is_shown_asks_for_the_same_again(keyaction, folder, monkeypatch):
    run_study(small(folder, 'plan = "random"\ndesigns = 3'), folder / "swept", jobs=1, judge=0)
    (folder / "swept" / "results.h5").unlink()

    def full(*_):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(results.sparse_hdf5, "write", full)
    said = keyaction("sweep", "show", "swept")
    assert said.status == 1
    assert said.err.endswith("all finished blocks are kept. Make room, then do the same again\n")
