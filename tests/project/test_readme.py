"""Every block of the README runs, in the order in which it stands there."""

import os
import re
import shlex
import subprocess
import sys
import tomllib
from importlib.util import find_spec
from pathlib import Path

import pytest

from keyaction.cases.action.reader import read_case
from keyaction.models.notes import parse_range
from keyaction.sim.commands.parser import parse, parser

ROOT = Path(__file__).resolve().parents[2]
TEXT = (ROOT / "README.md").read_text(encoding="utf-8")
EXTRAS = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["optional-dependencies"]
BLOCKS = [(language, body) for language, body in re.findall(r"^```(\w+)\n(.*?)^```$", TEXT, re.MULTILINE | re.DOTALL)]
SH = [body for language, body in BLOCKS if language == "sh"]
SETUP = [body for body in SH if body.startswith("python3 -m venv")]

pytestmark = pytest.mark.skipif(not BLOCKS, reason="the README has no blocks")


def read(command: str):
    """The arguments as the program reads them, without acting on them."""
    return parse(shlex.split(command)[1:])


def test_the_two_set_up_commands_come_first_and_are_one_line_each():
    assert len(SETUP) == 2
    assert SH[:2] == SETUP
    for body in SETUP:
        assert body.count("\n") == 1
        assert "\\\n" not in body


def steps(body: str) -> list[list[str]]:
    return [shlex.split(step) for step in body.strip().split(" && ")]


def test_the_set_up_commands_name_what_there_is():
    for body in SETUP:
        venv, install, last = steps(body)
        assert venv[:3] == ["python3", "-m", "venv"]
        assert install[0] == f"{venv[3]}/bin/pip" and install[1] == "install" and "-e" in install
        extra = re.fullmatch(r"\.(?:\[(\w+)\])?", install[-1])
        assert extra, install[-1]
        assert extra[1] is None or extra[1] in EXTRAS
        assert last[0].startswith(f"{venv[3]}/bin/")


def test_the_first_set_up_command_plays_a_shipped_case():
    _, _, last = steps(SETUP[0])
    assert Path(last[0]).name == "keyaction"
    options = read(shlex.join(["keyaction", *last[1:]]))
    case = read_case(options.case)
    notes = parse_range(options.notes, case.compass, case.naming) if options.notes else list(case.compass)
    assert {note // 12 for note in notes} == {note // 12 for note in case.compass}  # some of every octave
    # What the text around says will be there afterwards is what the command makes.
    assert str(options.out) in TEXT.split(SETUP[0])[0]
    assert str(options.plots) in TEXT.split(SETUP[0])[0]


def test_the_second_set_up_command_runs_these_tests():
    _, install, last = steps(SETUP[1])
    assert install[-1] == ".[test]"
    assert Path(last[0]).name == "python" and last[1:3] == ["-m", "pytest"]
    if "-n" in last:
        assert any(name.startswith("pytest-xdist") for name in EXTRAS["test"])


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    """An empty folder, and the environment in which `keyaction` is this program."""
    folder = tmp_path_factory.mktemp("readme")
    programs = tmp_path_factory.mktemp("bin")
    for name, words in {"keyaction": "-m keyaction", "python": "", "python3": ""}.items():
        program = programs / name
        program.write_text(f'#!/bin/sh\nexec "{sys.executable}" {words} "$@"\n', encoding="utf-8")
        program.chmod(0o755)
    return folder, {**os.environ, "PATH": f"{programs}{os.pathsep}{os.environ['PATH']}", "MPLBACKEND": "agg"}


def test_every_other_block_runs_in_order(place):
    folder, environment = place
    if os.name != "posix":
        pytest.skip("the blocks are for a POSIX shell")
    run = 0
    for language, body in BLOCKS:
        if language == "sh" and body not in SETUP:
            command = ["sh", "-eu", "-c", body]
        elif language == "python":
            if "xarray" in body and find_spec("xarray") is None:
                continue
            command = [sys.executable, "-c", body]
        else:
            continue
        done = subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True, timeout=300)
        assert done.returncode == 0, f"{body}\n{done.stdout}\n{done.stderr}"
        assert "Traceback" not in done.stderr
        run += 1
    assert run == len([1 for language, _ in BLOCKS if language in ("sh", "python")]) - len(SETUP)


def test_the_files_and_links_that_are_named_are_there():
    for target in re.findall(r"\]\(([^)#]+)\)", TEXT):
        if "://" not in target:
            assert (ROOT / target).exists(), target


def test_the_options_that_the_text_names_exist():
    known = {"--help", *re.findall(r"--[a-z][a-z-]+", " ".join(_helps()))}
    for option in set(re.findall(r"`(--[a-z][a-z-]+)", TEXT)):
        assert option in known, option


def _helps():
    made = parser()
    yield made.format_help()
    for action in made._actions:
        if isinstance(action.choices, dict):
            yield from (inner.format_help() for inner in action.choices.values())
