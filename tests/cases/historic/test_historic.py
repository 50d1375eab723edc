"""[historic] of a case and of an instrument: what is read, what is refused, what is said before a part is swapped."""

import re

import pytest
from command_line import said
from short_case import write_case
from small_instrument import ORGAN, write_instrument

from keyaction.cases.action.reader import read_case
from keyaction.cases.instrument.reader import read_instrument
from keyaction.cases.layout.within import within_told
from keyaction.cases.text.defects import CaseProblem
from keyaction.models.historic.historic import Historic
from keyaction.models.historic.works import FIRST, WORKS
from keyaction.sim.measuring.historic import Proposed, may, proposed_sheet, told_of

WHOLE = '\n[historic]\nmade = "invented, about 1780"\nkeep = ["leather of the pallets"]\ndecides = "the owner"\n'
SOME = '\n[historic]\nparts = ["pallet"]\n'


def test_a_case_that_says_nothing_is_not_historic(tmp_path):
    assert read_case(write_case(tmp_path)).historic is None


def test_the_whole_action_or_some_parts(tmp_path):
    whole = read_case(write_case(tmp_path, more=WHOLE)).historic
    assert whole == Historic("invented, about 1780", (), ("leather of the pallets",), "", "the owner")
    assert whole.covers("key")
    some = read_case(write_case(tmp_path, more=SOME)).historic
    assert (some.covers("pallet"), some.covers("key")) == (True, False)
    assert some.who == "who is responsible for the instrument"


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ('[historic]\nparts = ["palet"]', "[historic], field 'parts' = \"palet\": there is no such part; did you mean"),
        ('[historic]\nparts = "pallet"', "field 'parts' = \"pallet\": a list of words is needed"),
        ("[historic]\nkeep = []", "field 'keep' = [0 values]: a list of words is needed"),
        ('[historic]\nparts = ["key", "key"]', "field 'parts' = \"key\": named twice"),
        ("[historic]\nmade = 1780", "field 'made' = 1780: words are needed, in quotes"),
        ('[historic]\nmaid = "1780"', "field 'maid' = \"1780\": unknown field; did you mean 'made'?"),
        ('[historic]\ndivisions = ["great"]', "field 'divisions' = [1 values]: unknown field"),
        ("[[historic]]", "[historic] = [1 values]: a table is needed: [historic]"),
    ],
)
def test_defects(tmp_path, more, told):
    with pytest.raises(CaseProblem) as problem:
        read_case(write_case(tmp_path, more=f"\n{more}\n"))
    (line,) = str(problem.value).split("\n")
    assert told in line


def instrument(tmp_path, more):
    path = write_instrument(tmp_path)
    path.write_text(ORGAN + more)
    return read_instrument(path)


def test_an_instrument_says_it_of_its_divisions(tmp_path):
    found = instrument(tmp_path, '\n[historic]\nmade = "1850"\ndivisions = ["great"]\nparts = ["pallet"]\n').divisions
    assert found["great"].historic == Historic("1850", ("pallet",))
    assert found["II"].historic is None
    again = within_told(found["great"].within.told())
    assert read_case(found["great"].path, within=again).historic == found["great"].historic


def test_a_case_goes_before_its_instrument(tmp_path):
    write_instrument(tmp_path)
    great = tmp_path / "great.toml"
    great.write_text(great.read_text() + SOME)
    path = tmp_path / "organ.toml"
    path.write_text(ORGAN + '\n[historic]\nmade = "1850"\n')
    found = read_instrument(path).divisions
    assert (found["great"].historic.made, found["II"].historic.made) == ("", "1850")


def test_defects_of_an_instrument_come_once(tmp_path):
    with pytest.raises(CaseProblem) as problem:
        instrument(tmp_path, '\n[historic]\ndivisions = ["grate"]\n')
    (line,) = str(problem.value).split("\n")
    assert "there is no such division; did you mean 'great'?" in line
    with pytest.raises(CaseProblem) as problem:
        instrument(tmp_path, '\n[historic]\nparts = ["roler"]\n')
    (line,) = str(problem.value).split("\n")
    assert "there is no such part" in line


# -- no part is swapped in silence ---------------------------------------------------------------------------
OLD = Historic("about 1780", ("spring",), ("the springs",), "", "the owner")


def test_a_swap_is_only_proposed_and_what_takes_less_comes_first():
    line = may("swap-spring", "spring", OLD)
    assert "only proposed, to be decided by the owner" in line
    assert "first bend the spring" in line
    assert "must stay: the springs" in line
    assert may("swap-spring", "key", OLD) == may("swap-spring", "spring", None) == may("turn-nut", "spring", OLD) == ""


@pytest.mark.parametrize("work", WORKS)
def test_every_work_that_swaps_or_takes_away_is_asked_about(work):
    about, line = WORKS[work], may(work, "spring", OLD)
    assert bool(line) == (about.swaps or about.undone != "yes")
    assert ("only proposed" in line) == (about.swaps or about.undone == "no")
    if about.swaps:
        assert WORKS[FIRST[work]].undone == "yes" or not WORKS[FIRST[work]].swaps
    assert told_of(work, "spring", OLD)
    assert told_of(work, "key", OLD) == ""


def test_the_sheet_has_a_row_each_and_places_to_fill_in():
    works = [
        Proposed(60, "swap-spring", "spring", "pluck 90 gf", "2.1 N"),
        Proposed(62, "turn-nut", "key", "low", "1 turn"),
    ]
    sheet = proposed_sheet(works, OLD)
    assert [column.heading for column in sheet.columns][-6:] == [
        "as found", "proposed", "reversible", "trace left", "who", "when",
    ]  # fmt: skip
    spring, nut = sheet.rows
    assert spring[3:] == [
        "pluck 90 gf",
        "2.1 N (only proposed, to be decided)",
        "yes",
        WORKS["swap-spring"].trace,
        "",
        "",
    ]
    assert nut[4] == "1 turn"
    assert len(sheet.lines) == 1


@pytest.mark.parametrize(
    ("command", "told"),
    [
        (("tune", "short.toml", "--notes", "C4", "--pluck", "400 gf"), "pallet-spring is historic"),
        (("springs", "short.toml", "--notes", "C4"), "pallet-spring is historic"),
        (("pallets", "short.toml", "--notes", "C4"), "pallet is historic"),
        (("assist", "short.toml", "--notes", "C4", "--only", "two-pallets"), "pallet is historic"),
        (("check", "short.toml"), "Historic: the whole action, invented, about 1780"),
    ],
)
def test_commands_say_so(tmp_path, monkeypatch, capsys, command, told):
    monkeypatch.chdir(tmp_path)
    write_case(tmp_path)
    silent = " ".join(said(capsys, *command).out.split())
    assert "istoric" not in silent
    write_case(tmp_path, more=WHOLE)
    out = said(capsys, *command).out
    assert told in " ".join(out.split())
    assert max(map(len, out.splitlines())) <= 80
    if command[0] != "check":
        assert re.search(r"only\s+proposed,\s+to\s+be\s+decided\s+by\s+the\s+owner", out)
