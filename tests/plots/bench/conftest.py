"""A bench of the short case, asked without a socket."""

import pytest
from short_case import QUICK, write_case

from keyaction.plots.bench.answers import Answers
from keyaction.sim.bench.workbench import Workbench


@pytest.fixture(scope="session")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("bench")


@pytest.fixture(scope="session")
def answers(folder):
    """The short case, with a second stop and a value that is unusual, from which nothing is changed."""
    return Answers(Workbench.opened(write_case(folder, more=QUICK)), 62, folder)
