"""What stops a note from being tuned, in words that say what is meant."""

import numpy as np
import pytest

from keyaction.cases.tuning.targets import Targets
from keyaction.sim.tune.search import TunedNote
from keyaction.sim.tune.sheet import stopped

GF = 9.80665e-3


@pytest.mark.parametrize(
    ("pluck", "told"), [(933.0, "a pluck of 933 gf, 522 % above the 150 gf"), (120.0, "120 gf, 20 % below the 150 gf")]
)
def test_a_pluck_that_misses_is_told_by_how_much_and_of_what(pluck, told):
    row = np.ones(1)
    targets = Targets(150 * GF * row, np.inf * row, 0.03 * row, row, row, 6 * row, row, row, 5 * row, row)
    figures = {"pluck_force": pluck * GF, "feed": 2.0}
    note = TunedNote(60, 3.0, 5.0, 2.0, 150 * GF, figures, "strongest", ("pluck",), 150 * GF, 0.3)
    said = stopped(note, targets, 0, "trade").replace("%", " %")
    assert told in said and said.endswith("asked for")
