"""What the workshop's tests share; a folder's conftest imports from here what its tests ask for."""

import pytest
from working_folder import folder_with, keyaction  # noqa: F401  handed on
from workshop_case import write_case

from keyaction.cases.action.reader import read_case
from keyaction.sim.run.run import run

folder = folder_with(write_case)


@pytest.fixture(scope="session")
def played(case_path):
    """A result of the notes that are compared."""
    return run(read_case(case_path), "C4:D4")
