"""What all tests share: the demo train and its model, built once per session."""

import sys
from pathlib import Path

import pytest

# The helper modules beside this file are imported by bare name under any import mode.
sys.path.insert(0, str(Path(__file__).parent))

from demo_train import demo, demo_model


@pytest.fixture(scope="session")
def make_train():
    """`make_train(**{"roller.length": "600 mm"})`: the demo train with dotted overrides; None removes a field."""
    return demo


@pytest.fixture(scope="session")
def make_model():
    """The same as a model that plays; `tune` sets parameters of the equations, `tolerances` the integration."""
    return demo_model
