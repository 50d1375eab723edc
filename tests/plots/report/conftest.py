"""The workshop's fixtures for this folder, and its report."""

import pytest
from workshop_fixtures import folder, keyaction, played  # noqa: F401  pytest finds them by name

from keyaction.plots.report.report import make_report, write_report


@pytest.fixture(scope="session")
def report(played, compared):  # noqa: F811  the fixture
    return make_report(played, compared)


@pytest.fixture(scope="session")
def written(report, tmp_path_factory):
    made = tmp_path_factory.mktemp("report")
    return made, write_report(report, made)
