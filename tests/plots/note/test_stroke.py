"""The stroke's panels show the result's courses, its events and the shares of the box pressure."""

import json
from dataclasses import replace

import numpy as np
import pytest
from figure_checks import legend, line, words

from keyaction.models.units.quantity import convert
from keyaction.plots import stroke
from keyaction.plots.style.reading import events, parameter

COURSES = [
    (0, "finger", "finger_travel"),
    (0, "key front", "key_travel"),
    (1, "lift from rest", "pallet_lift"),
    (1, "gap at its eye", "seat_gap"),
    (2, "finger on key", "key_force"),
    (3, "groove", "groove_pressure"),
]


@pytest.mark.parametrize("units", ["trade", "si"])
def test_courses_are_those_of_the_result(played, units):
    panels, time = stroke(played, "C4", units).axes, convert(played["time"], "s", units)[0]
    for panel, label, name in COURSES:
        shown = line(panels[panel], label)
        expected = convert(played[name][0], played.variables[name].unit, units)[0]
        np.testing.assert_allclose(shown, np.transpose([time, expected]), rtol=1e-6, err_msg=name)
    for rod in ("riser", "pull-down"):
        course = played["link_force"][0, list(played["link_part"]).index(rod)]
        expected = convert(course, "N", units)[0]
        np.testing.assert_allclose(line(panels[2], rod), np.transpose([time, expected]), rtol=1e-6, err_msg=rod)


@pytest.mark.parametrize(
    ("units", "expected"),
    [
        ("trade", ["travel (mm)", "pallet (mm)", "force (gf)", "groove (mmH2O)", "time from the press (ms)"]),
        ("si", ["travel (m)", "pallet (m)", "force (N)", "groove (Pa)", "time from the press (s)"]),
    ],
)
def test_every_axis_has_its_unit(played, units, expected):
    panels = stroke(played, "C4", units).axes
    assert [axes.get_ylabel() for axes in panels] + [panels[-1].get_xlabel()] == expected
    assert all(axes.get_xlim() == panels[0].get_xlim() for axes in panels)


def test_rods_come_in_train_order(played):
    assert legend(stroke(played, "C4").axes[2]) == ["finger on key", "riser", "level-tracker", "drop", "pull-down"]


def test_a_rod_in_pieces_shows_both_its_ends(other):
    assert legend(stroke(other, "C4").axes[2]) == [
        "finger on key",
        "sticker-from-the-tail",
        "level-tracker, key's end",
        "level-tracker, pallet's end",
        "drop",
        "pull-down",
    ]


def test_events_agree_with_the_courses_and_are_named(played):
    when, time, box = events(played, 0), played["time"], parameter(played, "box", "p_box", 0)
    assert np.interp(when.start, time, played["key_travel"][0]) == pytest.approx(1e-3, rel=1e-4)
    assert np.interp(when.half, time, played["groove_pressure"][0]) == pytest.approx(0.5 * box, rel=0.02)
    assert np.interp(when.full, time, played["groove_pressure"][0]) == pytest.approx(0.9 * box, rel=0.02)
    assert np.interp(when.silent, time, played["groove_pressure"][0]) == pytest.approx(0.1 * box, rel=0.1)
    strokes = json.loads(played.about["strokes"])
    assert when.lift == pytest.approx(strokes["down"] + strokes["hold"])
    shown = words(stroke(played, "C4"))
    named = {"key at 1 mm": when.start, "groove 50 %": when.half, "groove 90 %": when.full, "finger lifts": when.lift}
    for text, instant in (named | {"groove below 10 %": when.silent}).items():
        assert f"{text} {1e3 * instant:.1f} ms" in shown


def test_the_lift_is_found_without_the_cases_strokes(played):
    bare = replace(played, about={name: text for name, text in played.about.items() if name != "strokes"})
    assert events(bare, 0).lift == pytest.approx(events(played, 0).lift, abs=2e-4)


def test_shares_of_the_box_pressure_are_ruled(played):
    axes = stroke(played, "C4", "si").axes[3]
    box = parameter(played, "box", "p_box", 0)
    levels = [one.get_ydata()[0] for one in axes.get_lines() if len(one.get_ydata()) == 2]
    for share in (0.1, 0.5, 0.9):
        assert any(level == pytest.approx(share * box) for level in levels)
    assert {"10 % of the box", "50 % of the box", "90 % of the box"} <= set(words(axes.figure))


def test_a_note_that_never_speaks_says_so(silent):
    shown = words(stroke(silent, "C4"))
    assert "The groove does not reach 50 % of the box pressure." in shown
    assert not any(text.startswith("groove 50 %") for text in shown)
