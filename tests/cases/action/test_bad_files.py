"""What is no case file at all, or none that can be read: one sentence."""

from __future__ import annotations

import pickle
from pathlib import Path

import pytest
from case_files import PARTS, read

from keyaction.cases.action.reader import read_case
from keyaction.cases.text.defects import CaseProblem
from keyaction.cases.text.textfile import LARGEST


def refused(path: str | Path) -> str:
    with pytest.raises(CaseProblem) as caught:
        read_case(path, PARTS)
    assert len(caught.value.defects) == 1
    return str(caught.value)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("format = \n", ["line 1, column 10", "TOML"]),
        ("format = 1\n[case\n", ["line 2, column 6", "TOML"]),
        ('format = 1\nx = "open', ["line 2, column 10", "TOML"]),
        ("a = 1\na = 2\n", ["line 2", "TOML"]),
        ("x = { C#2 = 1 }", ['a sharp needs quotes: "C#2" or Cs2']),
        ("[notes.C#4.key]", ['"C#4" or Cs4']),
        ("x = 1\nx.y = 2", ["TOML"]),
        ("x = 0x" + "f" * 5000, ["more than 64 bits"]),
        ("x = " + "9" * 5000, ["TOML"]),
        ("x = " + "[" * 5000 + "]" * 5000, ["nested too deeply"]),
        ("[" + "x." * 400 + "x]", ["nested too deeply"]),
        ("", ["is empty"]),
        ("  \n", ["is empty"]),
    ],
)
def test_broken_text(tmp_path: Path, text: str, words: list[str]) -> None:
    path = tmp_path / "demo.toml"
    path.write_text(text)
    line = refused(path)
    assert line.startswith("demo.toml: ") or "is empty" in line
    for word in words:
        assert word in line


def test_no_file(tmp_path: Path) -> None:
    (tmp_path / "chapel.toml").write_text("x = 1")
    line = refused(tmp_path / "chapl.toml")
    assert "chapl.toml: no such file; did you mean 'chapel.toml'?" in line
    assert "no such file" in refused("a-case-nobody-ships")
    assert "not a usable path" in refused("a\0b") or "no such file" in refused("a\0b")


def test_shipped_name_near(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("keyaction.cases.text.find._SHIPPED", tmp_path)
    (tmp_path / "demo-test.toml").write_text("x = 1")
    assert "did you mean 'demo-test'?" in refused("demo-tset")


def test_other_things_than_a_text_file(tmp_path: Path) -> None:
    assert "is a folder" in refused(tmp_path)
    path = tmp_path / "demo.toml"
    path.write_bytes(b"format = 1\ntitle = '\xff'\n")
    assert "is not UTF-8 text (line 2)" in refused(path)
    path.write_bytes(b"# " + b"x" * LARGEST)
    assert "larger than 5 MB" in refused(path)


def test_the_exception_travels_between_processes(tmp_path: Path) -> None:
    with pytest.raises(CaseProblem) as caught:
        read(tmp_path, "x = 1")
    sent = caught.value
    again = pickle.loads(pickle.dumps(sent))
    assert (again.path, again.defects, str(again)) == (sent.path, sent.defects, str(sent))
