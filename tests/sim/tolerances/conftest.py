"""A short action without friction whose pluck force has a closed form, and its draws."""

from __future__ import annotations

import pytest
from short_case import write_case

from keyaction.cases.action.reader import read_case

SMOOTH = {
    "key.pin.coefficient": 0.0,
    "key.pin.breakaway": "0 N*mm",
    "pallet.pin.coefficient": 0.0,
    "pallet.pin.breakaway": "0 N*mm",
    "pallet-spring.rate": "0 N/m",
    "strokes.press_stiffness": "1000 N/mm",
}


@pytest.fixture(scope="session")
def smooth(tmp_path_factory):
    """The short case, nothing in it rubbing."""
    return read_case(write_case(tmp_path_factory.mktemp("smooth")), set_=SMOOTH)
