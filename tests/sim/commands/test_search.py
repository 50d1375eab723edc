"""The command keyaction search and its show: what is asked and found, pictures, cases, bad input."""

from __future__ import annotations

import json
import shutil

import numpy as np
import pytest
from short_case import QUICK, write_case

from keyaction.sim.cli import main
from keyaction.sim.commands.console import out

VARY = ("--vary", "pallet-spring.force=x0.8 to x1.2 in 3", "--vary", "key.arm=240 mm, 250 mm")
AIMS = ("--aims", "pluck_force,closing_force", "--limits", "none", "--jobs", "1", "--progress", "none")


@pytest.fixture(scope="module")
def searched(tmp_path_factory):
    """A folder with the short case and a search of it, and what the command said."""
    folder = tmp_path_factory.mktemp("searched")
    write_case(folder, more=QUICK)
    case, out = str(folder / "short.toml"), str(folder / "out")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("COLUMNS", "80")
        status = main(["search", case, "--notes", "C4", *VARY, *AIMS, "--offer", "3", "--out", out])
    return folder, status


def test_it_prints_what_is_asked_the_front_and_the_compromise(searched, capsys):
    folder, status = searched
    assert status == 0
    assert main(["search", "show", str(folder / "out")]) == 0
    told = capsys.readouterr().out
    for words in (
        "notes: C4",
        "may vary: pallet-spring.force × 0.8 to 1.2 in 3; key.arm 240 mm, 250 mm",
        "aims: less pluck force, more closing force at zero wind",
        "limits: none; and every note speaks and falls silent",
        "looked at all 6 designs that there are: 6 keep every limit",
        "as in the case",
        "best pluck force,",
        "* compromise: design",
        "design 4, a warning of its case: pallet-spring, field 'force' = 367 gf at C4 to",
    ):
        assert words in told, words
    assert max(map(len, told.splitlines())) <= 80
    made = {path.name for path in (folder / "out").iterdir()}
    assert made == {"search.json", "lock", "generations", "results.h5", "front.csv", "front.png"}
    lines = (folder / "out" / "front.csv").read_text(encoding="utf-8").splitlines()
    figures = "pluck force (gf),closing force at zero wind (gf)"
    assert lines[0] == f"design,{figures},pallet-spring.force times the case's,key.arm (mm),compromise"
    assert len(lines) == 4 and sum(line.endswith(",yes") for line in lines) == 1


def test_an_offered_design_is_written_as_a_case_that_runs(searched, tmp_path, capsys):
    folder, _ = searched
    out, case = str(folder / "out"), tmp_path / "mine.toml"
    assert main(["search", "show", out, "--case", "compromise", "--out", str(case)]) == 0
    assert sorted(path.name for path in tmp_path.iterdir()) == ["chest.csv", "mine.toml"]
    assert "as a case" in capsys.readouterr().out
    assert main(["check", str(case), "--note", "C4"]) == 0
    text = case.read_text(encoding="utf-8")
    case.write_text("# mine", encoding="utf-8")
    assert main(["search", "show", out, "--case", "compromise", "--out", str(case)]) != 0
    assert case.read_text(encoding="utf-8") == "# mine"
    assert main(["search", "show", out, "--case", "compromise", "--out", str(case), "--force"]) == 0
    assert case.read_text(encoding="utf-8") == text
    capsys.readouterr()
    for wrong, words in (
        (["--case", "99", "--out", str(case)], "is not offered; offered: "),
        (["--case", "compromise"], "--out FILE is needed"),
        (["--out", str(case)], "--out goes with --case"),
    ):
        assert main(["search", "show", out, *wrong]) == 2
        assert words in capsys.readouterr().err
    assert main(["search", "show", str(tmp_path)]) == 2
    assert "no search is here" in capsys.readouterr().err


