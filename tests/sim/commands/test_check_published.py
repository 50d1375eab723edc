"""keyaction check --published: a table that needs no case."""

import csv
from dataclasses import replace

import pytest

from keyaction.sim.published import pallet, rods, table
from keyaction.sim.published.observation import Near
from keyaction.sim.published.table import NOT_REACHED, observations


def test_the_whole_table(keyaction, tmp_path):
    file = tmp_path / "published.csv"
    said = keyaction("check", "--published", "--csv", file)
    assert (said.status, said.err) == (0, "")
    lines = said.out.splitlines()
    assert max(map(len, lines)) <= 80 + len(str(file))
    assert max(len(line) for line in lines if not line.startswith("table: ")) <= 80
    assert "…" not in said.out
    rows = observations()
    assert f"{len(rows)} observations of " in said.out
    assert "0 not met." in said.out
    words = " ".join(said.out.split())
    for row in rows:
        assert f"{row.source.cite} [{row.source.trust}]" in words.replace("[second- hand]", "[second-hand]")
    for text in NOT_REACHED:
        assert text in words
    with file.open(encoding="utf-8", newline="") as opened:
        assert len(list(csv.DictReader(opened))) == len(rows)


def one_broken():
    kept = pallet.OBSERVATIONS[0]
    far = replace(rods.OBSERVATIONS[0], figure=Near(0.2, absolute=1e-3))
    lost = replace(rods.OBSERVATIONS[1], ours=lambda: 1 / 0)
    return kept, far, lost


def test_what_is_not_met_is_marked_told_and_ends_with_1(keyaction, monkeypatch, tmp_path):
    monkeypatch.setattr(table, "observations", one_broken)
    file = tmp_path / "published.csv"
    said = keyaction("check", "--published", "--csv", file)
    assert said.status == 1
    assert "3 observations of 2 sources; 2 not met." in said.out
    marked = [line for line in said.out.splitlines() if line.startswith("sides")]
    assert ["!" in line for line in marked] == [True, True]
    assert "none" in marked[1]
    assert said.lines == [
        "not met: Torsion of rollers, sides 1 : 1",
        "not met: Torsion of rollers, sides 1.1 : 1: ZeroDivisionError: division by zero",
    ]
    with file.open(encoding="utf-8", newline="") as opened:
        assert [row["holds"].split(":")[0] for row in csv.DictReader(opened)] == ["yes", "no", "no"]


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ([], ["a case is needed, or --published"]),
        (["demo-wood", "--csv", "x.csv"], ["--csv goes with --published"]),
        (["demo-wood", "--published"], ["--published takes no case; leave out demo-wood"]),
        (["--csv", "x.csv"], ["a case is needed, or --published", "--csv goes with --published"]),
        (["demo-wood", "--published", "--note", "C4"],
         ["--published takes no case; leave out demo-wood", "--published takes no --note"]),
    ],
)  # fmt: skip
def test_what_does_not_go_together_is_named_at_once(keyaction, arguments, told):
    said = keyaction("check", *arguments)
    assert (said.status, said.out) == (2, "")
    assert said.lines == told


def test_a_file_that_cannot_be_written_is_told_before_anything_is_computed(keyaction, monkeypatch, tmp_path):
    monkeypatch.setattr(table, "observations", lambda: pytest.fail("computed"))
    said = keyaction("check", "--published", "--csv", tmp_path / "none" / "x.csv")
    assert said.status in (1, 2)
    assert "--csv" in said.err
    assert "Traceback" not in said.err


@pytest.mark.parametrize("problem", ["Bricard mechanism", "four bars with a diagonal spring"])
def test_public_problems_that_are_not_played_are_named(problem):
    assert any(problem in text for text in NOT_REACHED)
