"""What the tests of the commands share: the short case in a working folder."""

import pytest
from short_case import write_case
from working_folder import folder_with, keyaction  # noqa: F401  pytest finds it by name

folder = folder_with(write_case)


@pytest.fixture(scope="session")
def played(tmp_path_factory):
    """A folder with the short case and a result of three notes."""
    from keyaction.cases.action.reader import read_case
    from keyaction.sim.run.run import run

    made = tmp_path_factory.mktemp("played")
    run(read_case(write_case(made)), "C4:D4", out=made / "short.h5")
    return made
