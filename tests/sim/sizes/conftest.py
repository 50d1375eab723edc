"""What the tests of sizes share: the short action with a larger stop, and the same with a trunk to its box."""

import pytest
from short_case import CHEST, SHORT

from keyaction.cases.action.reader import read_case

TEXT = SHORT.replace('area = "40 mm^2"', 'area = "120 mm^2"')
SUPPLIED = TEXT.replace(
    'part = "box"\n', 'part = "box"\nvolume = "60 L"\ntrunk = { area = "15 cm^2", length = "1 m", loss = 2.0 }\n'
)


@pytest.fixture(scope="session")
def files(tmp_path_factory):
    """Folder with both cases."""
    folder = tmp_path_factory.mktemp("sizes")
    (folder / "chest.csv").write_text(CHEST, encoding="utf-8")
    (folder / "short.toml").write_text(TEXT, encoding="utf-8")
    (folder / "supplied.toml").write_text(SUPPLIED, encoding="utf-8")
    return folder


@pytest.fixture(scope="session")
def short(files):
    return read_case(files / "short.toml")


@pytest.fixture(scope="session")
def supplied(files):
    return read_case(files / "supplied.toml")


@pytest.fixture(scope="session")
def changed(files):
    """The short case with other values of some fields."""
    return lambda set_: read_case(files / "short.toml", set_=set_)
