"""keyaction chord: what it shows, what it writes, what it refuses."""

import csv
import io

import pytest

CASE = ("chord", "demo-wood")


def test_a_chord_is_told_within_eighty_columns(keyaction, tmp_path):
    told = keyaction(
        *CASE, "C3 C4", "--stops", "all", "--repeat", "5", "--plot", tmp_path / "c.png", "--csv", tmp_path / "c.csv"
    )
    assert told.status == 0
    lines = [line.rstrip() for line in told.out.splitlines()]
    assert max(len(line) for line in lines if str(tmp_path) not in line) <= 80
    shown = " ".join(told.out.split())
    for words in (
        "stops drawn: Principal 8, Flute 8, Octave 4, Fifteenth 2",
        "70 mmH2O with no key down",
        "Every groove of the held chord reaches 90 % of the box with no key down.",
        "Every groove of the held chord reaches 90 % of the box as it then is.",
        "smallest trunk that carries it",
        "Repeated at 5 Hz",
        "Box and trunk swing at",
        "Robbing as stops are drawn",
    ):
        assert words in shown, words
    assert any(line.startswith("C3 ") for line in lines)
    assert (tmp_path / "c.png").read_bytes().startswith(b"\x89PNG")
    rows = list(csv.reader(io.StringIO((tmp_path / "c.csv").read_text(encoding="utf-8"))))
    assert [row[0] for row in rows] == ["note", "C3", "C4"]
    assert rows[0][1] == "pluck alone (gf)"


def test_a_box_without_a_supply_is_said_to_hold(keyaction):
    told = keyaction("chord", "demo-carbon", "C4 E4", "--units", "si")
    shown = " ".join(told.out.split())
    assert "taken to hold it, since the case says nothing of what feeds the box" in shown
    assert "no sag is computed" in shown
    assert "(assumed), by orifices in series alone" in shown


def test_a_chord_of_a_division(keyaction):
    told = keyaction("chord", "demo-instrument", "C3 E3", "--division", "behind")
    assert told.status == 0
    assert told.out.startswith("behind: ")
    assert sum(line.startswith("C3 ") for line in told.out.splitlines()) == 2
    assert "behind: 65 mmH2O with no key down" in told.out


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["C3 C9"], "demo-wood: 'C9' is outside the compass C2 to G6"),
        ([""], "demo-wood: the chord has no note"),
        (["C3 E3 C3"], "demo-wood: 'C3' stands 2 times in the chord"),
        (["C3", "--stops", "Principle 8"], "no stop 'Principle 8'; did you mean 'Principal 8'?"),
        (["C3", "--repeat", "fast"], "--repeat"),
        (["C3", "--repeat", "0"], "--repeat: 0 Hz"),
        (["C3", "--repeat", "50"], "repeat: 50 Hz; allowed: 0.5 Hz to 20 Hz"),
        (["C3", "--division", "great"], "demo-wood is an action case and has no divisions"),
    ],
)
def test_what_is_wrong_is_named_and_nothing_written(keyaction, tmp_path, arguments, words):
    told = keyaction(*CASE, *arguments, "--plot", tmp_path / "c.png")
    assert told.status == 2
    assert words in told.err
    assert told.out == ""
    assert not (tmp_path / "c.png").exists()


def test_a_picture_that_is_none_is_not_replaced(keyaction, tmp_path):
    (tmp_path / "c.png").write_text("a letter", encoding="utf-8")
    told = keyaction(*CASE, "C3", "--plot", tmp_path / "c.png")
    assert told.status == 2
    assert "is no picture of this program" in told.err
    assert (tmp_path / "c.png").read_text(encoding="utf-8") == "a letter"
