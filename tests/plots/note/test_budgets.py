"""Budgets: shares of the whole in train order, for one note and over the compass."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from figure_checks import changed, legend, words

from keyaction.models.units.quantity import convert, format_value
from keyaction.plots import budgets, budgets_compass
from keyaction.plots.note.budget import shares
from keyaction.plots.style.shares import part_fills, share_fill

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
    fills = part_fills(played)
    parts = [str(name) for name in played["part"]]
    assert len({(fills[part].color, fills[part].hatch) for part in parts}) == len(parts)
    for one, other in pairwise(parts):
        assert fills[one].color != fills[other].color
    shares = [share_fill(played, str(name), fills) for name in played["give"]]
    assert len(set(shares)) == len(shares)
    assert share_fill(played, "drop", fills) == fills["drop"]


def test_looks_follow_kind_and_place_in_the_case_and_not_what_a_result_holds(played):
    """A result of fewer parts, as of a note whose train is shorter, or of parts in another order."""
    whole = part_fills(played)
    kept = [name != "riser" for name in played["part"]]
    fewer = changed(played, part=played["part"][kept][::-1])
    assert {name: part_fills(fewer)[name] for name in fewer["part"]} == {name: whole[name] for name in fewer["part"]}


def test_looks_follow_the_kind_across_cases(played, other):
    one, two = part_fills(played), part_fills(other)
    for part in ("key", "roller", "pull-down", "pallet"):
        assert one[part] == two[part]
    assert two["upper-square"] == one["lower-square"]  # the first square of each: the other has a backfall before it


def test_parts_of_no_known_case_still_differ(played):
    bare = replace(played, about={**played.about, "case_text": "no case ["})
    fills = part_fills(bare)
    assert len({(look.color, look.hatch) for look in fills.values()}) == len(fills)


@pytest.mark.parametrize(("panel", "axis"), [(0, "part"), (1, "give")])
def test_over_the_compass_every_share_looks_as_at_one_note_and_has_a_key(played, panel, axis):
    note = budgets(played, "C4").axes[panel]
    over = next(a for a in budgets_compass(played).axes if a.get_ylabel().startswith(CASES[panel][3].replace("_", " ")))
    key = dict(zip(legend(over), over.get_legend().legend_handles, strict=True))
    for name, bar in zip(played[axis], note.patches, strict=True):
        drawn = next(bars for bars in over.containers if bars.get_label() == name)
        for patch in (key[name], drawn[0]):
            assert (patch.get_facecolor(), patch.get_hatch()) == (bar.get_facecolor(), bar.get_hatch()), name
