"""What the workshop's tests share: a short case with one tracker, a comparison and a result of it, made once."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parents[1] / "sim"))
sys.path.insert(0, str(Path(__file__).parents[1] / "commands"))

from command_line import Keyaction
from workshop_case import write_case

from keyaction.cases.action.reader import read_case
from keyaction.sim.compare.compare import compare
from keyaction.sim.compare.variants import read_variants
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
def case_path(tmp_path_factory):
    """The case, to be read only."""
    return write_case(tmp_path_factory.mktemp("case"))


@pytest.fixture(scope="session")
def compared(case_path):
    """Spruce and carbon rod under two pressures, three notes: A to D."""
    made = read_variants(case_path, ["spruce", "carbon-rod"], ["box.pressure=70 mmH2O,85 mmH2O"])
    return compare(made, "C4:D4", "C#4", jobs=1)


@pytest.fixture(scope="session")
def played(case_path):
    """A result of the same notes."""
    return run(read_case(case_path), "C4:D4")
