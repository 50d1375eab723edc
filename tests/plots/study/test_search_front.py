"""The picture of a search: panels, faint designs, the offered ones with numbers, the case as drawn."""

from __future__ import annotations

import json

import numpy as np
import pytest
from figure_checks import outside, overlaps
from matplotlib.figure import Figure

from keyaction.plots.study.numbers import Number, numbers
from keyaction.plots.study.searched import save_front, search_front
from keyaction.sim.files.labelled import Result, Variable

OFFERED, COMPROMISE = "offered (numbers: designs)", "offered, the compromise"


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
    assert set(lines) >= {"8 miss a limit", "32 keep all limits", OFFERED, COMPROMISE}
    assert len(lines[OFFERED].get_xdata()) == 3
    assert lines[COMPROMISE].get_ydata().tolist() == [lines["32 keep all limits"].get_ydata()[1]]
    assert len(lines["32 keep all limits"].get_xdata()) == 32
    if aims > 1:
        assert lines["as drawn"].get_ydata().tolist() == [1.5]
        assert "pluck force (gf): less is better" in axes.get_xlabel()
        assert "more is better" in axes.get_ylabel()
    assert overlaps(figure) == [] and outside(figure) == []
    assert [text.get_text() for text in axes.texts if text.get_weight() == "bold"] == ["2"]


def test_without_a_compromise_no_mark_is_called_one():
    made = made_up(2)
    made.variables["compromise"].data[:] = 0
    (axes,) = search_front(made).axes
    assert [len(line.get_xdata()) for line in axes.lines if line.get_label() == OFFERED] == [4]
    assert COMPROMISE not in [line.get_label() for line in axes.lines]


@pytest.mark.parametrize("aims", [1, 2, 3])
def test_every_offered_design_has_its_number_in_every_panel(aims):
    figure = search_front(made_up(aims, offered=12))
    for axes in figure.axes:
        assert {text.get_text() for text in axes.texts if text.get_gid() == "number"} == {str(1 + i) for i in range(12)}
    assert overlaps(figure) == []


def close_front(count):
    """Marks of a front that lie closer than their numbers are wide."""
    figure = Figure(figsize=(4, 4))
    axes = figure.add_subplot()
    axes.set(xlim=(0, 100), ylim=(0, 100))
    return axes, [Number(str(1000 + i), 40.0 + 1.5 * i, 40.0 + 2.5 * i) for i in range(count)]


def test_a_number_stands_nearest_to_its_own_mark_or_a_line_leads_to_it():
    axes, wanted = close_front(12)
    marks = np.array([(one.x, one.y) for one in wanted])
    assert numbers(axes, wanted, -1, 1, [tuple(mark) for mark in marks]) == 0
    led = {tuple(text.xy) for text in axes.texts if text.get_gid() == "leader"}
    written = [text for text in axes.texts if text.get_gid() == "number"]
    assert 0 < len(led) < len(written) == 12
    dots = axes.transData.transform(marks)
    for text, own in zip(written, range(12), strict=True):
        box = text.get_window_extent()
        away = np.hypot(
            np.maximum(np.maximum(box.x0 - dots[:, 0], dots[:, 0] - box.x1), 0),
            np.maximum(np.maximum(box.y0 - dots[:, 1], dots[:, 1] - box.y1), 0),
        )
        assert away.min() > 0
        assert tuple(marks[own]) in led or 1.4 * away[own] < np.delete(away, own).min(), text.get_text()


def test_numbers_that_find_no_room_are_counted():
    axes, _ = close_front(0)
    marks = [(50.0, 50.0)] * 60
    lost = numbers(axes, [Number(str(i), *at) for i, at in enumerate(marks)], 1, 1, marks)
    assert lost == 60 - sum(text.get_gid() == "number" for text in axes.texts) > 0


def test_the_picture_says_how_many_were_looked_at_and_which_it_does_not_show():
    made = made_up(2)
    told = [text.get_text() for text in search_front(made).texts]
    assert "40 designs were looked at" in told
    made["aim_pluck_force"][[5, 10]] = np.nan
    made["aim_repetition_rate"][15] = 50.0
    told = [text.get_text() for text in search_front(made).texts]
    words = "40 designs were looked at; not in the picture: 2 without a figure of an aim, 1 beyond the edges"
    assert words in told


def test_nothing_offered_is_said_and_files_are_whole(tmp_path):
    figure = search_front(made_up(2, offered=0, drawn=False))
    assert any("No design keeps every limit" in text.get_text() for axes in figure.axes for text in axes.texts)
    path = save_front(made_up(2, offered=1, drawn=False), tmp_path / "front.png")
    assert path.read_bytes().startswith(b"\x89PNG") and [one.name for one in tmp_path.iterdir()] == ["front.png"]
