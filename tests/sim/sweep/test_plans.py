"""Sampling plans: rows hang on nothing but the plan and their number, and are what their names promise."""

from __future__ import annotations

from itertools import pairwise, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from keyaction.cases.study.plans import PLANS
from keyaction.sim.sweep.plans import CHUNK, Plan

KINDS = ("latin", "sobol", "random", "morris", "tolerances")


def make(kind: str, inputs: int, size: int, **options: object) -> Plan:
    levels = (4,) * inputs if kind == "morris" else ()
    return Plan(kind, inputs, size, levels=levels, **options)  # type: ignore[arg-type]


@settings(max_examples=40, deadline=None)
@given(
    st.sampled_from([*KINDS, "grid", "one-at-a-time"]),
    st.integers(1, 4),
    st.integers(1, 40),
    st.integers(0, 2**32 - 1),
    st.booleans(),
    st.data(),
)
def test_rows_are_the_same_however_they_are_asked_for(kind, inputs, size, seed, second, data):
    levels = data.draw(st.lists(st.integers(1, 4).map(lambda n: 2 * n), min_size=inputs, max_size=inputs))
    plan = Plan(kind, inputs, size, seed, second and kind == "sobol", tuple(levels))
    whole = plan.rows(0, plan.count)
    assert whole.shape == (plan.count, inputs)
    known = whole[np.isfinite(whole)]
    assert np.all((known >= 0) & (known <= 1))
    cut = sorted(data.draw(st.lists(st.integers(0, plan.count), max_size=4)))
    edges = [0, *cut, plan.count]
    pieces = [plan.rows(a, b) for a, b in pairwise(edges)]
    assert np.array_equal(np.concatenate(pieces), whole, equal_nan=True)


@settings(max_examples=30, deadline=None)
@given(
    st.sampled_from(("sobol", "random", "morris", "tolerances")),
    st.integers(1, 4),
    st.integers(1, 60),
    st.integers(1, 60),
    st.booleans(),
)
def test_a_larger_size_only_adds_rows_at_the_end(kind, inputs, size, more, second):
    options = {"second_order": second} if kind == "sobol" else {}
    short, long = make(kind, inputs, size, **options), make(kind, inputs, size + more, **options)
    assert short.extends
    assert np.array_equal(long.rows(0, short.count), short.rows(0, short.count))


@pytest.mark.parametrize("kind", ["sobol", "random"])
def test_rows_beyond_one_generator(kind):
    plan = make(kind, 2, 2 * CHUNK + 5)
    seam = CHUNK * plan.per
    across = plan.rows(seam - 3, seam + 3)
    assert np.array_equal(across, np.concatenate([plan.rows(seam - 3, seam), plan.rows(seam, seam + 3)]))
    assert len(np.unique(plan.rows(0, plan.count), axis=0)) == plan.count


def test_another_seed_is_another_plan():
    for kind in KINDS:
        one, other = (make(kind, 3, 16, seed=seed).rows(0, 16) for seed in (1, 2))
        assert not np.array_equal(one, other), kind


@pytest.mark.parametrize("kind", PLANS)
def test_every_plan_that_a_study_may_name_has_rows(kind):
    plan = Plan(kind, 2, 4, levels=(2, 2))
    assert plan.count > 0 and plan.rows(0, 1).shape == (1, 2)


def test_rows_that_are_not_there_are_refused():
    with pytest.raises(IndexError, match="0 to 5 of a plan of 4"):
        make("random", 2, 4).rows(0, 5)
    with pytest.raises(ValueError, match="no such plan"):
        Plan("spiral", 2, 4).rows(0, 1)


@given(st.lists(st.integers(1, 4), min_size=1, max_size=4))
def test_a_grid_has_every_combination_once_the_last_input_fastest(levels):
    plan = Plan("grid", len(levels), levels=tuple(levels))
    wanted = list(product(*[[i / max(n - 1, 1) for i in range(n)] for n in levels]))
    assert np.allclose(plan.rows(0, plan.count), wanted, atol=1e-15)


def test_one_at_a_time_begins_with_the_case_and_changes_one_input_in_each_row():
    plan = Plan("one-at-a-time", 3, levels=(2, 3, 1))
    rows = plan.rows(0, plan.count)
    assert np.all(np.isnan(rows[0]))
    assert np.all(np.isfinite(rows[1:]).sum(axis=1) == 1)
    assert [row[np.isfinite(row)].tolist() for row in rows[1:]] == [[0.0], [1.0], [0.0], [0.5], [1.0], [0.0]]


@given(st.integers(1, 5), st.integers(1, 50), st.integers(0, 1000))
def test_a_latin_hypercube_has_one_design_in_each_layer_of_every_input(inputs, size, seed):
    rows = make("latin", inputs, size, seed=seed).rows(0, size)
    for column in rows.T:
        assert np.array_equal(np.sort((column * size).astype(int)), np.arange(size))


@pytest.mark.parametrize("second", [False, True])
def test_sobol_rows_stand_in_the_order_that_the_indices_expect(second):
    k = 3
    plan = make("sobol", k, 8, second_order=second)
    assert plan.per == (2 * k + 2 if second else k + 2)
    for base in plan.rows(0, plan.count).reshape(8, plan.per, k):
        a, b = base[0], base[-1]
        assert np.all(a != b)
        for i in range(k):
            wanted = a.copy()
            wanted[i] = b[i]
            assert np.array_equal(base[1 + i], wanted)
            if second:
                wanted = b.copy()
                wanted[i] = a[i]
                assert np.array_equal(base[1 + k + i], wanted)


def test_sobol_points_fill_the_cube_more_evenly_than_random_ones():
    # Error of the mean of a product over the unit cube, whose value is 1.
    errors = {}
    for kind in ("sobol", "random"):
        plan = make(kind, 3, 1024)
        rows = plan.rows(0, plan.count)[:: plan.per]
        errors[kind] = abs(np.mean(np.prod(1 + 0.5 * (rows - 0.5), axis=1)) - 1)
    assert errors["sobol"] < 1e-4 < errors["random"]


@given(st.integers(1, 6), st.integers(1, 4).map(lambda n: 2 * n), st.integers(0, 1000))
def test_a_morris_walk_moves_each_input_once_by_its_step(inputs, p, seed):
    plan = Plan("morris", inputs, 5, seed, levels=(p,) * inputs)
    step = p / (2 * (p - 1))
    for walk in plan.rows(0, plan.count).reshape(5, inputs + 1, inputs):
        moves = np.diff(walk, axis=0)
        assert np.all((moves != 0).sum(axis=0) == 1)
        assert np.all((moves != 0).sum(axis=1) == 1)
        assert np.allclose(np.abs(moves[moves != 0]), step, atol=1e-12)
        assert np.allclose(walk * (p - 1), np.round(walk * (p - 1)), atol=1e-9)
