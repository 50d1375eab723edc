"""What the tests of relief share: a bass of the short action with wind that makes it heavy, and what is found of it."""

import pytest
from short_case import CHEST, SHORT

from keyaction.cases.action.reader import read_case

BASS = {"pallet.opening_width": "20 mm", "box.pressure": "110 mmH2O", "pallet-spring.force": "2 N"}


@pytest.fixture(scope="session")
def bass(tmp_path_factory):
    """The case with other values of some fields."""
    folder = tmp_path_factory.mktemp("assist")
    (folder / "chest.csv").write_text(CHEST, encoding="utf-8")
    (folder / "short.toml").write_text(SHORT.replace('area = "40 mm^2"', 'area = "150 mm^2"'), encoding="utf-8")
    return lambda **set_: read_case(
        folder / "short.toml", set_={**BASS, **{path.replace("__", "."): text for path, text in set_.items()}}
    )
