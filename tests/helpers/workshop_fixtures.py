"""What the workshop's tests share; a folder's conftest imports from here what its tests ask for."""

import pytest
from command_line import Keyaction
from workshop_case import write_case

from keyaction.cases.action.reader import read_case
from keyaction.sim.run.run import run


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A working folder with the case in it."""
    write_case(tmp_path)
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def keyaction(folder, capsys):
    """`keyaction("compare", "workshop.toml", ...)` in the working folder."""
    return Keyaction(folder, capsys)


@pytest.fixture(scope="session")
def played(case_path):
    """A result of the notes that are compared."""
    return run(read_case(case_path), "C4:D4")
