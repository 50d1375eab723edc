"""The picture of a search: panels, faint designs, the offered ones with numbers, the case as drawn."""

from __future__ import annotations

import json

import numpy as np
import pytest
from figure_checks import outside, overlaps

from keyaction.plots.study.searched import save_front, search_front
from keyaction.sim.files.labelled import Result, Variable


def made_up(aims: int, offered: int = 4, drawn: bool = True) -> Result:
    """A search of forty designs with so many aims."""
    draw = np.random.default_rng(1)
    names = ["pluck_force", "repetition_rate", "cost"][:aims]
    units = ["N", "Hz", ""]
    arrays = {
        "design": Variable(("design",), np.arange(40)),
        "short": Variable(("design",), np.where(np.arange(40) % 5 == 0, 1.0, 0.0)),
        "offered": Variable(("offered",), np.arange(1, 1 + offered)),
        "compromise": Variable(("offered",), (np.arange(offered) == 1).astype(int)),
    }
    for k, name in enumerate(names):
        values = draw.random(40) + 1.0
        arrays[f"aim_{name}"] = Variable(("design",), values, units[k])
        arrays[f"confirmed_aim_{name}"] = Variable(("offered",), values[1 : 1 + offered], units[k])
    about = {
        "title": "Made up",
        "aims": json.dumps([[name, k == 1, units[k], name.replace("_", " ")] for k, name in enumerate(names)]),
        "drawn": json.dumps({"aims": [1.5] * aims, "missed": []} if drawn else {}),
    }
    return Result(arrays, about)


@pytest.mark.parametrize(("aims", "panels"), [(1, 1), (2, 1), (3, 3)])
def test_a_panel_for_each_pair_with_all_that_is_offered(aims, panels):
    figure = search_front(made_up(aims))
    assert len(figure.axes) == panels
    (axes, *_) = figure.axes
    lines = {line.get_label(): line for line in axes.lines}
    assert set(lines) >= {"miss a limit", "keep all limits", "offered"}
    assert len(lines["offered"].get_xdata()) == 4
    assert len(lines["keep all limits"].get_xdata()) == 32
    if aims > 1:
        assert lines["as drawn"].get_ydata().tolist() == [1.5]
        assert "pluck force (gf): less is better" in axes.get_xlabel()
        assert "more is better" in axes.get_ylabel()
    assert overlaps(figure) == [] and outside(figure) == []
    assert "2 compromise" in [text.get_text() for text in axes.texts]


def test_without_a_compromise_no_number_is_called_one():
    made = made_up(2)
    made.variables["compromise"].data[:] = 0
    (axes,) = search_front(made).axes
    texts = [text.get_text() for text in axes.texts]
    assert "1" in texts and not any("compromise" in text for text in texts)


def test_nothing_offered_is_said_and_files_are_whole(tmp_path):
    figure = search_front(made_up(2, offered=0, drawn=False))
    assert any("No design keeps every limit" in text.get_text() for axes in figure.axes for text in axes.texts)
    path = save_front(made_up(2, offered=1, drawn=False), tmp_path / "front.png")
    assert path.read_bytes().startswith(b"\x89PNG") and [one.name for one in tmp_path.iterdir()] == ["front.png"]
