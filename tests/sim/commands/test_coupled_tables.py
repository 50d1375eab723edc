"""What run and show print of coupled keys, and what they warn of; results without couplers as they were."""

from itertools import pairwise

import pytest
from command_line import Keyaction
from coupled_runs import THIRD
from small_couplers import SWELL, coupler, write_coupled

from keyaction.sim.figures.coupled_sheets import DASHES, KEYS_NOTE, PALLETS_NOTE

HEAVY = coupler("II/I 5", "great", "II", 'pitch = 2\nplay = "0 mm"')


def said_once(text, words):
    """Whether words stand once in a text that is filled to the terminal's width."""
    return " ".join(text.split()).count(" ".join(words.split())) == 1


@pytest.fixture(scope="module")
def keyaction_in(tmp_path_factory):
    folder = tmp_path_factory.mktemp("organ")
    write_coupled(folder, SWELL, THIRD, HEAVY)
    return folder


@pytest.fixture
def keyaction(keyaction_in, monkeypatch, capsys):
    monkeypatch.chdir(keyaction_in)
    return Keyaction(keyaction_in, capsys)


@pytest.fixture
def shown(keyaction):
    """A coupled result in a file, made once."""
    if not (keyaction.folder / "coupled.h5").exists():
        arguments = ["--coupled", "II/I,II/I 6", "--notes", "great/C4,great/G4", "--out", "coupled.h5", "--jobs", "1"]
        said = keyaction("run", "organ.toml", *arguments)
        assert said.status == 0
        (keyaction.folder / "said.txt").write_text(said.out)
    return keyaction


def test_run_answers_how_heavy_before_all_else(shown):
    lines = [line for line in (shown.folder / "said.txt").read_text().splitlines() if line.strip()]
    said = (shown.folder / "said.txt").read_text()
    assert "Heavy" not in said and "What helps" not in said  # 254 gf is no more than coupled keys usually take
    assert lines[0] == "How heavy in gf, alone > coupled; drawn: II/I, II/I 6"
    heading = next(line for line in lines if line.startswith("played"))
    assert heading.split() == ["played", "force", "lightest", "median", "heaviest", "%"]
    row = next(line for line in lines if line.startswith("great") and "pluck" in line)
    assert row.split()[2:] == ["G4", "155", ">", "176", "160", ">", "215", "C4", "164", ">", "254", "35"]


@pytest.mark.parametrize("options", [[], ["--units", "si"]])
def test_show_prints_what_run_printed_within_80_columns(shown, options):
    said = shown("show", "coupled.h5", *options)
    assert said.status == 0
    assert max(len(line.rstrip()) for line in said.out.splitlines()) <= 80
    for words in (KEYS_NOTE, PALLETS_NOTE, DASHES):
        assert said_once(said.out, words), words
    if not options:
        assert said.out.rstrip() in (shown.folder / "said.txt").read_text()
    for line in ("C4: coupled by II/I, II/I 6", "G4: coupled by II/I", "II/I 6 couples nothing at G4"):
        assert line in said.out.splitlines()


def test_no_empty_lines_above_a_heading(shown):
    lines = [line.strip() for line in (shown.folder / "said.txt").read_text().splitlines()]
    assert not any(one == two == "" for one, two in pairwise(lines))


def test_a_key_that_moves_nothing_has_one_table_of_whole_words(keyaction):
    said = keyaction(
        "run", "organ.toml", "--coupled", "II/I 6", "--notes", "great/G4", "--out", "own.h5", "--jobs", "1"
    )
    headings = [line.split() for line in said.out.splitlines() if line.startswith("note")]
    assert headings[0] == ["note", "first", "mm", "ms", "gf", "gf", "%", "gf", "gf", "mJ", "g", "Hz"]
    assert len(headings) == 2  # the keys, and their pallets
    assert "re-" not in said.out
    legend = " ".join(said.out.split())
    for words in ("work: lost in", "mass: effective", "rate: the fastest", "back: least", "own: there is no other"):
        assert words in legend
    assert "set apart" not in legend


def test_show_of_one_note_has_every_pallet(shown):
    said = shown("show", "coupled.h5", "--note", "great/C4")
    assert "Pallets of C4, coupled by II/I, II/I 6" in said.out
    lines = said.out.splitlines()
    start = next(i for i, line in enumerate(lines) if line.startswith("Pallets of C4"))
    heading = " ".join(" ".join(lines[start + 1 : start + 4]).split())
    assert all(words in heading for words in ("great", "II", "II, 4 semitones"))
    for label in ("pluck point of the pallet", "peak at its pluck", "lift of the pallet", "verdict"):
        assert any(line.startswith(label) for line in lines[start:]), label
    assert "plucks apart" in said.out
    assert max(len(line.rstrip()) for line in lines) <= 80


def test_a_terminal_of_plain_letters_can_show_it(shown):
    """But for the rules of the tables, which the terminal's own letters stand for."""
    for options in ([], ["--note", "great/C4"]):
        assert shown("show", "coupled.h5", *options).out.replace("\u2500", "").isascii()


def test_pictures_of_a_coupled_file(shown):
    said = shown("show", "coupled.h5", "--plots", "pictures")
    assert said.status == 0
    names = {path.name for path in (shown.folder / "pictures" / "great").iterdir()}
    assert {"coupled.png", "compass.png", "budgets.png", "path-C4.png", "feel-C4.png"} <= names


def test_without_couplers_nothing_of_it_is_said(keyaction):
    said = keyaction("run", "organ.toml", "--notes", "great/C4", "--out", "alone.h5", "--jobs", "1")
    assert said.status == 0
    for words in ("How heavy", "Pallets", "couplers", "What helps"):
        assert words not in said.out
    assert "step: of the pluck force from the note below" in said.out
