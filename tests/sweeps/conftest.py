"""Lets the tests of this folder import its helpers and the short case of the tests of sim/ under any import mode."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parents[1] / "sim"))

from small_study import small

from keyaction.sim.sweep.sweep import State, run_study


@pytest.fixture(scope="session")
def swept(tmp_path_factory):
    """The small study, run whole in this process."""
    folder = tmp_path_factory.mktemp("swept")
    states: list[State] = []
    found = run_study(small(folder), folder / "out", jobs=1, judge=1, progress=states.append)
    return folder, found, states
