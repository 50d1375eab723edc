"""What the tests of the commands share: the short case in a working folder."""

import pytest
from command_line import Keyaction
from short_case import write_case


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A working folder with the short case in it."""
    write_case(tmp_path)
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def keyaction(folder, capsys):
    """`keyaction("check", "short.toml")` in the working folder: status, standard output, standard error."""
    return Keyaction(folder, capsys)


@pytest.fixture(scope="session")
def played(tmp_path_factory):
    """A folder with the short case and a result of three notes."""
    from keyaction.cases.action.reader import read_case
    from keyaction.sim.run.run import run

    made = tmp_path_factory.mktemp("played")
    run(read_case(write_case(made)), "C4:D4", out=made / "short.h5")
    return made
