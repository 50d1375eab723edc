"""Budgets: shares of the whole in train order, for one note and over the compass."""

import numpy as np
import pytest
from figure_checks import legend, words

from keyaction.models.units.quantity import convert, format_value
from keyaction.plots import budgets, budgets_compass
from keyaction.plots.note.budget import shares
from keyaction.plots.style.shares import fill

CASES = [(0, "mass_budget", "part", "effective_mass", "kg"), (1, "compliance_budget", "give", "pluck_point", "m")]


@pytest.mark.parametrize(("panel", "name", "axis", "whole"), [case[:4] for case in CASES])
def test_bars_are_shares_in_train_order(played, panel, name, axis, whole):
    axes = budgets(played, "C#4").axes[panel]
    assert [label.get_text() for label in axes.get_yticklabels()] == list(played[axis])
    widths = [bar.get_width() for bar in axes.patches]
    np.testing.assert_allclose(widths, 100 * played[name][1] / played.value(whole, "C#4"), rtol=1e-9)
    assert sum(widths) == pytest.approx(100)
    assert axes.yaxis_inverted()


@pytest.mark.parametrize("units", ["trade", "si"])
@pytest.mark.parametrize(("panel", "name", "whole", "unit"), [(*case[:2], *case[3:]) for case in CASES])
def test_every_bar_carries_value_and_share(played, units, panel, name, whole, unit):
    axes = budgets(played, "C4", units).axes[panel]
    shown = [text.get_text() for text in axes.texts]
    for value, share in zip(played[name][0], shares(played[name][0]), strict=True):
        assert f"{format_value(float(value), unit, units)}  {100 * share:.1f} %" in shown
    total = format_value(played.value(whole, "C4"), unit, units)
    assert total in axes.get_xlabel()
    assert axes.get_xlabel().endswith("(%)")


def test_a_note_that_never_plucks_has_a_mass_budget_only(silent):
    figure = budgets(silent, "C4")
    assert len(figure.axes[0].patches) == len(silent["part"])
    assert not figure.axes[1].patches
    assert any("never leaves its seat" in text for text in words(figure))


@pytest.mark.parametrize("units", ["trade", "si"])
@pytest.mark.parametrize(("axis", "whole", "unit"), [case[2:] for case in CASES])
def test_stacks_add_up_over_the_compass(played, units, axis, whole, unit):
    figure = budgets_compass(played, units)
    axes = next(a for a in figure.axes if a.get_ylabel().startswith(whole.replace("_", " ")))
    expected, label = convert(played[whole], unit, units)
    assert axes.get_ylabel().endswith(f"({label})")
    for note, total in zip(played["semitone"], expected, strict=True):
        stack = [bar for bar in axes.patches if bar.get_x() < note < bar.get_x() + bar.get_width()]
        assert len(stack) == len(played[axis])
        assert sum(bar.get_height() for bar in stack) == pytest.approx(total)
    assert set(played[axis]) <= set(words(figure))


def test_failed_notes_leave_a_gap_with_a_mark(one_failed):
    figure = budgets_compass(one_failed)
    stacked = [axes for axes in figure.axes if axes.get_ylabel()]
    for axes in stacked:
        assert all(bar.get_x() + bar.get_width() < 61 for bar in axes.patches)
        marks = [one for one in axes.get_lines() if one.get_marker() == "x"]
        assert [list(one.get_xdata()) for one in marks] == [[61]]
        assert "could not be played" in legend(axes)


def test_parts_keep_their_look_and_neighbours_differ(played):
    parts = list(played["part"])
    looks = [fill(part, part, parts) for part in parts]
    assert len(set(looks)) == len(parts)
    assert fill("drop ends", "drop", parts).color == fill("drop", "drop", parts).color
    assert fill("drop ends", "drop", parts).hatch != fill("drop", "drop", parts).hatch
    roller = [fill(name, "roller", parts) for name in ("roller twist", "roller bending")]
    assert roller[0].color == roller[1].color
    assert roller[0].hatch != roller[1].hatch
    assert fill("lost motion", "", parts) != fill("friction and geometry", "", parts)
