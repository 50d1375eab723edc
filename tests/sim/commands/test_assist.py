"""keyaction assist: what it shows, writes and refuses."""

import csv

import pytest
from command_line import Keyaction
from short_case import write_case


@pytest.fixture
def keyaction(tmp_path, monkeypatch, capsys):
    write_case(tmp_path)
    monkeypatch.chdir(tmp_path)
    return Keyaction(tmp_path, capsys)


def test_tables_sentences_file_and_picture(keyaction, tmp_path):
    wanted = ("assist", "short.toml", "--notes", "C4", "--only", "Two-Pallets", "--csv", "a.csv", "--plot", "a.png")
    said = keyaction(*wanted, "--jobs", "1")
    assert (said.status, said.err) == (0, "")
    text = " ".join(said.out.split())
    assert "Touch" in text and "Speech and repetition" in text and "Caution: a pallet spring" in text
    assert "two-pallets: saves" in text and "beam" not in text
    assert max(map(len, said.out.splitlines())) <= 80
    with (tmp_path / "a.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert [(row["note"], row["version"]) for row in rows] == [("C4", "as-it-is"), ("C4", "two-pallets")]
    assert float(rows[1]["highest force (gf)"]) < float(rows[0]["highest force (gf)"])
    assert (tmp_path / "a.png").read_bytes().startswith(b"\x89PNG")


def test_every_slip_is_told_at_once(keyaction):
    before = keyaction.tree()
    said = keyaction(
        "assist", "short.toml", "--notes", "C4", "--only", "two-palets,bem", "--jobs", "-1", "--plot", "x.pdf"
    )
    assert (said.status, said.out) == (2, "")
    assert "there is no way of relief 'two-palets'; did you mean 'two-pallets'?" in said.err
    assert "did you mean 'beam'?" in said.err and "--jobs -1" in said.err and "ends in .png" in said.err
    assert keyaction.tree() == before


def test_notes_outside_the_compass(keyaction):
    said = keyaction("assist", "short.toml", "--notes", "C2")
    assert (said.status, said.out) == (2, "")
    assert "C2" in said.err
