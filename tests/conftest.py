"""What all tests share: helper modules, and what takes long to make, made once per session."""

import sys
from pathlib import Path

import pytest

# The helper modules are imported by bare name under any import mode.
sys.path.insert(0, str(Path(__file__).parent / "helpers"))

from demo_train import demo, demo_model


@pytest.fixture(scope="session")
def make_train():
    """`make_train(**{"roller.length": "600 mm"})`: the demo train with dotted overrides; None removes a field."""
    return demo


@pytest.fixture(scope="session")
def make_model():
    """The same as a model that plays; `tune` sets parameters of the equations, `tolerances` the integration."""
    return demo_model


@pytest.fixture(scope="session")
def swept(tmp_path_factory):
    """The small study, run whole in this process."""
    from small_study import small

    from keyaction.sim.sweep.sweep import State, run_study

    folder = tmp_path_factory.mktemp("swept")
    states: list[State] = []
    found = run_study(small(folder), folder / "out", jobs=1, judge=1, progress=states.append)
    return folder, found, states


@pytest.fixture(scope="session")
def case_path(tmp_path_factory):
    """The workshop's case, to be read only."""
    from workshop_case import write_case

    return write_case(tmp_path_factory.mktemp("case"))


@pytest.fixture(scope="session")
def compared(case_path):
    """Spruce and carbon rod under two pressures, three notes: A to D."""
    from keyaction.sim.compare.compare import compare
    from keyaction.sim.compare.variants import read_variants

    made = read_variants(case_path, ["spruce", "carbon-rod"], ["box.pressure=70 mmH2O,85 mmH2O"])
    return compare(made, "C4:D4", "C#4", jobs=1)
