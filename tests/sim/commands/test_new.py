"""keyaction new: a case that is sound as it is."""

import errno
import tomllib
from pathlib import Path

import pytest
from command_line import tree


def test_a_new_case_is_written_and_says_what_next(keyaction, folder):
    said = keyaction("new", "chapel")
    assert (said.status, said.err) == (0, "")
    assert said.out == "chapel.toml written. Next: keyaction check chapel.toml\n"
    text = (folder / "chapel.toml").read_text(encoding="utf-8")
    assert tomllib.loads(text)["case"]["title"] == "chapel"
    assert "{title}" not in text
    assert text.count("#") > 30  # it explains itself


def test_the_suffix_may_be_given(keyaction, folder):
    assert keyaction("new", "chapel.toml").status == 0
    assert (folder / "chapel.toml").is_file()


def test_an_existing_file_is_left_alone(keyaction, folder):
    before = tree(folder)
    said = keyaction("new", "short")
    assert said.status == 2
    assert said.out == ""
    assert said.err == "short.toml: is there already; choose another name or move it away\n"
    (folder / "taken.toml").mkdir()
    assert keyaction("new", "taken").status == 2
    assert tree(folder) == before


@pytest.mark.parametrize("name", ['a "quoted" one', "back\\slash", "[bold]loud[bold]", "Käse", "{title}"])
def test_any_name_gives_a_sound_case(keyaction, folder, name):
    assert keyaction("new", name).status == 0
    data = tomllib.loads((folder / f"{name}.toml").read_text(encoding="utf-8"))
    assert data["case"]["title"] == name
    said = keyaction("check", f"{name}.toml")
    assert said.status == 0
    assert said.out.startswith(f"{name}.toml: {name}\n")


def test_the_new_case_passes_check_without_warnings_and_plays(keyaction, folder):
    assert keyaction("new", "chapel").status == 0
    said = keyaction("check", "chapel.toml")
    assert (said.status, said.err) == (0, "")
    assert said.out.endswith("\nWarnings: 0\n")
    said = keyaction("run", "chapel.toml", "--notes", "C4", "--jobs", "1")
    assert (said.status, said.err) == (0, "")
    assert "result: chapel.h5" in said.out
    assert (folder / "chapel.h5").is_file()
    assert not (folder / "chapel.h5.part").exists()


def test_every_commented_alternative_of_the_new_case_is_sound_too(keyaction, folder):
    """Lines that a reader may uncomment: each group, put in force by itself, is read without defects."""
    keyaction("new", "chapel")
    text = (folder / "chapel.toml").read_text(encoding="utf-8")
    strokes = text.index("# [strokes]")
    lines = [line[2:] if line.startswith("# ") else line for line in text[strokes:].split("\n")]
    active = "\n".join(line for line in lines if "=" in line or (line.startswith("[") and not line.startswith("----")))
    (folder / "active.toml").write_text(text[:strokes] + active + "\n", encoding="utf-8")
    said = keyaction("check", "active.toml")
    assert said.status == 0, said.err
    assert "[strokes]" not in said.out.split("Assumptions")[1].split("down ")[0]


def test_a_folder_that_is_not_there(keyaction, folder):
    before = tree(folder)
    said = keyaction("new", "none/chapel")
    assert said.status == 1
    assert said.err == "none/chapel.toml: cannot be written (No such file or directory)\n"
    assert tree(folder) == before


def test_a_full_disk(keyaction, folder, monkeypatch):
    def full(*_, **__):
        raise OSError(errno.ENOSPC, "No space left on device")

    before = tree(folder)
    monkeypatch.setattr(Path, "write_text", full)
    said = keyaction("new", "chapel")
    monkeypatch.undo()
    assert said.status == 1
    assert said.err == "chapel.toml: cannot be written (No space left on device)\n"
    assert tree(folder) == before


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("", "a name is needed"),
        (" ", "a name is needed"),
        (".", "a name is needed"),
        ("..", "a name is needed"),
        ("red\x1b[31m", "holds a sign that cannot be seen (U+001B)"),
        ("two\nlines", "holds a sign that cannot be seen"),
        ("\udcff", "holds signs that are no text"),
        ("x" * 300, "File name too long"),
    ],
)
def test_a_name_that_no_case_can_have_is_refused(keyaction, folder, name, words):
    before = tree(folder)
    said = keyaction("new", name)
    assert (said.status, said.out, len(said.lines)) == (2, "", 1)
    assert words in said.err and "\x1b" not in said.err
    assert tree(folder) == before
