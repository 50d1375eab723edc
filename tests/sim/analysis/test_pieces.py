"""What is read piece by piece is what all designs at once give, in memory and on the disk, and memory does not grow."""

import tracemalloc
from dataclasses import replace

import h5py
import numpy as np
import pytest
from made_up_study import K, made, sobol_points, study

from keyaction.sim.analysis import indices, pieces, spread, view
from keyaction.sim.analysis.effects import plane_effects
from keyaction.sim.analysis.indices import sobol_indices
from keyaction.sim.analysis.pareto import Front, pareto_front
from keyaction.sim.analysis.spread import MedianSteps, SpreadSums, bracket
from keyaction.sim.analysis.view import StudyView
from keyaction.sim.files.labelled import Result
from keyaction.sim.files.on_disk import OnDisk

C4 = 1
NAMES = ("pluck_force", "opening_time", "repetition_rate")


def on_disk(result, path):
    """The result with its numbers, and its texts as numbers, in a plain file."""
    variables, offset = {}, 0
    with path.open("wb") as file:
        for name, one in result.variables.items():
            if one.dims[:1] != ("design",):
                variables[name] = one
                continue
            names, data = None, np.asarray(one.data)
            if data.dtype.kind == "O":
                names, codes = np.unique(data.astype(str), return_inverse=True)
                names, data = names.astype(object), codes.reshape(data.shape).astype("i4")
            file.write(data.tobytes())
            variables[name] = replace(one, data=OnDisk(path, offset, data.dtype, data.shape, names))
            offset += data.nbytes
    return Result(variables, result.about)


def same(one, other):
    """Two frozen figures of arrays, by their numbers."""
    if one is None or isinstance(one, int | str):
        return one == other
    if hasattr(one, "__dataclass_fields__"):
        return all(same(getattr(one, name), getattr(other, name)) for name in one.__dataclass_fields__)
    if isinstance(one, tuple):
        return all(same(*pair) for pair in zip(one, other, strict=True))
    return np.allclose(one, other, rtol=1e-9, atol=1e-12, equal_nan=True)


@pytest.mark.parametrize("plan", ["sobol", "morris", "one-at-a-time", "latin"])
def test_pieces_and_the_disk_give_what_all_at_once_does(plan, tmp_path, monkeypatch):
    whole = StudyView(made(plan, failed=0.05))
    asked = {name: (whole.spread(name, C4), whole.indices(name, C4), whole.screening(name, C4)) for name in NAMES}
    effects = {name: whole.effects(name, C4) for name in NAMES}
    monkeypatch.setattr(pieces, "PIECE", 64)
    monkeypatch.setattr(view, "PIECE", 64)
    monkeypatch.setattr(pieces, "GROUPS", 4)
    for result in (made(plan, failed=0.05), on_disk(made(plan, failed=0.05), tmp_path / "columns")):
        cut = StudyView(result)
        assert len(list(cut.pieces)) > 1 or plan == "one-at-a-time"
        assert [one.name for one in cut.inputs] == [one.name for one in whole.inputs]
        assert cut.pieces.reaches == whole.pieces.reaches
        assert cut.reasons(C4) == whole.reasons(C4) and cut.played(C4) == whole.played(C4)
        cut.look(NAMES, C4, effects=True)
        for name in NAMES:
            found = cut.spread(name, C4), cut.indices(name, C4), cut.screening(name, C4)
            assert same(found, asked[name])
            if plan == "one-at-a-time":
                assert cut.effects(name, C4).effects == effects[name].effects
            else:
                for one, other in zip(cut.effects(name, C4).effects, effects[name].effects, strict=True):
                    assert (one.low, one.high) == pytest.approx((other.low, other.high), rel=1e-9)
                    assert str(one.at_low) == str(other.at_low) or one.swing < 1e-9 * abs(one.high)
        senses = {"pluck_force": "min", "repetition_rate": "max", "roller.width": "min"}
        assert cut.front(senses, C4).rows.tolist() == whole.front(senses, C4).rows.tolist()


def test_many_base_points_in_groups_have_the_interval_of_single_ones(monkeypatch):
    values = study("sobol", sobol_points(4096, K), notes=("C4",))["opening_time"][:, 0]
    single = {}
    for groups in (4096, 1024):
        monkeypatch.setattr(indices, "GROUPS", groups)
        single[groups] = sobol_indices(values, K)
    np.testing.assert_allclose(single[1024].total.value, single[4096].total.value, rtol=1e-9)
    widths = {groups: one.total.high - one.total.low for groups, one in single.items()}
    some = single[4096].total.value > 0.01
    np.testing.assert_allclose(widths[1024][some], widths[4096][some], rtol=0.15)