def test_a_search_that_was_begun_is_gone_on_with_when_asked(searched, capsys):
    folder, _ = searched
    words = ["search", str(folder / "short.toml"), "--notes", "C4", *VARY, *AIMS, "--out", str(folder / "out")]
    assert main(words) == 2
    assert "add --resume" in capsys.readouterr().err
    before = (folder / "out" / "generations").read_bytes()
    assert main([*words, "--offer", "3", "--resume", "--progress", "json"]) == 0
    told = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [one["event"] for one in told] == ["generation", "done"]
    assert (told[0]["generation"], told[0]["kept"], told[0]["left"]) == (1, 6, 0.0)
    assert (folder / "out" / "generations").read_bytes() == before


def test_a_study_file_is_searched_with_options_over_it(searched, capsys):
    folder, _ = searched
    study = folder / "study.toml"
    study.write_text(
        'format = 1\n[study]\ncase = "short.toml"\nnotes = "all"\nplan = "grid"\n[search]\naims = ["pluck_force"]\n'
        'limits = ["none", "closing_force >= 20 N"]\n[[vary]]\nfield = "key.arm"\nvalues = ["240 mm", "250 mm"]\n',
        encoding="utf-8",
    )
    assert main(["search", str(study), "--notes", "C4", "--jobs", "1"]) == 1
    told = " ".join(capsys.readouterr().out.split())
    assert "looked at all 2 designs that there are: none keeps every limit" in told
    assert "no design has closing_force >= 20 N: the best of 2 has 1" in told
    assert "nearest: design 0 (key.arm 240 mm)" in told
    assert main(["sweep", str(study), "--dry-run", "--jobs", "1", "--judge", "0"]) == 0  # the same file serves both


def test_every_slip_is_told_at_once(searched, capsys):
    folder, _ = searched
    wrong = ["--vary", "key.arm", "--vary", "key.frnt=1 mm to 2 mm", "--aims", "pluck", "--jobs", "-1", "--resume"]
    before = sorted(folder.iterdir())
    assert main(["search", str(folder / "short.toml"), *wrong, "--notes", "C9", "--offer", "0", "--designs", "3"]) == 2
    told = capsys.readouterr().err
    for words in (
        "--vary' = key.arm",
        "'frnt'",
        "'pluck'",
        "--jobs",
        "--resume",
        "C9",
        "--offer",
        "allowed: 8 to 10000",
    ):
        assert words in told, words
    assert "nothing may vary" not in told
    assert main(["search", str(folder / "short.toml")]) == 2
    assert "nothing may vary" in capsys.readouterr().err
    assert main(["search", "nowhere.toml", *VARY]) == 2
    assert sorted(folder.iterdir()) == before


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--vary", "key.arm=240 mm to 250 mm in 2.5"), "'in 2.5': a whole number of steps is needed"),
        (("--vary", "key.arm=240 mm to 250 mm in -3"), "'in -3': a whole number of steps is needed"),
        (("--vary", "key.arm=x-1 to x1"), "factors are above zero"),
        (("--vary", "key.arm=x0.8"), "factors are above zero: write FIELD=x0.8 to x1.3"),
        (("--vary", "key.arm=x0.8, x1, x1.3"), "evenly spaced"),
        (("--vary", "key.arm+key.arm=x0.8 to x1"), "a field is named twice"),
        ((*VARY, "--limits", ""), "none given; leave it out for the usual ones, or write 'none'"),
        ((*VARY, "--aims", "pluck"), "did you mean 'pluck_point' or 'pluck_force' or 'pluck_ratio'?"),
        ((*VARY, "--aims", "pluck_force:min,pluck_force:max"), "less or more of it can be wanted, not both"),
        ((*VARY, "--aims", "pluck_force:best"), "'best' is not a sense; min or max"),
        ((*VARY, "--seed", "-1"), "allowed: 0 to 4294967295"),
    ],
)
def test_a_slip_is_told_in_its_own_words(searched, words, told, capsys):
    folder, _ = searched
    assert main(["search", str(folder / "short.toml"), *words]) == 2
    assert told in " ".join(capsys.readouterr().err.split())


