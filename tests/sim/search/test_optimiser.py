"""The optimiser and its loop, on problems whose fronts are published or can be counted."""

from __future__ import annotations

import builtins

import numpy as np
import pytest

from keyaction.sim.analysis.pareto import pareto_front
from keyaction.sim.search.driver import STILL, drive, stands_still
from keyaction.sim.search.hypervolume import hypervolume
from keyaction.sim.search.optimiser import MISSING, Axis, Everything, Evolution, NoOptimiser, proposer


def fronts_of(by, problem, generations):
    """The fronts, generation by generation, of a problem without limits."""
    return [turn.front for turn in drive(by, lambda _, rows: (problem(rows), np.zeros(len(rows))), generations)]


# -- hypervolume -------------------------------------------------------------------------------------------
def test_the_hypervolume_of_boxes_counted_by_hand():
    assert hypervolume(np.array([[1.0], [0.5]]), np.array([2.0])) == 1.5
    assert hypervolume(np.array([[0.0, 1.0], [1.0, 0.0]]), np.array([2.0, 2.0])) == 3.0
    assert hypervolume(np.array([[3.0, 0.0]]), np.array([2.0, 2.0])) == 0.0
    corners = np.array([[0.0, 1.0, 1.0], [1.0, 0.0, 1.0], [1.0, 1.0, 0.0]])
    assert hypervolume(corners, np.full(3, 2.0)) == 4.0  # each covers 2, all three the same unit cube


@pytest.mark.parametrize("aims", [2, 3])
def test_the_hypervolume_is_that_of_another_library(aims):
    from pymoo.indicators.hv import HV

    costs = np.random.default_rng(aims).random((60, aims))
    reference = np.full(aims, 0.9)
    assert hypervolume(costs, reference) == pytest.approx(HV(ref_point=reference)(costs), rel=1e-12)


# -- published and counted fronts -----------------------------------------------------------------------------
def zdt1(rows):
    """E. Zitzler, K. Deb, L. Thiele, "Comparison of multiobjective evolutionary algorithms: empirical results",
    Evolutionary Computation 8 (2000) 173-195, T1; here in ten variables. Its front is f2 = 1 - sqrt(f1)."""
    g = 1.0 + 9.0 * rows[:, 1:].mean(axis=1)
    return np.column_stack([rows[:, 0], g * (1.0 - np.sqrt(rows[:, 0] / g))])


def test_the_front_of_zdt1_covers_what_is_published(monkeypatch):
    monkeypatch.setattr("keyaction.sim.search.driver.STILL", 1000)  # it may not end before its time
    fronts = fronts_of(Evolution([Axis(1001)] * 10, 2, 48, seed=1), zdt1, 80)
    whole = 1.1**2 - 1.0 / 3.0  # by integration, up to (1.1, 1.1)
    covered = [hypervolume(one, np.array([1.1, 1.1])) for one in fronts]
    assert len(fronts) == 80
    assert 0.98 * whole < covered[-1] < whole
    assert np.all(np.diff(covered) >= -1e-12)  # what was found is never lost


def binh(rows):
    """T. T. Binh and U. Korn, "MOBES: a multiobjective evolution strategy for constrained optimization problems",
    Mendel 97 (1997) 176-182: two costs, two limits; the second answer is by how much they are missed."""
    x, y = 5.0 * rows[:, 0], 3.0 * rows[:, 1]
    costs = np.column_stack([4 * x**2 + 4 * y**2, (x - 5) ** 2 + (y - 5) ** 2])
    short = np.maximum((x - 5) ** 2 + y**2 - 25.0, 0.0) + np.maximum(7.7 - (x - 8) ** 2 - (y + 3) ** 2, 0.0)
    return costs, short


def test_limits_are_kept_as_brute_force_keeps_them():
    axes = [Axis(41), Axis(41)]
    whole = Everything(axes, 41 * 41).ask()
    costs, short = binh(whole)
    assert np.any(short > 0.0)
    exact = costs[short == 0.0][pareto_front(costs[short == 0.0], ["min", "min"])]
    *_, last = drive(Evolution(axes, 2, 40, seed=1), lambda _, rows: binh(rows), 12)
    reference = exact.max(axis=0)
    assert hypervolume(last.front, reference) > 0.97 * hypervolume(exact, reference)
    feasible = {tuple(row) for row in costs[short == 0.0]}
    assert {tuple(row) for row in last.front} <= feasible


def test_names_are_searched_as_names():
    """Twelve names in no order: the best pair of two such axes is found though its neighbours are the worst."""
    worth = np.full((12, 12, 5), 1.0)
    worth[7, 2, 3] = 0.0

    def problem(rows):
        a, b, c = (np.minimum((rows[:, k] * n).astype(int), n - 1) for k, n in enumerate((12, 12, 5)))
        return (worth[a, b, c] + 0.1 * (a != 7) + 0.1 * (b != 2))[:, None]

    axes = [Axis(12, order=False), Axis(12, order=False), Axis(5, order=False)]
    assert fronts_of(Evolution(axes, 1, 24, seed=3), problem, 20)[-1].tolist() == [[0.0]]


# -- what it promises -------------------------------------------------------------------------------------------
def test_the_same_seed_proposes_the_same_and_another_another():
    def rows(seed):
        by, found = Evolution([Axis(1001), Axis(3, order=False)], 2, 10, seed), []
        for _ in range(4):
            found.append(by.ask())
            by.tell(zdt1(found[-1]), np.zeros(10))
        return np.concatenate(found)

    assert np.array_equal(rows(1), rows(1))
    assert not np.array_equal(rows(1), rows(2))
    assert np.all((rows(1) >= 0.0) & (rows(1) <= 1.0))


def test_the_first_design_is_the_case_itself_as_far_as_it_goes():
    axes = [Axis(101, own=25), Axis(4, order=False, own=2), Axis(11)]
    first = Evolution(axes, 2, 10, seed=1).ask()[0]
    assert first[:2].tolist() == [0.25, 2.5 / 4]


def test_few_designs_are_all_looked_at_and_no_library_is_asked_for(monkeypatch):
    hidden = builtins.__import__

    def without(name, *more):
        if name.startswith("pymoo"):
            raise ImportError(name)
        return hidden(name, *more)

    monkeypatch.setattr(builtins, "__import__", without)
    by = proposer([Axis(3), Axis(4, order=False)], 2, 5, 3, seed=1)
    fronts = fronts_of(by, lambda rows: np.column_stack([rows[:, 0], -rows[:, 1]]), 3)
    assert len(fronts) == 3 and fronts[-1].tolist() == [[0.0, -3.5 / 4]]
    assert by.ask().shape == (0, 2)
    with pytest.raises(NoOptimiser) as caught:
        proposer([Axis(3, fine=True)], 2, 5, 3, seed=1)
    assert str(caught.value) == MISSING


def test_a_front_that_stands_still_ends_the_search():
    still = [np.array([[1.0, 0.0], [0.0, 1.0]])] * (STILL + 1)
    assert stands_still(still)
    assert not stands_still(still[:-1])
    assert not stands_still([*still[:-1], np.array([[1.0, 0.0], [0.0, 1.0], [0.2, 0.2]])])
    assert not stands_still([np.empty((0, 2)), *still[1:]])
    turns = fronts_of(Evolution([Axis(1001)] * 2, 1, 8, 1), lambda rows: np.ones((len(rows), 1)), 100)
    assert len(turns) == STILL + 1
