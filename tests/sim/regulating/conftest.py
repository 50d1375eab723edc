"""Some notes of the shipped case, pressed once for all files."""

import pytest
from unregulated import Action


@pytest.fixture(scope="session")
def wood():
    return Action("demo-wood", slice(20, 26))
