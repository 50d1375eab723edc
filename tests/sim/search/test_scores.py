"""Aims, limits and faults of designs, from figures written down here."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from small_search import SPRING, data, pin_search

from keyaction.cases.study.search import Figure
from keyaction.sim.figures.verdict import Fate
from keyaction.sim.search.compromise import compromise, counting, noticeable, spread
from keyaction.sim.search.load import load_search
from keyaction.sim.search.offers import front_of
from keyaction.sim.search.scores import Looked, quantities_of, reasons, score

SOUND = Fate.SPEAKS.value


def looked(search, values, status=None, verdict=None, sensitive=None):
    """Figures (designs, notes, quantities) with nothing wrong but what is said."""
    values = np.array(values, dtype=float)
    shape = values.shape[:2]
    words = [np.full(shape, text, dtype=object) for text in ("ok", SOUND, "")]
    for found, given in zip(words, (status, verdict, sensitive), strict=True):
        for place, text in (given or {}).items():
            found[place] = text
    return Looked(values, np.zeros((shape[0], len(search.inputs))), np.full(shape[0], np.nan), *words)


def test_the_worst_note_the_mean_and_one_note():

    aims = ["pluck_force", "pluck_force@mean", "closing_force"]
    made = data("direct-pin", SPRING, notes="C4,D4,E4", aims=aims, limits=["none", "pluck_force@D4 <= 2 N"])
    search, _ = load_search(Path("options"), made)
    assert quantities_of(search) == ("pluck_force", "closing_force")
    found = score(search, looked(search, [[[1.0, 3.0], [4.0, 2.0], [1.0, 5.0]], [[1.0, 3.0], [1.5, 2.0], [2.0, 1.0]]]))
    assert found.aims.tolist() == [[4.0, 2.0, 2.0], [2.0, 1.5, 1.0]]
    assert found.short.tolist() == [1.0, 0.0]  # 4 N is the whole limit beyond it
    assert found.costs(search.aims).tolist() == [[4.0, 2.0, -2.0], [2.0, 1.5, -1.0]]


def test_evenness_is_the_largest_step_between_neighbours_that_are_there():

    made = data("direct-pin", SPRING, notes="C4,C#4,E4,F4", aims=["evenness", "evenness@mean"], limits=["none"])
    search, _ = load_search(Path("options"), made)
    found = score(search, looked(search, [[[1.0], [1.1], [3.0], [2.9]], [[1.0], [np.nan], [3.0], [3.0]]]))
    assert found.aims[0].tolist() == pytest.approx([0.1 / 1.05, (0.1 / 1.05 + 0.1 / 2.95) / 2])
    assert np.all(np.isnan(found.aims[1])) and found.short[1] > 0.0


def test_what_fails_hangs_or_is_in_doubt_never_holds():
    search, _ = pin_search(SPRING, aims=["pluck_force"], limits=["none"])
    values = [[[1.0]], [[0.5]], [[0.4]], [[0.3]], [[np.nan]]]
    found = looked(
        search,
        values,
        status={(1, 0): "failed: topples"},
        verdict={(2, 0): Fate.HANGS.value},
        sensitive={(3, 0): "overshoot 1 or 2"},
    )
    scores = score(search, found)
    assert (scores.short == 0.0).tolist() == [True, False, False, False, False]
    assert scores.short[1] > scores.short[2] > scores.short[4] > 0.0  # the worse the fault, the further off
    assert front_of(search, scores).tolist() == [0]
    told = reasons(found, ["C4"])
    assert told["C4: failed: topples"] == told[f"C4: {Fate.HANGS.value}"] == 1
    assert told["C4: its figures hang on how exactly it is integrated"] == 1


def test_figures_that_nobody_tells_apart_are_one():
    search, _ = pin_search(SPRING, aims=["pluck_force", "closing_force"], limits=["none"])
    scores = score(search, looked(search, [[[1.50001, 0.2]], [[1.5, 0.2]], [[1.52, 0.2]], [[1.6, 0.3]]]))
    assert front_of(search, scores).tolist() == [0, 3]  # of the first two the first, though the second is a hair less


def test_a_front_is_offered_from_end_to_end_with_its_compromise():
    costs = np.column_stack([np.linspace(0.0, 1.0, 50), (1.0 - np.linspace(0.0, 1.0, 50)) ** 2])
    assert spread(costs[:3], 5) == [0, 1, 2]
    some = spread(costs, 5)
    assert len(some) == 5 and some[0] == 0 and some[-1] == 49
    best = compromise(costs)
    assert best in some
    assert max(costs[best]) == min(max(row) for row in costs)  # both reach from 0 to 1
    assert compromise(np.array([[1.0, 5.0]])) == 0


def test_where_each_gives_up_all_of_an_aim_none_is_the_compromise():
    costs = np.array([[1.5, 0.2], [1.7, 0.1]])
    assert compromise(costs) is None
    assert compromise(costs, np.array([False, True])) == 1
    assert compromise(costs, np.array([False, False])) is None
    assert spread(np.array([[0.0, 1.0], [0.0, 1.0], [1.0, 0.0]]), 2) == [0, 2]


def test_an_aim_whose_range_nobody_feels_does_not_count():
    aims = [Figure(name, False, unit=unit) for name, unit in (("pluck_force", "N"), ("evenness", ""), ("cost", ""))]
    values = np.array([[1.70, 0.00123, 5.04], [1.50, 0.00142, 3.96]])
    assert counting(aims, values).tolist() == [True, False, True]
    assert counting(aims, values * [[1.0, 1.0, 1.0], [1.12, 100.0, 1.27]]).tolist() == [False, True, False]
    assert not noticeable("pluck_force", 1.069, 1.0) and noticeable("pluck_force", 1.0, 1.071)
    assert not noticeable("repetition_rate", 8.0, 8.1) and noticeable("repetition_rate", 8.0, 8.2)


def test_a_figure_is_named_as_it_was_asked_for():
    search, _ = pin_search(SPRING, aims=["spring:max", "repetition_rate@C4:min"], limits=["none"])
    assert search.aims == (
        Figure("spring", True, None, False, "N", "spring"),
        Figure("repetition_rate", False, 60, False, "Hz", "repetition_rate@C4"),
    )