@pytest.mark.parametrize("kind", ["smooth", "steps", "tail", "sorted", "half"])
def test_the_median_of_many_is_theirs(kind):
    random = np.random.default_rng(3)
    values = {
        "smooth": random.normal(5.0, 1.0, 40_000),
        "steps": np.round(random.normal(5.0, 1.0, 40_001), 1),
        "tail": random.lognormal(0.0, 3.0, 40_000),
        "sorted": np.sort(random.uniform(-1.0, 1.0, 40_000)),
        "half": np.where(np.arange(40_000) % 2, np.nan, random.normal(size=40_000)),
    }[kind]
    steps = MedianSteps(*bracket(values[::100]))
    for first in range(0, len(values), 1000):
        steps.add(values[first : first + 1000])
    assert steps.outside() == 0
    there = values[np.isfinite(values)]
    about = np.subtract(*np.quantile(there, (0.6, 0.4)))
    assert steps.median() == pytest.approx(np.median(there), abs=2 * about / spread.STEPS)


def test_a_median_elsewhere_than_was_thought_is_found_by_reading_again(monkeypatch):
    monkeypatch.setattr(pieces, "PIECE", 64)
    monkeypatch.setattr(spread, "KEPT", 10)
    monkeypatch.setattr("keyaction.sim.analysis.look.KEPT", 10)
    monkeypatch.setattr("keyaction.sim.analysis.look.bracket", lambda _: (1e6, 2e6))
    result = made("latin", failed=0.05)
    found = StudyView(result).spread("pluck_force", C4)
    values = StudyView(result).values("pluck_force", C4)
    assert found.median == pytest.approx(np.nanmedian(values), rel=1e-3)
    assert (found.least, found.largest) == (np.nanmin(values), np.nanmax(values))


def test_nothing_is_the_spread_of_nothing():
    sums = SpreadSums()
    sums.add(np.full(5, np.nan))
    found = sums.spread(np.nan)
    assert found.count == 0 and not found.varies and np.isnan(found.least)


def test_a_front_in_pieces_is_that_of_all():
    values = np.round(np.random.default_rng(1).normal(size=(5000, 3)), 2)
    front = Front(["min", "max", "min"])
    for first in range(0, 5000, 250):
        front.add(first, values[first : first + 250])
    whole = pareto_front(values, ["min", "max", "min"])
    assert front.rows.tolist() == whole.tolist()
    np.testing.assert_array_equal(front.values, values[whole])


def test_memory_does_not_grow_with_the_designs(tmp_path, monkeypatch):
    monkeypatch.setattr(pieces, "PIECE", 2000)
    monkeypatch.setattr(view, "PIECE", 2000)
    monkeypatch.setattr(spread, "KEPT", 1000)
    most = []
    for count in (20_000, 80_000):
        unit = np.random.default_rng(0).random((count, K))
        stored = on_disk(study("random", unit, notes=("C4",)), tmp_path / str(count))
        tracemalloc.start()
        found = StudyView(stored)
        found.look(NAMES, 0)
        found.front({"pluck_force": "min", "repetition_rate": "max"}, 0)
        found.pieces.statuses[0]
        most.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    assert most[1] < 1.2 * most[0]


def test_columns_of_a_file_are_indexed_as_arrays_are(tmp_path):
    table = np.arange(60.0).reshape(20, 3)
    with h5py.File(tmp_path / "some.h5", "w") as file:
        offset = file.create_dataset("x", data=table).id.get_offset()
    one = OnDisk(tmp_path / "some.h5", offset, table.dtype, table.shape)
    rows = np.array([7, 2, 19])
    for key in (slice(None), slice(3, 9), (slice(3, 9), 1), 4, -1, (4, 2), rows, (rows, 1), slice(0, 20, 3)):
        np.testing.assert_array_equal(one[key], table[key])
    assert (len(one), one.ndim, one.size, one.dtype) == (20, 2, 60, table.dtype)
    np.testing.assert_array_equal(np.asarray(one), table)


def test_the_plane_of_parts_is_that_of_all():
    result = made("latin")
    columns = [one.values for one in StudyView(result).inputs]
    y = result["opening_time"][:, C4]
    numbers = [one / np.max(one) for one in columns if one.dtype.kind == "f"]
    (texts,) = (one for one in columns if one.dtype.kind == "O")
    table = np.column_stack([np.ones(len(y)), *numbers, *(texts == name for name in np.unique(texts.astype(str))[1:])])
    table = table.astype(float)
    left = y - table @ np.linalg.lstsq(table, y, rcond=None)[0]
    assert plane_effects(columns, y).explained == pytest.approx(1 - np.var(left) / np.var(y), rel=1e-9)
