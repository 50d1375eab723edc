"""keyaction tolerances: what it says, writes and refuses."""

import csv

import pytest
from command_line import Keyaction
from figure_checks import outside, overlaps
from short_case import write_case

from keyaction.cases.action.reader import read_case
from keyaction.plots.tolerances.save import drawings
from keyaction.sim.tolerances.tolerances import Asked, tolerances


@pytest.fixture
def keyaction(tmp_path, monkeypatch, capsys):
    write_case(tmp_path)
    monkeypatch.chdir(tmp_path)
    return Keyaction(tmp_path, capsys)


def test_answers_come_first_then_tables_and_files(keyaction, tmp_path):
    said = keyaction(
        *("tolerances", "short.toml", "--notes", "C4:D4", "--draws", "2000", "--full", "2", "--jobs", "1"),
        *("--figure", "pluck,dip", "--allow", "20 %", "--out", "csv", "--plots", "png"),
    )
    assert (said.status, said.err) == (0, "")
    text = " ".join(said.out.split())
    assert text.index("Steps of the pluck between neighbours against 7 %") < text.index("Which tolerance is worth")
    assert "Worth paying for, in this order: pallet-spring.force" in text
    assert "How wide for 20.0 % of the steps at most: pallet-spring.force may be" in text
    assert "2 full draws" in text and "A stagger of 0.4 mm" in text
    lines = [line for line in said.out.splitlines() if not line.startswith(("written:", "pictures:"))]
    assert max(map(len, lines)) <= 80
    names = ("sensitivities", "scatter", "steps", "worth", "stagger")
    rows = {name: list(csv.DictReader((tmp_path / "csv" / f"{name}.csv").open())) for name in names}
    assert [len(rows[name]) for name in ("scatter", "steps", "stagger")] == [3, 2, 3]
    assert len(rows["sensitivities"]) == 3 * len(rows["worth"])
    assert rows["worth"][0]["tolerance"] == "pallet-spring.force"
    assert float(rows["steps"][0]["beyond, formula (%)"]) > 0.0
    assert sorted(path.name for path in (tmp_path / "png").iterdir()) == ["scatter.png", "steps.png"]


def test_every_slip_is_named_at_once_and_nothing_is_written(keyaction, tmp_path):
    said = keyaction(
        *("tolerances", "short.toml", "--figure", "pluk", "--allow", "0 %", "--stagger", "3 gf", "--draws", "5"),
        *("--tolerance", "pallet-spring.forc", "--jobs", "-1", "--out", "csv"),
    )
    assert said.status == 2 and said.out == ""
    for words in ("did you mean 'pluck'", "--allow", "--stagger", "--draws", "'pallet-spring.force'", "--jobs -1"):
        assert words in " ".join(said.err.split()), words
    assert not (tmp_path / "csv").exists()


@pytest.mark.parametrize(
    ("given", "told"),
    [
        (("--coupled", "II/I"), "is an action case and has no couplers"),
        (("--figure", "stored"), "name a force or a length first"),
        (("--figure", "dip", "--limit", "7 %"), "--limit"),
        (("--notes", "C9"), "C9"),
    ],
)
def test_what_cannot_be_is_refused(keyaction, given, told):
    said = keyaction("tolerances", "short.toml", *given)
    assert said.status == 2 and told in " ".join(said.err.split())


@pytest.mark.parametrize(("notes", "figure"), [((60, 61, 62), "pluck"), ((60,), "pluck"), ((60, 61), "level")])
def test_pictures_are_clear(tmp_path, notes, figure):
    case = read_case(write_case(tmp_path))
    made = tolerances(case, notes, Asked(figure=figure, draws=500, full=2), jobs=1)
    for units in ("trade", "si"):
        for _, draw in drawings(made, case.title, units=units):
            page = draw()
            assert overlaps(page) == [] and outside(page) == []
