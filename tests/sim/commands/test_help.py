"""Every command explains itself, with examples that its own parser takes."""

import re
import shlex
import subprocess
import sys
from importlib import import_module
from inspect import signature
from types import SimpleNamespace

import pytest

from keyaction._version import __version__
from keyaction.sim.commands.common import BAD_INPUT, DONE, FAILED, STATUSES, STOPPED
from keyaction.sim.commands.parser import parser


def commands() -> list[str]:
    (group,) = (action for action in parser()._actions if action.dest != "help" and action.choices)
    return list(group.choices)


def examples(text: str) -> list[str]:
    found = re.findall(r"^ +keyaction (\S.*)$", text, re.MULTILINE)
    # In the list of examples each is followed by what it does, two blanks apart.
    return [re.split(r"\s{2,}|\s[>|]\s", line)[0] for line in found]


def test_the_commands_there_are():
    assert {"new", "check", "run", "show", "equations"} <= set(commands())


@pytest.mark.parametrize("command", [*commands(), "sweep show", "search show"])
def test_every_command_can_act(command):
    module = import_module(f"keyaction.sim.commands.{command.replace(' ', '_')}")
    assert list(signature(module.act).parameters) == ["options"]


@pytest.fixture
def idle(monkeypatch):
    """No command acts; the arguments are read all the same."""
    monkeypatch.setattr("keyaction.sim.commands.start.worker", lambda _: SimpleNamespace(act=lambda _: 0))


@pytest.mark.usefixtures("idle")
@pytest.mark.parametrize("command", ["", *commands()])
def test_help_has_an_example_that_works_and_the_exit_statuses(keyaction, command):
    said = keyaction(*command.split(), "--help")
    assert said.status == 0
    assert said.err == ""
    given = examples(said.out)
    assert given, "no example"
    told = said.out.split("exit status:")[1]
    assert re.findall(r"^ +(\d+)  \S", told, re.MULTILINE) == ["0", "1", "2", "130"]
    wrapped = [line for line in said.out.split("\n") if not re.match(r" +keyaction ", line)]  # an example is one line
    assert not command or max(map(len, wrapped)) <= 80
    for line in given:
        tried = keyaction(*shlex.split(line))
        assert (tried.status, tried.err) == (0, ""), line
        assert not command or line.startswith(command)


def test_the_statuses_are_the_documented_ones():
    assert (DONE, FAILED, BAD_INPUT, STOPPED) == (0, 1, 2, 130)
    assert re.findall(r"^ +(\d+)  \S", STATUSES, re.MULTILINE) == ["0", "1", "2", "130"]


def test_the_version(keyaction):
    said = keyaction("--version")
    assert (said.status, said.out) == (0, f"keyaction {__version__}\n")


@pytest.mark.parametrize("way", [[sys.executable, "-m", "keyaction"], [sys.executable, "-m", "keyaction.sim.cli"]])
def test_the_program_can_be_called_as_a_module(way):
    done = subprocess.run([*way, "--version"], capture_output=True, text=True)
    assert (done.returncode, done.stdout) == (0, f"keyaction {__version__}\n")
    assert done.stderr == ""
