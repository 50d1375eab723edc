"""The feel curve shows the result's curves and names what a practitioner reads off."""

from dataclasses import replace

import numpy as np
import pytest
from figure_checks import legend, line, words

from keyaction.models.units.quantity import convert, format_value
from keyaction.plots import feel_curve
from keyaction.plots.style.gauge import RESPONSE, averaged, gauged


@pytest.mark.parametrize(("units", "travel", "force"), [("trade", "mm", "gf"), ("si", "m", "N")])
def test_the_slow_press_stands_alone_in_the_readers_units(played, units, travel, force):
    figure = feel_curve(played, "C#4", units)
    axes = figure.axes[0]
    assert axes.get_xlabel() == f"key travel ({travel})"
    assert axes.get_ylabel() == f"key force ({force})"
    assert not any("press at" in str(one.get_label()) for one in axes.get_lines())
    raw = [one.get_xydata() for one in axes.get_lines() if one.get_label() == "_raw"]
    for side, label, every in zip(("down", "up"), legend(axes), raw, strict=False):
        assert label.startswith(f"slow, {side} (")
        way, pushed = (played[f"feel_{side}_{what}"][1].astype(float) for what in ("travel", "force"))
        np.testing.assert_allclose(every, np.transpose([convert(way, "m", units)[0], convert(pushed, "N", units)[0]]))
        shown = line(axes, label)
        np.testing.assert_allclose(shown[:, 0], convert(way, "m", units)[0])
        np.testing.assert_allclose(shown[:, 1], convert(gauged(played, way, pushed), "N", units)[0])


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


def test_a_gauge_follows_the_press_and_not_its_ringing():
    """An average over one period takes a sine out whole, leaves a ramp as it is and lowers a top by c span^2 / 12."""
    time = np.linspace(0, 1, 100_001)
    ramp = 3 * time
    found = averaged(time, ramp + 0.5 * np.sin(2 * np.pi * time / RESPONSE))
    inner = (time > RESPONSE) & (time < 1 - RESPONSE)
    np.testing.assert_allclose(found[inner], ramp[inner], atol=1e-6)
    top = averaged(time, 1 - 40 * (time - 0.5) ** 2)
    assert top[50_000] == pytest.approx(1 - 40 * RESPONSE**2 / 12, abs=1e-9)


def test_the_gauge_is_stated_and_shows_less_ringing(played):
    figure = feel_curve(played, "C4")
    assert any("a gauge that averages over 10 ms shows it" in text for text in words(figure))
    way, force = (played[f"feel_down_{what}"][0].astype(float) for what in ("travel", "force"))
    first = (way > 1e-4) & (way < 4.5e-4)
    assert np.std(gauged(played, way, force)[first]) < 0.6 * np.std(force[first])
    slow = way < 5e-3
    assert np.max(gauged(played, way, force)[slow]) == pytest.approx(np.max(force[slow]), rel=0.01)


def test_a_press_of_unknown_speed_is_drawn_as_it_is(played):
    bare = replace(played, about={name: text for name, text in played.about.items() if name != "strokes"})
    way, force = (played[f"feel_down_{what}"][0] for what in ("travel", "force"))
    np.testing.assert_array_equal(gauged(bare, way, force), force)
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
