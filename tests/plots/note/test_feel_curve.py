"""The feel curve shows the result's curves and names what a practitioner reads off."""

import numpy as np
import pytest
from figure_checks import legend, line, words

from keyaction.models.units.quantity import convert, format_value
from keyaction.plots import feel_curve


@pytest.mark.parametrize(("units", "travel", "force"), [("trade", "mm", "gf"), ("si", "m", "N")])
def test_curves_are_those_of_the_result_in_the_readers_units(played, units, travel, force):
    axes = feel_curve(played, "C#4", units).axes[0]
    assert axes.get_xlabel() == f"key travel ({travel})"
    assert axes.get_ylabel() == f"key force ({force})"
    names = {"down": legend(axes)[0], "up": legend(axes)[1]}
    for side, label in names.items():
        assert label.startswith(f"slow, {side} (")
        expected = [
            convert(played[f"feel_{side}_{what}"][1], unit, units)[0]
            for what, unit in (("travel", "m"), ("force", "N"))
        ]
        np.testing.assert_allclose(line(axes, label), np.transpose(expected), rtol=1e-6)
    for i, speed in enumerate(played["speed"]):
        shown = line(axes, f"press at {format_value(float(speed), 'm/s', units)}")
        np.testing.assert_allclose(shown[:, 1], convert(played["feel_speed_force"][1, i], "N", units)[0], rtol=1e-6)


def test_every_curve_is_in_the_legend_and_differs_without_colour(played):
    axes = feel_curve(played, "C4").axes[0]
    assert len(legend(axes)) == 3 + len(played["speed"])
    assert any(format_value(played.value("loop_work", "C4"), "J") in entry for entry in legend(axes))
    named = [one for one in axes.get_lines() if one.get_label() in legend(axes)]
    looks = {(str(one.get_linestyle()), str(one._unscaled_dash_pattern), one.get_linewidth()) for one in named}
    assert len(looks) == len(named) == 2 + len(played["speed"])


def test_marks_carry_their_values(played):
    shown = words(feel_curve(played, "C4"))
    for name, label in (
        ("pluck_point", "pluck point"),
        ("pluck_force", "pluck force"),
        ("follow_through_force", "follow-through"),
        ("lost_motion", "lost motion"),
        ("key_dip", "key dip"),
    ):
        assert f"{label} {format_value(played.value(name, 'C4'), played.variables[name].unit)}" in shown
    assert "bottom felt 9.5 mm" in shown


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
