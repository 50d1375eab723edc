"""Runs that meet themselves in the side view, and ordinary ones that do not."""

import pytest
from drawn_runs import SQUARES, THREE, key, lever, pallet, rods

from keyaction.models.instrument.meeting import meeting_defects, meetings
from keyaction.models.instrument.place import Place
from keyaction.models.instrument.trace import trace
from keyaction.models.notes import note_name

STRAIGHT = Place(60, 0.0, 0.0)


def test_ordinary_runs_do_not_meet_themselves():
    for stations, rod in (
        (SQUARES, THREE),
        ((key(kind="key-hung"), pallet((0.45, 1.0))), rods("pull-down")),
        ((key(), lever("bf", (0.65, 1.0), (0.2, 0.2)), pallet((0.85, 4.0))), rods("+sticker", "pull-down")),
        ((key(kind="key-hung"), lever("roller", (0.40, 0.5)), pallet((0.45, 1.5))), rods("low", "high")),
        ((key(kind="key-hung"), lever("beam", (0.65, 1.0), (0.2, 0.2)), pallet((0.85, 0.2))), rods("up", "down")),
    ):
        assert meetings(trace(60, STRAIGHT, stations, rod)) == ()


def test_a_rod_that_crosses_another_is_told_with_place_and_notes():
    # Down, back, up, and forward again across the riser; the pallet stands before it.
    stations = (
        key(),
        lever("one", (0.5, -0.6)),
        lever("two", (1.0, -0.6)),
        lever("three", (1.0, -0.3)),
        pallet((0.1, -0.25)),
    )
    paths = {note: trace(note, Place(note, 0.0, 0.0), stations, rods("a", "b", "c", "d")) for note in (60, 61)}
    (met,) = meetings(paths[60])
    assert (met.one, met.other) == ("a", "d")
    assert met.at == pytest.approx((0.45, -0.25))
    assert meeting_defects(paths, note_name) == [
        "the run meets itself: a and d meet in the side view, of C4 at back 450 mm, up -250 mm (notes: C4, C#4)"
    ]
    assert meeting_defects({}, note_name) == []


def pairs(stations, words):
    return {(one.one, one.other) for one in meetings(trace(60, STRAIGHT, stations, rods(*words)))}


def test_a_rod_through_another_lever_s_arm_or_the_key_s_stick_is_told():
    # The riser goes down through a long backfall that lies behind the key, and the last rod up through the key.
    squares = lever("one", (0.5, -0.9)), lever("two", (1.5, -0.9))
    stations = (key(), *squares, lever("long", (1.5, -0.3), (0.05, 1.2), "backfall"), pallet((0.3, 0.5)))
    assert pairs(stations, ("a", "b", "c", "d")) == {("a", "long"), ("d", "key")}
    ahead = (key(), *squares, lever("long", (1.5, -0.3), (0.05, 0.9), "backfall"), pallet((0.6, 0.5)))
    assert pairs(ahead, ("a", "b", "c", "d")) == set()


def test_a_rod_that_comes_down_at_the_pallet_is_told():
    # It folds back over a beam; hinged further back, the pallet lies across the rod that goes up behind it.
    stations = (key(kind="key-hung"), lever("beam", (0.40, 1.0)), pallet((0.35, 0.3)))
    assert pairs(stations, ("a", "b")) == {("a", "pallet")}
    assert pairs((*stations[:2], pallet((0.35, 0.3), side="right")), ("a", "b")) == set()


def test_the_wrong_side_of_a_corner_meets_itself():
    for side, met in (("left", {("a", "b"), ("a", "one"), ("b", "one")}), ("right", set()), ("", set())):
        stations = (key(kind="key-hung"), lever("one", (0.5, 1.0), side=side), pallet((1.5, 1.05)))
        assert pairs(stations, ("a", "b")) <= met
        assert bool(pairs(stations, ("a", "b"))) == bool(met)


def test_a_rod_back_upon_itself_meets_itself():
    # One arm is drawn down by the rod below and pushes another down: both hook on in one place and lie on each other.
    stations = (key(kind="key-hung"), lever("one", (0.40, 1.0), side="left"), pallet((0.45, 0.3)))
    assert pairs(stations, ("a", "+b")) == {("a", "b"), ("a", "pallet")}
