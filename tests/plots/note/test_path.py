"""The path of a stroke: stations in train order, arrivals as the motion has them."""

import math

import numpy as np
import pytest
from figure_checks import changed, words

from keyaction.cases.action.reader import read_case
from keyaction.plots import stroke_path
from keyaction.plots.note.stations import stations
from keyaction.plots.style.reading import events, parameter
from keyaction.sim.run.run import run


def _first(time, course, level):
    """First passage of a rising course, sample by sample."""
    for i in range(1, len(time)):
        if course[i - 1] < level <= course[i]:
            return time[i - 1] + (level - course[i - 1]) / (course[i] - course[i - 1]) * (time[i] - time[i - 1])
    return math.nan


def test_stations_stand_in_train_order_with_what_joins_them(played):
    found = stations(played, 0)
    assert [station.name for station in found] == [
        "finger",
        "key",
        "lower-square",
        "upper-square",
        "roller, key's end",
        "roller, pallet's end",
        "pallet",
        "groove",
    ]
    assert [station.link for station in found] == [
        "",
        "finger's pad",
        "riser",
        "level-tracker",
        "drop",
        "twist",
        "pull-down",
        "pallet's gap",
    ]


def test_a_rod_in_pieces_is_two_stations_in_its_place(other):
    found = stations(other, 0)
    names = [station.name for station in found]
    assert names[2:6] == [
        "long-backfall-under-the-floor",
        "level-tracker, mass 1 of 3",
        "level-tracker, mass 3 of 3",
        "upper-square",
    ]
    assert found[2].link == "sticker-from-the-tail"
    arrivals = [station.down for station in found]
    assert arrivals == sorted(arrivals)


def test_a_rod_that_whips_is_no_station_of_its_own(played):
    whips = run(read_case("demo-wood", set_={"drop.side_motion": True}), "C4")
    assert "drop-side" in list(whips["body"])
    straight, found = (stations(one, 0) for one in (played, whips))
    assert [(one.name, one.link) for one in found] == [(one.name, one.link) for one in straight]


def test_press_arrives_where_each_body_has_moved_by_1_mm_at_the_key(played):
    found = {station.name: station for station in stations(played, 1)}
    time = played["time"]
    ratios = dict(zip(played["body"], played["body_ratio"][1], strict=True))
    for body, name in (("key", "key"), ("upper-square", "upper-square"), ("roller-out", "roller, pallet's end")):
        moved = played["motion"][1, list(played["body"]).index(body)] / ratios[body]
        assert found[name].down == pytest.approx(_first(time, moved, 1e-3), abs=1e-6)
    assert found["finger"].down == pytest.approx(_first(time, played["finger_travel"][1], 1e-3), abs=1e-6)


def test_lags_from_key_to_groove_add_up_to_the_opening_time(played):
    found = {station.name: station for station in stations(played, 0)}
    assert found["groove"].down - found["key"].down == pytest.approx(played.value("opening_time", "C4"), abs=1e-4)


def test_release_arrives_after_the_lift_and_in_the_groove_before_it_falls_silent(played):
    lift, found = events(played, 0).lift, stations(played, 0)
    arrivals = [station.up for station in found]
    assert all(arrival > lift for arrival in arrivals)
    assert arrivals[0] < arrivals[1] <= arrivals[-2] < arrivals[-1]
    half = np.interp(arrivals[-1], played["time"], played["groove_pressure"][0])
    assert half == pytest.approx(0.5 * parameter(played, "box", "p_box", 0), rel=0.02)
    assert arrivals[-1] < lift + played.value("release_delay", "C4")


@pytest.mark.parametrize(("units", "factor", "unit"), [("trade", 1e3, "ms"), ("si", 1.0, "s")])
def test_the_line_joins_the_arrivals(played, units, factor, unit):
    figure = stroke_path(played, "C4", units)
    panels = [axes for axes in figure.axes if axes.get_xlabel()]
    assert [axes.get_xlabel() for axes in panels] == [
        f"time from the press ({unit})",
        f"time from the finger's lift ({unit})",
    ]
    found, lift = stations(played, 0), events(played, 0).lift
    for axes, arrivals, zero in zip(panels, ([s.down for s in found], [s.up for s in found]), (0.0, lift), strict=True):
        joined = next(one for one in axes.get_lines() if one.get_label() == "_path").get_xydata()
        np.testing.assert_allclose(joined[:, 0], factor * (np.array(arrivals) - zero))
        assert np.all(np.diff(joined[:, 1]) < 0)


def test_each_stations_motion_is_drawn_to_one_scale(played):
    axes = next(a for a in stroke_path(played, "C4").axes if a.get_xlabel())
    found = stations(played, 0)
    heights = []
    for i, station in enumerate(found[:-1]):
        shown = next(one for one in axes.get_lines() if one.get_label() == f"_{station.name}").get_ydata()
        moved = station.way[: len(shown)]
        top = int(np.argmax(moved))
        heights.append((shown[top] + i) / moved[top])
    assert heights == pytest.approx([heights[0]] * len(heights))


def test_lags_and_arrivals_are_written(played):
    found, shown = stations(played, 0), words(stroke_path(played, "C4"))
    assert f"{1e3 * found[1].down:.1f}" in shown
    assert f"{1e3 * (found[3].down - found[2].down):+.1f}" in shown
    assert f"90 % at {1e3 * events(played, 0).full:.1f}" in shown


def test_where_nothing_arrives_there_is_no_marker(silent):
    found = stations(silent, 0)
    assert math.isnan(found[-1].down)
    assert math.isnan(found[-2].up)
    assert math.isfinite(found[1].down)
    shown = words(stroke_path(silent, "C4"))
    assert "Down: opening time n/a, speech delay n/a" in shown


def test_a_note_without_speed_ratios_is_a_page_that_says_so(played):
    ratios = played["body_ratio"].copy()
    ratios[0] = np.nan
    shown = " ".join(words(stroke_path(changed(played, body_ratio=ratios), "C4")))
    assert "no speed ratios" in shown
