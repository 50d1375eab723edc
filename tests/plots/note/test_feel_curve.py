"""The feel curve shows the result's curves and names what a practitioner reads off."""

from dataclasses import replace

import numpy as np
import pytest
from figure_checks import legend, line, words

from keyaction.models.units.quantity import convert, format_value
from keyaction.plots import feel_curve


@pytest.mark.parametrize(("units", "travel", "force"), [("trade", "mm", "gf"), ("si", "m", "N")])
def test_the_slow_press_stands_alone_in_the_readers_units(played, units, travel, force):
    figure = feel_curve(played, "C#4", units)
    axes = figure.axes[0]
    assert axes.get_xlabel() == f"key travel ({travel})"
    assert axes.get_ylabel() == f"key force ({force})"
    assert not any("press at" in str(one.get_label()) for one in axes.get_lines())
    for side in ("down", "up"):
        way, pushed = (played[f"feel_{side}_{what}"][1].astype(float) for what in ("travel", "force"))
        shown = line(axes, f"slow, {side}")
        np.testing.assert_allclose(shown, np.transpose([convert(way, "m", units)[0], convert(pushed, "N", units)[0]]))


@pytest.mark.parametrize("units", ["trade", "si"])
def test_every_speed_has_a_panel_of_its_own_below(played, units):
    top, *below = feel_curve(played, "C4", units).axes
    assert len(below) == len(played["speed"])
    for i, (axes, speed) in enumerate(zip(below, played["speed"], strict=True)):
        shown = line(axes, f"press at {format_value(float(speed), 'm/s', units)}")
        np.testing.assert_allclose(shown[:, 1], convert(played["feel_speed_force"][0, i], "N", units)[0], rtol=1e-6)
        assert axes.get_position().y1 < top.get_position().y0
        assert axes.get_position().height < 0.6 * top.get_position().height
        assert (axes.get_xlim(), axes.get_ylim()) == (below[0].get_xlim(), below[0].get_ylim())


def test_the_slow_press_does_not_ring(played):
    """Before the pluck the force never falls, and never bends by more than what takes it up explains."""
    way, force = (played[f"feel_down_{what}"][0].astype(float) for what in ("travel", "force"))
    before = way < played.value("pluck_point", played.notes[0]) - 1e-5
    assert np.all(np.diff(force[before]) > -1e-6)


def test_a_result_without_its_strokes_is_drawn(played):
    bare = replace(played, about={name: text for name, text in played.about.items() if name != "strokes"})
    assert "dip under load" in " ".join(words(feel_curve(bare, "C4")))


def test_the_slow_curves_come_first_in_the_legend_whatever_they_are_called(played):
    axes = feel_curve(played, "C4").axes[0]
    assert [text.split(" (")[0].split(":")[0] for text in legend(axes)] == [
        "slow, down",
        "slow, up",
        "work lost in a slow stroke",
    ]
    assert any(format_value(played.value("loop_work", "C4"), "J") in entry for entry in legend(axes))


def test_curves_differ_without_colour(played):
    drawn = [one for axes in feel_curve(played, "C4").axes for one in axes.get_lines()]
    named = [one for one in drawn if str(one.get_label()).startswith(("slow", "press"))]
    looks = {(str(one._unscaled_dash_pattern), one.get_linewidth()) for one in named}
    assert len(looks) == len(named) == 2 + len(played["speed"])


def test_marks_carry_their_values(played):
    shown = words(feel_curve(played, "C4"))
    for name, label in (
        ("pluck_point", "pluck point"),
        ("pluck_force", "pluck force"),
        ("follow_through_force", "follow-through"),
        ("lost_motion", "lost motion"),
        ("key_dip", "dip at 5 N"),
    ):
        assert f"{label} {format_value(played.value(name, 'C4'), played.variables[name].unit)}" in shown
    assert "dip as written 9.5 mm" in shown


def test_the_pluck_is_marked_where_it_is(played):
    axes = feel_curve(played, "C4").axes[0]
    dots = [one.get_xydata()[0] for one in axes.get_lines() if one.get_marker() == "o"]
    point, force = (
        convert(played.value("pluck_point", "C4"), "m")[0],
        convert(played.value("pluck_force", "C4"), "N")[0],
    )
    assert dots == [pytest.approx([point, force])]


def test_the_frame_holds_the_pluck_and_the_way_to_the_bottom(played):
    axes = feel_curve(played, "C4").axes[0]
    assert axes.get_ylim()[1] > convert(played.value("pluck_force", "C4"), "N")[0]
    assert axes.get_xlim()[1] > convert(played.value("key_dip", "C4"), "m")[0]


def test_a_note_that_never_plucks_says_so(silent):
    figure = feel_curve(silent, "C4")
    assert any("never leaves its seat" in text for text in words(figure))
    assert not any(text.startswith("pluck") for text in words(figure))
    assert all(one.get_marker() != "o" for one in figure.axes[0].get_lines())
