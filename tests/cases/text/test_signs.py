"""Signs that cannot be seen, messages that can be read, and what is refused for them."""

from pathlib import Path

import pytest
from short_case import write_case

from keyaction.cases.action.reader import read_case
from keyaction.cases.text.defects import CaseProblem, Defect
from keyaction.cases.text.signs import legible, unseen, without_unseen

HIDDEN = ["\0", "\x07", "\x1b[31m", "\r", "\x7f", "\x9b", "\u2028", "\u202e", "\u2066"]


@pytest.mark.parametrize("sign", HIDDEN)
def test_signs_that_cannot_be_seen(sign):
    assert unseen(f"a{sign}b") == f"a sign that cannot be seen (U+{ord(sign[0]):04X})"
    assert unseen(without_unseen(f"a{sign}b")) == ""


def test_what_can_be_seen_stays():
    text = "Füße 3′ — ½ 🎹 C♯4\n\tnext"
    assert (unseen(text), without_unseen(text), legible(text)) == ("", text, text)


def test_a_line_without_an_end_is_cut():
    assert legible("ab\n" + "x" * 5000 + ": why") == "ab\n" + "x" * 700 + " ... " + "x" * 295 + ": why"


@pytest.mark.parametrize("sign", HIDDEN)
def test_a_value_set_from_outside_may_not_hold_them(tmp_path, sign):
    case = write_case(tmp_path)
    with pytest.raises(CaseProblem) as caught:
        read_case(case, set_={"groove.stops.0.name": f"Flute{sign}"})
    assert "holds a sign that cannot be seen" in str(caught.value)
    assert unseen(str(caught.value)) == ""


def test_a_message_names_a_hundred_defects_of_a_file_and_counts_the_others():
    defects = [Defect("a.csv", f"line {i}", "x", "1", "wrong") for i in range(250)] + [Defect("b", "", "", "", "too")]
    lines = str(CaseProblem(Path("a.toml"), defects)).split("\n")
    assert len(lines) == 102
    assert lines[99:] == ["a.csv: line 99, field 'x' = 1: wrong", "a.csv: and 150 more defects like these", "b: too"]


def test_a_large_csv_file_of_nothing_but_defects(tmp_path):
    case = write_case(tmp_path)
    (tmp_path / "chest.csv").write_text("note,wire\n" + "X9,1\n" * 200_000, "utf-8")
    with pytest.raises(CaseProblem) as caught:
        read_case(case)
    lines = str(caught.value).split("\n")
    assert len(str(caught.value)) < 20_000
    assert lines[0].endswith("1000 defects up to here; what follows was not looked at")
    assert any(line.endswith("more defects like these") for line in lines)
