"""How many processes: 0 is one per core; what is no number of them is refused before anything is computed."""

import numpy as np
import pytest

import keyaction as ka
from keyaction.sim.processes.count import workers


@pytest.mark.parametrize("jobs", [0, 1, 64, np.int64(2)])
def test_a_whole_number(jobs):
    workers(jobs)


@pytest.mark.parametrize("jobs", ["two", 1.5, None, True])
def test_no_whole_number(jobs):
    with pytest.raises(TypeError, match="a whole number is needed: 0 for one per core"):
        workers(jobs)


def test_below_zero_is_refused_by_all_that_compute(tmp_path):
    told = r"jobs is -1; it must be 0 \(one per core\) or more"
    with pytest.raises(ValueError, match=told):
        ka.run(ka.read_case("demo-wood"), "C4", jobs=-1)
    with pytest.raises(ValueError, match=told):
        ka.evaluate("demo-wood", "C4", {"roller.width": ["20 mm"]}, jobs=-1)
    with pytest.raises(ValueError, match=told):
        ka.run_study("quick", tmp_path / "out", jobs=-1)
    assert not (tmp_path / "out").exists()
