"""No accepted value alone makes a train that cannot be played in time: it is followed, or refused with a reason."""

import math

import numpy as np
import pytest
from short_case import ABSURD, write_case

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.cases.fields.allowed import allowed_range, inside
from keyaction.cases.fields.tables import paths
from keyaction.cases.text.defects import CaseProblem
from keyaction.models.fields.values import Given
from keyaction.models.parts import PARTS
from keyaction.models.train.train import TrainProblem, build_train
from keyaction.sim.code.kernel import load_kernel
from keyaction.sim.lanes.step import FASTEST, SHARE, SHORTEST, fastest, longest_step, too_fast_trains
from keyaction.sim.run.run import run

FLOOR = SHORTEST
"""s: no step may be shorter. A standard stroke of half a second is then 100 000 steps, which a lane plays in 2 ms."""
SIZES = {
    f"{kind}.{path}": field
    for kind, part in PARTS.items()
    for path, field in paths(part.fields)
    if field.kind in ("quantity", "number")
}


def step_of(train):
    parameters = np.array([train.vector(load_kernel(train.structure).parameters)])
    assert np.isfinite(parameters).all()
    return SHARE / fastest(train.structure, parameters)[0]


@pytest.mark.parametrize("name", ["demo-wood", "demo-carbon"])
@pytest.mark.parametrize("end", ["least", "high"])
def test_every_field_at_its_end_keeps_the_step_above_the_floor(name, end):
    case = read_case(name)
    parts = [(one.part, one.name, case.values(60, one)) for one in case.parts]
    played = refused = 0
    for i, (part, called, values) in enumerate(parts):
        for path, field in paths(part.fields):
            if field.kind not in ("quantity", "number") or "*" in path:
                continue
            changed = {**values, path: Given(getattr(field, end), "test")}
            try:
                train = build_train([*parts[:i], (part, called, changed), *parts[i + 1 :]], case.library)
            except TrainProblem as problem:  # two sizes that contradict each other
                assert called in str(problem) and "Error" not in str(problem)
                refused += 1
                continue
            assert step_of(train) >= FLOOR, f"{called}.{path} = {getattr(field, end)}"
            assert too_fast_trains([train]) == [""]
            played += 1
    assert played > 100
    assert refused < played / 3


@pytest.mark.one_in(3)
@pytest.mark.parametrize("field", SIZES.values(), ids=SIZES)
def test_the_ends_of_a_range_are_inside_and_what_is_beyond_is_not(field):
    low, high = field.least, field.high
    assert math.isfinite(low) and math.isfinite(high) and low < high
    assert inside(field, low) is (low > 0 or not field.positive)
    assert not inside(field, low - 1e-6 * max(abs(low), 1e-12))
    assert "inf" not in allowed_range(field)
    if field.positive:
        assert low > 0, "a size of next to nothing would be accepted"


@pytest.mark.parametrize(
    ("field", "value", "told"),
    [
        ("roller.length", "0.001 mm", "allowed: 5 mm to 20000 mm"),
        ("roller.length", "1e-12 mm", "allowed: 5 mm to 20000 mm"),
        ("drop.stiffness", "1e300 N/m", "allowed: "),
        ("roller.torsional_stiffness", "1e300 N*m/rad", "allowed: "),
        ("groove.volume", "1e-9 m^3", "allowed: "),
        ("groove.depth", "0.1 mm", "allowed: 0.3 mm to 500 mm"),
        ("pallet.seat.thickness", "1e-6 mm", "allowed: 0.05 mm to 30 mm"),
    ],
)
def test_what_is_no_size_of_this_trade_is_refused(field, value, told):
    with pytest.raises(CaseProblem, match=f"out of range; {told}"):
        read_case("demo-wood", set_={field: value})


def test_a_groove_whose_sizes_leave_no_air_is_none():
    with pytest.raises(
        TrainProblem, match=r"groove, field depth = 0.5 mm: length x width x depth is .* cm³, which is no"
    ):
        train_of(read_case("demo-wood", set_={"groove.depth": "0.5 mm"}), "C4")


def test_absurd_measures_together_are_told_before_anything_is_played(tmp_path, monkeypatch):
    case = read_case(write_case(tmp_path, more=ABSURD.format(note="C4")))
    train = train_of(case, "C4")
    assert longest_step(train.structure, np.array([train.vector(load_kernel(train.structure).parameters)])) == SHORTEST
    monkeypatch.setattr("keyaction.sim.run.task.build_train", None)  # nothing is played
    result = run(case, "C4", out=tmp_path / "some.h5")
    (status,) = result["status"]
    assert status.startswith("failed: its fastest vibration, ")
    assert f"beyond the {FASTEST / (2 * math.pi):.0f} Hz that motions are followed to" in status