def test_single_factors_are_the_steps_of_a_range():
    from keyaction.sim.commands.search_asked import _row

    wrong = []
    found = _row("key.arm=x1.2,x0.8, x1", wrong)
    assert (found, wrong) == ({"field": "key.arm", "scale": [0.8, 1.2], "levels": 3}, [])
    assert _row("a.b=1 in to 2 in in 5", wrong) == {"field": "a.b", "low": "1 in", "high": "2 in", "levels": 5}


def test_designs_that_are_not_alike_do_not_look_so_and_what_is_hardly_better_is_told(capsys):
    from keyaction.sim.commands.search_tables import show
    from keyaction.sim.files.labelled import Result, Variable

    forces, rates = np.array([1.7464, 1.7486, 2.0]), np.array([8.0, 9.1, 9.9])
    arrays = {
        "design": Variable(("design",), np.arange(3)),
        "generation": Variable(("design",), np.ones(3, dtype=int)),
        "front": Variable(("design",), np.ones(3, dtype=int)),
        "short": Variable(("design",), np.zeros(3)),
        "offered": Variable(("offered",), np.arange(3)),
        "compromise": Variable(("offered",), np.array([0, 1, 0])),
        "confirmed_aim_pluck_force": Variable(("offered",), forces, "N"),
        "confirmed_aim_repetition_rate": Variable(("offered",), rates, "Hz"),
    }
    plain = {
        "aims": [["pluck_force", False, "N", "pluck force"], ["repetition_rate", True, "Hz", "repetition rate"]],
        "hardly": {"pluck_force": [1, "less than the 7% that a finger can tell"]},
        **{name: {} for name in ("drawn", "reasons", "refused", "apart", "alike", "differs", "warned")},
        **{name: [] for name in ("varied", "still", "shortfalls")},
    }
    about = {name: json.dumps(value) for name, value in plain.items()}
    show(out(), Result(arrays, {**about, "whole": "false", "cut": "true", "seed": "1"}), "trade")
    told = " ".join(capsys.readouterr().out.split())
    assert "0 178.1 gf 8 Hz" in told and "1* 178.3 gf 9.1 Hz" in told
    hardly = (
        "best pluck force, 178.1 gf: design 0, by 0.224 gf before design 1: less than the 7% that a finger can tell;"
    )
    assert f"{hardly} it costs 1.9 Hz less repetition rate" in told
    assert "ended after 1 generation, as asked, before the front stood still" in told


def test_help_names_the_quantities_that_there_are():
    from keyaction.sim.commands.options.search import QUANTITIES
    from keyaction.sim.lanes.evaluate import available

    assert QUANTITIES.split(", ") == list(available())


def test_a_result_that_is_none_is_told_with_what_helps(searched, tmp_path, capsys):
    folder, _ = searched
    out = shutil.copytree(folder / "out", tmp_path / "out")
    words = ["search", str(folder / "short.toml"), "--notes", "C4", *VARY, *AIMS, "--out", str(out), "--resume"]
    (out / "results.h5").write_bytes(b"junk")
    assert main(["search", "show", str(out)]) == 2
    assert "delete it, then give the command of the search again with --resume" in capsys.readouterr().err
    assert main(words) == 2
    assert "delete it first" in capsys.readouterr().err
    (out / "results.h5").unlink()
    assert main([*words, "--offer", "2"]) == 0
    told = capsys.readouterr().out
    assert "no compromise: each design gives up all that another has in some aim" in " ".join(told.split())
    assert main(["search", "show", str(out), "--case", "compromise", "--out", str(tmp_path / "no.toml")]) == 2
    assert "none of these is one; name one of them: " in capsys.readouterr().err
    assert main(["search", "show", str(out), "--plots", str(out / "front.csv")]) == 1
    assert capsys.readouterr().out == ""


def test_without_the_optimiser_one_line_says_so(searched, monkeypatch, capsys):
    from keyaction.sim.search import optimiser

    def missing(*_):
        raise optimiser.NoOptimiser

    monkeypatch.setattr(optimiser, "Evolution", missing)
    folder, _ = searched
    assert main(["search", str(folder / "short.toml"), "--vary", "key.arm=200 mm to 250 mm"]) == 2
    assert capsys.readouterr().err == f"{optimiser.MISSING}\n"
