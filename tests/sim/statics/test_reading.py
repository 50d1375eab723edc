"""The loops that read many presses hold to what is read from one: the same figures, over folds and jumps too."""

import math
from dataclasses import replace

import numpy as np
import pytest
from read_rows import read
from scipy.interpolate import PchipInterpolator

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.figures.play import press_note
from keyaction.sim.lanes.read_presses import PressReader
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.statics import feel_curve, reading
from keyaction.sim.statics.press import StaticPress

CASE = read_case("demo-wood")


@pytest.fixture(scope="module")
def pressed():
    return press_note(NoteModel(train_of(CASE, "C4")), CASE.strokes)


def wandering(course, seed):
    """A course whose finger goes back again and again, as over folds, and which may end early; forces wander too."""
    rng = np.random.default_rng(seed)
    n, names, seen = len(course.finger), course.balance.kernel.observables, course.seen.copy()
    for k, name in enumerate(names):
        if name == "key_force" or name.startswith("force_"):
            seen[:, k] += rng.normal(0.0, 0.05, n)
    onward = np.maximum.accumulate(course.sense * course.travel) * course.sense
    seen[:, names.index("key_travel")] = onward + course.rest
    steps = rng.normal(0.6, 1.0, n)
    finger = course.finger[0] + course.sense * 5e-5 * (np.cumsum(steps) - steps[0])
    end = rng.integers(n // 3, n)
    extreme = rng.integers(0, 2, end).astype(float)
    return replace(course, finger=finger[:end], states=course.states[:end], seen=seen[:end], extreme=extreme)


def test_a_finger_that_jumps_meets_and_does_the_same(pressed):
    reader = PressReader(pressed.model.train.structure, CASE.strokes.press_stiffness)
    given = reader.given(np.array([pressed.press.down.rest]))[0]
    known = dict.fromkeys(reading.FIGURES, 0)
    for seed in range(40):
        down, up = (wandering(course, 2 * seed + k) for k, course in enumerate((pressed.press.down, pressed.press.up)))
        assert min(len(down.jumps), len(up.jumps)) > 3
        out, press = read(reader, down, up, given), StaticPress(down, up)
        note = replace(pressed, press=press)
        for name, found in zip(reading.FIGURES, out, strict=False):
            if name in QUANTITIES or name in ("last_stage", "bottom_point"):
                expected = QUANTITIES[name].compute(note) if name in QUANTITIES else getattr(press, name)
                assert found == pytest.approx(expected, rel=1e-12, abs=1e-13, nan_ok=True), (seed, name)
                known[name] += math.isfinite(expected)
    partly = ("follow_through_force", "friction_at_key", "bottom_point")
    assert all(0 < known[name] < 40 for name in partly)


def test_what_is_met_and_where_it_lands(pressed):
    for course in (wandering(pressed.press.down, 3), wandering(pressed.press.up, 4)):
        n, names = len(course.finger), course.balance.kernel.observables
        where = names.index("key_travel"), names.index("key_force"), course.rest
        rows, given = np.empty(2 * n), (course.finger, course.seen, course.extreme, n, float(course.sense))
        count = feel_curve.met(*given, 0, *where, rows, 0, n)
        assert np.array_equal(rows[:count], course.travel[course.met])
        assert np.array_equal(rows[n : n + count], course.force[course.met])
        count = feel_curve.met(*given, 1, *where, rows, 0, n)
        assert rows[n : n + count] == pytest.approx(course.through[1], rel=1e-12)
        assert len(course.met) + len(course.jumps) > count > len(course.met) / 3


@pytest.mark.parametrize("count", [2, 3, 4, 30])
def test_work_under_a_curve_is_that_of_trapezoids_under_scipy_s(count):
    rng = np.random.default_rng(count)
    for _ in range(20):
        at = np.cumsum(rng.uniform(0.01, 1.0, count))
        travel, force = rng.normal(0.0, 1.0, (2, count))
        force[rng.uniform(size=count) < 0.2] = 0.5  # level stretches
        steps = feel_curve.FINER * (count - 1) + 1
        fine = np.interp(np.linspace(0.0, count - 1.0, steps), np.arange(count), at)
        curves = (PchipInterpolator(at, values)(fine) for values in (force, travel))
        found = feel_curve.work_along(np.concatenate([travel, force, at]), count, count)
        assert found == pytest.approx(float(np.trapezoid(*curves)), rel=1e-11, abs=1e-12)


def test_a_point_twice_is_one():
    rows = np.array([0.0, 0.0, 0.004, 0.004, 0.01, 1.0, 1.0, 1.2, 1.2, 1.1, *np.zeros(5)])
    assert feel_curve.apart(rows, 5, 5) == 3
    assert rows[:3].tolist() == [0.0, 0.004, 0.01]
    assert rows[5:8].tolist() == [1.0, 1.2, 1.1]
    assert rows[10:13] == pytest.approx([0.0, np.hypot(0.4, 0.2), np.hypot(0.4, 0.2) + np.hypot(0.6, 0.1)])


def test_what_was_not_pressed_has_no_figures(pressed):
    reader, down = PressReader(pressed.model.train.structure), pressed.press.down
    none = replace(down, finger=down.finger[:0], states=down.states[:0], seen=down.seen[:0])
    assert np.all(np.isnan(read(reader, none, pressed.press.up, reader.given(np.zeros(1))[0])))
    assert np.all(np.isnan(read(reader, down, none, reader.given(np.zeros(1))[0])))


def test_every_figure_has_its_place():
    assert len(reading.FIGURES) == reading.READ
    assert reading.FIGURES[reading.STEADY] == "steady_lift"
    assert reading.FIGURES[reading.FELT] == "bottom_point"


def test_a_rod_that_carries_only_as_the_pallet_plucks():
    # Key travels in mm, gap and rod's force; the pallet leaves its seat half way between the last two.
    seen = np.array([[0.0, -2.0, 0.0], [1e-3, -1.0, 0.0], [2e-3, 1.0, 0.04]])
    columns = np.zeros(reading.LISTED + 1, dtype=np.int64)
    columns[[reading.RODS, reading.LISTED]] = 1, 2
    given = np.array([0.0, 1.0, 0.01, 0.9])
    pluck = feel_curve.place_of(seen, 3, 1, 0.0)
    assert pluck == 1.5
    assert reading.lost_motion(seen, 3, pluck, columns, given) == pytest.approx(1.25e-3)
    assert reading.lost_motion(seen, 3, 1.0, columns, given) == pytest.approx(1e-3)  # none carries up to there
