"""The command keyaction sweep: dry run, summary, JSON lines, bad input."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from small_study import ONE_NOTE, TUBES, VARY, finished, small, write_study

from keyaction.sim.cli import main
from keyaction.sim.sweep.sweep import forecast, run_study


def test_a_dry_run_tells_and_writes_nothing(tmp_path, capsys):
    path = write_study(tmp_path)
    before = sorted(tmp_path.iterdir())
    assert main(["sweep", str(path), "--dry-run", "--jobs", "2", "--judge", "0"]) == 0
    told = capsys.readouterr().out
    assert "random plan of 2 inputs, 24 designs at 8 notes, 3 blocks" in told
    assert "with 2 processes" in told
    assert "nothing was written" in told
    assert main(["sweep", str(path), "--dry-run", "--jobs", "1", "--judge", "0", "--progress", "json"]) == 0
    plan = json.loads(capsys.readouterr().out)
    assert (plan["event"], plan["designs"], plan["notes"], plan["blocks"]) == ("plan", 24, 8, 3)
    assert sorted(tmp_path.iterdir()) == before


def test_a_dry_run_says_what_the_size_of_the_plan_counts(tmp_path, capsys):
    for plan, told in (
        ('"sobol"\nbase_points = 2', "sobol plan of 2 inputs, 2 base points: 8 designs at 1 note"),
        ('"morris"\ntrajectories = 3', "morris plan of 2 inputs, 3 trajectories: 9 designs at 1 note"),
    ):
        path = write_study(tmp_path, f"plan = {plan}", head=ONE_NOTE)
        assert main(["sweep", str(path), "--dry-run", "--jobs", "1", "--judge", "0"]) == 0
        assert told in capsys.readouterr().out


def test_a_dry_run_is_about_right(swept, tmp_path):
    study = small(tmp_path)
    found = forecast(study, jobs=1, judge=1)
    assert found.designs == 24
    took = run_study(study, tmp_path / "again", jobs=1, judge=1).seconds
    # The machine is shared with other tests; a forecast that is several times off would be no forecast.
    assert took / 8 < found.seconds < took * 8
    folder = swept[0] / "out"
    size = sum(path.stat().st_size for path in folder.rglob("*.blocks")) + (folder / "results.h5").stat().st_size
    assert found.size < size < found.size + 60_000


def test_the_command_in_a_pipe_prints_its_summary_only(tmp_path):
    path = write_study(tmp_path, 'plan = "random"\ndesigns = 3', head=ONE_NOTE)
    status, output, complaints = finished(path, "--out", tmp_path / "out", "--jobs", 1, "--judge", 1)
    assert (status, complaints) == (0, "")
    assert "3 designs, note by note: 3 ok" in output
    assert "; 1 design played again as a check: largest difference 0" in output
    assert f"keyaction sweep show {tmp_path / 'out'}" in output


def test_json_lines(tmp_path, capsys):
    path = write_study(tmp_path, 'plan = "latin"\ndesigns = 40', TUBES, head=ONE_NOTE)
    words = ["sweep", str(path), "--out", str(tmp_path / "out"), "--jobs", "1", "--judge", "0", "--progress", "json"]
    assert main(words) == 0
    lines = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [line["event"] for line in lines] == ["start", "block", "done"]
    assert lines[0] | {"seconds": 0, "rate": 0} == {
        "event": "start",
        "done": 0,
        "total": 40,
        "kept": 0,
        "failed": 0,
        "seconds": 0,
        "rate": 0,
        "left": None,
    }
    assert lines[1]["done"] == 40
    assert lines[1]["failed"] == 2
    assert lines[2]["counts"] == {"ok": 38, "impossible": 2}
    assert Path(lines[2]["results"]).is_file()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ([], "--out DIR is needed"),
        (["--out", "{}out", "--jobs", "-1"], "--jobs -1"),
        (["--out", "{}out", "--judge", "-1"], "--judge -1"),
        (["--out", "{}short.toml"], "is a file"),
        (["--out", "{}short.toml/deeper"], "is not a folder"),
    ],
)
def test_a_bad_command_line(tmp_path, capsys, words, told):
    path = write_study(tmp_path)
    before = sorted(tmp_path.iterdir())
    status = main(["sweep", str(path), *(word.format(f"{tmp_path}/") for word in words)])
    assert status == 2
    assert told in capsys.readouterr().err
    assert sorted(tmp_path.iterdir()) == before


def test_a_bad_study_ends_with_status_two_and_nothing_written(tmp_path, capsys):
    path = write_study(tmp_path, 'plan = "random"\ndesigns = 0', VARY.replace("spring.force", "spring.farce"))
    assert main(["sweep", str(path), "--out", str(tmp_path / "out")]) == 2
    told = capsys.readouterr().err
    assert "designs" in told
    assert "did you mean 'force'?" in told
    assert not (tmp_path / "out").exists()


def test_show_is_a_command_of_its_own(swept, capsys):
    folder, _, _ = swept
    assert main(["sweep", "show", str(folder / "out")]) == 0
    assert "pluck force" in capsys.readouterr().out
    assert main(["sweep", "show", str(folder / "nowhere")]) == 2
