"""What is measured of a path, by hand."""

import math

import pytest
from drawn_runs import SQUARES, THREE, key, lever, pallet, rods

from keyaction.models.instrument import measure
from keyaction.models.instrument.path import Leg, Turn
from keyaction.models.instrument.place import Place
from keyaction.models.instrument.trace import trace

STRAIGHT = Place(60, 0.0, 0.0)


def test_slopes_and_splay_of_rods():
    path = trace(60, Place(60, 0.0, -0.4), SQUARES, THREE, sideways="level")
    assert [measure.slope(leg) for leg in path.legs] == pytest.approx([-math.pi / 2, 0.0, math.pi / 2], abs=1e-12)
    assert [measure.splay(leg) for leg in path.legs] == pytest.approx([0.0, math.atan(0.4 / 1.8), 0.0], abs=1e-12)


def test_angles_between_arms():
    path = trace(60, STRAIGHT, SQUARES, THREE)
    assert [measure.between(turn) for turn in path.turns[1:-1]] == pytest.approx([math.pi / 2] * 2, rel=1e-12)
    assert measure.between(path.turns[-1]) is None
    oblique = (key(), lever("one", (0.5, -0.6), (1e-9, 1e-9)), pallet((1.5, -0.6 - 1.0)))
    path = trace(60, STRAIGHT, oblique, rods("down", "on"))
    rods_turn = math.atan2(1.0, 1.0) - math.atan2(0.6, 0.05)  # of the lines from point to point
    assert measure.between(path.turns[1]) == pytest.approx(abs(rods_turn), rel=1e-6)


def test_true_arms_of_a_splayed_backfall():
    stations = (key(), lever("backfall", (0.65, 1.0), (0.2, 0.1), "backfall"), pallet((0.75, 2.0)))
    path = trace(60, Place(60, 0.0, 0.12), stations, rods("+sticker", "pull-down"), sideways="backfall")
    slant = math.hypot(0.3, 0.12) / 0.3  # one straight bar over 300 mm back and 120 mm across
    assert measure.arms(path.turns[1]) == pytest.approx((0.2 * slant, 0.1 * slant), rel=1e-12)
    assert measure.between(path.turns[1]) == pytest.approx(math.pi, rel=1e-9)
    found = measure.figures({60: path}, "backfall")
    assert found["backfall.in_arm"][60] == measure.arms(path.turns[1])[0]
    assert found["sticker.length"] == pytest.approx({60: 1.0})


def test_figures_by_name_and_note():
    paths = {note: trace(note, Place(note, 0.0, 0.0), SQUARES, THREE) for note in (60, 62)}
    found = measure.figures(paths)
    assert set(found) == {f"{rod}.{what}" for rod in ("riser", "level", "drop") for what in ("length", "splay")} | {
        "lower.turn",
        "upper.turn",
    }
    assert found["level.length"] == pytest.approx({60: 1.8, 62: 1.8})
    assert found["level.splay"] == {60: 0.0, 62: 0.0}


def test_extent_of_the_whole():
    path = trace(60, Place(60, -0.1, 0.3), SQUARES, THREE, sideways="level")
    low, high = measure.extent([path])
    assert low == pytest.approx((-0.1, 0.02, -0.65))  # the key's front; the level rod, below both squares
    assert high == pytest.approx((0.3, 2.55, 0.6))  # the pallet's hinge and its eye


def test_a_rod_towards_the_player_rises_no_less_for_that():
    away, back = Leg("a", "tracker", (0, 0, 0), (0, 2, 1), False), Leg("a", "tracker", (0, 0, 0), (0, -2, 1), False)
    assert measure.rise(away) == measure.rise(back) == pytest.approx(math.atan(0.5))


def test_a_lever_leans_as_far_as_its_worse_arm():
    turn = Turn("b", "backfall", (0.0, 0, 0), (0.0, 0, 0), (0.03, 0.3, 0), (-0.02, -0.3, 0))
    assert measure.lean(turn) == pytest.approx(math.atan(0.1))
    assert measure.lean(Turn("b", "backfall", (0, 0, 0), (0, 0, 0), None, None)) == 0.0
