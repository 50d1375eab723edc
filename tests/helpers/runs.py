"""What tests of runs over many notes need: a listener that can break off, and a comparison to the last bit."""

from __future__ import annotations

import numpy as np

LATER = ("made",)
"""Of what travels with a result, all that may differ between two equal runs."""


def assert_same_variables(one, other) -> None:
    """Two results hold the same variables to the last bit; names what differs."""
    assert set(one.variables) == set(other.variables)
    for name, variable in one.variables.items():
        found = other.variables[name]
        assert found.data.dtype == variable.data.dtype, name
        assert np.array_equal(found.data, variable.data, equal_nan=variable.data.dtype.kind == "f"), name
        assert (found.dims, found.unit, found.label) == (variable.dims, variable.unit, variable.label), name


def arrays_equal(one, other) -> bool:
    """Whether two results are the same; names what differs."""
    assert_same_variables(one, other)
    kept = [{key: text for key, text in result.about.items() if key not in LATER} for result in (one, other)]
    assert kept[0] == kept[1]
    return True


class Told:
    """Hears of every note; can break off."""

    def __init__(self, stop_after=None):
        self.played, self.kept, self.stop_after = [], [], stop_after

    def __call__(self, result, kept):
        (self.kept if kept else self.played).append(result.note)
        if self.stop_after is not None and len(self.played) >= self.stop_after:
            raise KeyboardInterrupt
