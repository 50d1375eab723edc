"""keyaction sheet: what it writes, shows and refuses, and that what it writes is read back."""

import pytest
from command_line import Keyaction
from page_read import Page
from short_case import write_case
from small_instrument import write_instrument

from keyaction.cases.action.reader import read_case
from keyaction.cases.measured.sheet import read_sheet
from keyaction.cases.text.defects import CaseProblem


@pytest.fixture
def keyaction(tmp_path, monkeypatch, capsys):
    write_case(tmp_path)
    monkeypatch.chdir(tmp_path)
    return Keyaction(tmp_path, capsys)


def test_what_is_written_is_read_back_when_it_is_filled_in(keyaction, tmp_path):
    said = keyaction("sheet", "short.toml", "--notes", "C4:D4", "--out", "site")
    assert (said.status, said.err) == (0, "")
    assert max(map(len, said.out.splitlines())) <= 80
    assert "keyaction regulate short.toml site/sheet.csv" in said.out
    assert "wind off and one person outside" in " ".join(said.out.split())
    path, case = tmp_path / "site" / "sheet.csv", read_case("short.toml")
    with pytest.raises(CaseProblem, match="nothing is filled in"):
        read_sheet(path, case.compass)
    text = path.read_text().replace("C4,,,,", "C4,speaks,0.4,9.1,").replace("humidity (%),", "humidity (%),55")
    path.write_text(text)
    readings = read_sheet(path, case.compass)
    assert readings.values(["level", "dip"]).tolist() == [[pytest.approx(0.4e-3), pytest.approx(9.1e-3)]]
    assert (readings.head.case, readings.head.key) == (case.title, case.fingerprint[:8])
    assert readings.head.humidity == pytest.approx(0.55)
    assert readings.head.pressure == pytest.approx(70 * 9.80665, rel=1e-3)


def test_a_sheet_that_may_be_filled_in_stays(keyaction, tmp_path):
    assert keyaction("sheet", "short.toml", "--notes", "C4").status == 0
    path = tmp_path / "onsite" / "sheet.csv"
    path.write_text(path.read_text() + "C4,speaks\n")
    before = keyaction.tree()
    said = keyaction("sheet", "short.toml", "--notes", "C4")
    assert (said.status, said.out) == (2, "")
    assert "is there already, and may be filled in" in said.err
    assert keyaction.tree() == before
    assert keyaction("sheet", "short.toml", "--notes", "C4", "--force").status == 0
    assert "C4,speaks" not in path.read_text()


def test_a_strangers_file_stays_even_so(keyaction, tmp_path):
    (tmp_path / "onsite").mkdir()
    (tmp_path / "onsite" / "sheet.csv").write_text("mine\n")
    said = keyaction("sheet", "short.toml", "--force")
    assert (said.status, said.out) == (2, "")
    assert "no sheet of this program" in said.err
    assert [path.name for path in (tmp_path / "onsite").iterdir()] == ["sheet.csv"]


def test_the_page_has_boxes_and_what_is_expected(keyaction, tmp_path):
    keyaction("sheet", "short.toml", "--notes", "C4:D4", "--order", "trial")
    text = (tmp_path / "onsite" / "sheet.html").read_text()
    words = " ".join(Page(text).words)
    assert "Order of work" in words and "Caution: a pallet spring sits loaded" in words
    assert text.count('class="number box"') == 6 * 11  # three notes, and as many rows for second readings


def test_a_historic_action_is_written_down_first(keyaction, tmp_path):
    write_case(tmp_path, more='\n[historic]\nmade = "invented, 1780"\n')
    said = keyaction("sheet", "short.toml", "--notes", "C4")
    assert "Historic: the whole action, invented, 1780" in " ".join(said.out.split())
    assert "nothing is taken out" in (tmp_path / "onsite" / "sheet.html").read_text()


def test_divisions_have_folders_of_their_own(keyaction, tmp_path):
    organ = write_instrument(tmp_path)
    said = keyaction("sheet", organ.name, "--division", "great", "--division", "II", "--notes", "C4")
    assert said.status == 0, said.err
    for name in ("great", "II"):
        path = tmp_path / "onsite" / name / "sheet.csv"
        assert f"division,{name}\n" in path.read_text()
        assert f"keyaction diagnose {organ.name} --division {name} onsite/{name}/sheet.csv" in said.out


@pytest.mark.parametrize(
    ("arguments", "told", "status"),
    [
        (("--notes", "X9"), "X9", 2),
        (("--jobs", "-1"), "--jobs -1: must be 0", 2),
        (("--out", "short.toml"), "is no folder", 1),
        (("--division", "great"), "has no divisions", 2),
    ],
)
def test_wrong_input(keyaction, arguments, told, status):
    before = keyaction.tree()
    said = keyaction("sheet", "short.toml", *arguments)
    assert (said.status, said.out) == (status, "")
    assert told in said.err
    assert keyaction.tree() == before
