"""Without Numba: what needs it refuses at once and writes nothing; what does not takes the plain path."""

import argparse
import os
import subprocess
import sys

import pytest
from command_line import tree
from small_study import TUBES, write_study

from keyaction.sim.cli import main
from keyaction.sim.code.no_numba import THEY, NoNumba
from keyaction.sim.commands.report_season import wants_year

MISSING = f"{THEY} compute many designs at once, which needs Numba (ImportError: no such library; get"
PLAIN = "which needs Numba (KEYACTION_PLAIN is set: unset it)"
NEED_IT = [
    ["sweep", "small.toml", "--out", "swept"],
    ["sweep", "small.toml", "--dry-run"],
    ["sweep", "small.toml", "--out", "swept", "--progress", "json"],
    ["compare", "short.toml", "--set", "box.pressure=70 mmH2O,85 mmH2O", "--out", "compared"],
    ["tune", "short.toml", "--pluck", "150 gf", "--out", "tuned.toml"],
    ["run", "short.toml", "--notes", "C4", "--spread", "20", "--out", "spread.h5"],
    ["seasons", "short.toml", "--notes", "C4"],
    ["rail", "demo-instrument", "--division", "behind", "--notes", "C4"],
    ["adjust", "short.toml", "--note", "C4"],
    ["bench", "short.toml", "--no-browser"],
    ["search", "short.toml", "--notes", "C4", "--vary", "key.dip=9 mm, 10 mm", "--out", "searched"],
    ["report", "short.toml", "--notes", "C4", "--climate", "damp-summer", "--out", "reported"],
]


@pytest.fixture
def without(folder, tmp_path_factory):
    """`without("run", ...)`: the command in a process that finds a Numba which cannot be loaded."""
    stub = tmp_path_factory.mktemp("stub")
    (stub / "numba.py").write_text('raise ImportError("no such library")\n', encoding="utf-8")
    environment = {name: value for name, value in os.environ.items() if name != "KEYACTION_PLAIN"}
    write_study(folder)

    def run(*arguments):
        words = [sys.executable, "-m", "keyaction", *map(str, arguments)]
        environment["PYTHONPATH"] = os.pathsep.join(filter(None, (str(stub), os.environ.get("PYTHONPATH"))))
        return subprocess.run(words, capture_output=True, text=True, cwd=folder, env=environment)

    return run


@pytest.mark.parametrize("arguments", NEED_IT[:5], ids=lambda words: " ".join(words))
def test_what_needs_numba_refuses_in_one_line_and_writes_nothing(without, folder, arguments):
    before = tree(folder)
    done = without(*arguments)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith(MISSING)
    assert done.stderr.endswith("with: pip install numba)\n") and done.stderr.count("\n") == 1
    assert tree(folder) == before


def test_every_command_that_needs_it_is_named():
    options = {"run": "run --spread", "report": "report --seasons"}
    assert {options.get(words[0], words[0]) for words in NEED_IT} == set(THEY.replace(" and ", ", ").split(", "))


def test_a_report_has_a_year_only_where_it_is_asked_for(monkeypatch):
    monkeypatch.setenv("KEYACTION_PLAIN", "1")
    assert not wants_year(argparse.Namespace(seasons=False, climate=None))
    for seasons, climate in ((True, None), (False, "wave")):
        with pytest.raises(NoNumba):
            wants_year(argparse.Namespace(seasons=seasons, climate=climate))


def test_what_does_not_need_it_takes_the_plain_path(without, folder):
    text = (folder / "short.toml").read_text(encoding="utf-8")
    # One slow trial is enough here.
    slow = text.replace("[[train]]", '[strokes]\nrepetition_highest = "1 Hz"\n\n[[train]]', 1)
    (folder / "short.toml").write_text(slow, encoding="utf-8")
    done = without("run", "short.toml", "--notes", "C4", "--out", "c4.h5")
    notice, *others = done.stderr.splitlines()
    assert done.returncode == 0
    assert notice == "note: the equations run as plain Python, some times slower (Numba: ImportError: no such library)"
    assert all("'repetition_highest' = 1 Hz: outside the usual" in line for line in others)
    for arguments in (
        ["check", "short.toml"],
        ["show", "c4.h5"],
        ["weigh", "short.toml", "--notes", "C4", "--laid", "none"],
    ):
        done = without(*arguments)
        assert (done.returncode, done.stderr) == (0, ""), arguments


@pytest.mark.parametrize("arguments", NEED_IT, ids=lambda words: " ".join(words))
def test_where_numba_is_not_wanted_it_is_not_used_in_secret(folder, keyaction, monkeypatch, arguments):
    write_study(folder)
    monkeypatch.setenv("KEYACTION_PLAIN", "1")
    before = tree(folder)
    said = keyaction(*arguments)
    assert (said.status, said.out) == (2, "")
    assert PLAIN in said.err and len(said.lines) == 1
    assert tree(folder) == before


@pytest.mark.parametrize("progress", ["none", "json"])
def test_a_sweep_of_which_nothing_came_out_ok_is_a_failure(tmp_path, capsys, progress):
    thick = TUBES.replace('low = "0.1 mm"', 'low = "0.76 mm"')
    path = write_study(
        tmp_path, 'plan = "random"\ndesigns = 3', thick, head='notes = "C4"\nquantities = ["pluck_force"]\n'
    )
    words = ["sweep", str(path), "--out", str(tmp_path / "out"), "--jobs", "1", "--judge", "0", "--progress", progress]
    assert main(words) == 1
    told = capsys.readouterr()
    assert "3 impossible" in told.out or '"counts": {"impossible": 3}' in told.out
    assert told.err == "no design came out ok: not one has figures\n"
