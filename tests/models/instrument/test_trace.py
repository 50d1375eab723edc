"""The path of a note by hand: lengths, ends of arms, sides, places across, and what cannot be."""

import math

import pytest
from drawn_runs import SQUARES, THREE, key, lever, pallet, rods

from keyaction.models.instrument.place import Place
from keyaction.models.instrument.problem import LayoutProblem
from keyaction.models.instrument.trace import trace

STRAIGHT = Place(60, 0.1, 0.1)
UP = (0.45, 1.0)
"""Straight above the key's eye."""


def lengths(path):
    return {leg.part: leg.length for leg in path.legs}


def near(*numbers):
    return pytest.approx(numbers, abs=1e-12)


def ends(path, name):
    """Both arms of a lever as they stand out from its axis, (back, up)."""
    one = next(turn for turn in path.turns if turn.part == name)
    return [(end[1] - axis[1], end[2] - axis[2]) for end, axis in ((one.in_end, one.near), (one.out_end, one.far))]


def test_two_squares_by_hand():
    path = trace(60, STRAIGHT, SQUARES, THREE)
    assert lengths(path) == pytest.approx({"riser": 0.6, "level": 1.8, "drop": 1.2}, rel=1e-14)
    # Key up: the lower square's front arm goes up, its lower arm to the front; the upper one's lower arm to the front,
    # its rear arm down.
    assert ends(path, "lower") == [near(-0.05, 0), near(0, -0.05)]
    assert ends(path, "upper") == [near(0, -0.05), near(0.05, 0)]
    assert [leg.start for leg in path.legs] == [near(0.1, 0.45, 0), near(0.1, 0.5, -0.65), near(0.1, 2.35, -0.6)]
    assert path.turns[0].in_end == near(0.1, 0.25 - 0.23, 0)
    assert path.turns[-1].in_end == near(0.1, 2.35, 0.6)
    assert path.turns[-1].near == near(0.1, 2.55, 0.6)  # hinged further back, level under an upright rod
    assert path.turns[-1].out_end is None


def test_unequal_arms_move_the_lines_of_the_rods():
    stations = (key(), lever("lower", (0.53, -0.6), (0.08, 0.04)), SQUARES[2], SQUARES[3])
    path = trace(60, STRAIGHT, stations, THREE)
    # The level rod leads from 40 mm below one axis to 50 mm below the other, 1770 mm on.
    assert lengths(path)["level"] == pytest.approx(math.sqrt(1.77**2 - 0.01**2), rel=1e-14)
    assert ends(path, "lower")[0] == near(-0.08, 0)


def test_a_sticker_and_a_backfall():
    stations = (key(), lever("backfall", (0.65, 1.0), (0.2, 0.15), "backfall"), pallet((0.8, 2.0)))
    path = trace(60, STRAIGHT, stations, rods("+sticker", "pull-down"))
    assert lengths(path) == pytest.approx({"sticker": 1.0, "pull-down": 1.0}, rel=1e-14)
    assert ends(path, "backfall") == [near(-0.2, 0), near(0.15, 0)]


def test_a_high_pallet_does_not_turn_a_backfall_round():
    # Axes lie in a bend to the other side; the rods are straight all the same.
    stations = (key(), lever("backfall", (0.65, 1.0), (0.2, 0.2), "backfall"), pallet((0.85, 4.0)))
    path = trace(60, STRAIGHT, stations, rods("+sticker", "pull-down"))
    assert lengths(path) == pytest.approx({"sticker": 1.0, "pull-down": 3.0}, rel=1e-14)


def test_a_hung_key_straight_up():
    path = trace(60, STRAIGHT, (key(kind="key-hung"), pallet(UP)), rods("pull-down"))
    assert lengths(path) == {"pull-down": 1.0}
    assert path.turns[0].near == near(0.1, 0.65, 0)
    assert path.turns[0].in_end == near(0.1, 0.42, 0)


@pytest.mark.parametrize(("axis", "arm"), [((0.40, 0.5), 0.05), ((0.50, 0.5), -0.05)])
def test_a_roller_beside_a_straight_run_leaves_it_straight(axis, arm):
    stations = (key(kind="key-hung"), lever("roller", axis, kind="roller"), pallet((0.45, 1.5)))
    path = trace(60, Place(60, -0.1, 0.3), stations, rods("low", "high"))
    assert lengths(path) == pytest.approx({"low": 0.5, "high": 1.0}, rel=1e-14)
    assert ends(path, "roller") == [near(arm, 0), near(arm, 0)]
    roller = path.turns[1]
    assert (roller.near, roller.far) == ((-0.1, *axis), (0.3, *axis))
    assert [leg.start[0] for leg in path.legs] == [-0.1, 0.3]
    assert [leg.end[0] for leg in path.legs] == [-0.1, 0.3]


def test_a_row_of_the_board_moves_the_roller_alone():
    stations = (key(kind="key-hung"), lever("roller", (0.40, 0.5), kind="roller"), pallet((0.45, 1.5)))
    path = trace(60, Place(60, -0.1, 0.3), stations, rods("low", "high"), offset=(0.0, 0.075))
    assert lengths(path) == pytest.approx({"low": 0.575, "high": 0.925}, rel=1e-14)


@pytest.mark.parametrize("side", ["left", "right"])
def test_a_given_side_holds(side):
    stations = (key(kind="key-hung"), lever("roller", (0.45, 0.5), side=side), pallet((0.45, 1.5)))
    path = trace(60, STRAIGHT, stations, rods("low", "high"))
    # Both rods touch a circle of 50 mm on the axis' own line: right triangles.
    assert lengths(path) == pytest.approx({"low": math.sqrt(0.25 - 0.0025), "high": math.sqrt(1 - 0.0025)}, rel=1e-14)
    beside = ends(path, "roller")[0][0]
    assert (beside > 0) == (side == "left")
    open_one = trace(60, STRAIGHT, (stations[0], lever("roller", (0.45, 0.5)), stations[2]), rods("low", "high"))
    assert ends(open_one, "roller")[0][0] > 0  # of equals, the axis stands to the left


def test_a_run_that_turns_back_and_up_again():
    # Up, into the case, up: each axis stands inside its corner, and the level rod passes from above one to below the
    # other, an inner tangent.
    stations = (
        key(kind="key-hung"),
        lever("one", (0.5, 1.0)),
        lever("two", (1.5, 1.1)),
        pallet((1.55, 2.1)),
    )
    path = trace(60, STRAIGHT, stations, rods("a", "b", "c"))
    assert lengths(path) == pytest.approx({"a": 1.0, "b": 1.0, "c": 1.0}, abs=2e-4)
    assert lengths(path)["b"] == pytest.approx(math.sqrt(1.0**2 + 0.1**2 - 0.1**2), rel=1e-14)
    assert ends(path, "one")[1] == near(0, 0.05)
    assert ends(path, "two")[0] == near(0, -0.05)


def test_a_run_that_folds_back():
    stations = (key(kind="key-hung"), lever("beam", (0.65, 1.0), (0.2, 0.2)), pallet((0.85, 0.2)))
    path = trace(60, STRAIGHT, stations, rods("up", "down"))
    assert lengths(path) == pytest.approx({"up": 1.0, "down": 0.8}, rel=1e-14)
    assert ends(path, "beam") == [near(-0.2, 0), near(0.2, 0)]


def test_a_splayed_rod_goes_slantwise():
    path = trace(60, Place(60, -0.1, 0.3), SQUARES, THREE, sideways="level")
    assert lengths(path) == pytest.approx({"riser": 0.6, "level": math.hypot(1.8, 0.4), "drop": 1.2}, rel=1e-14)
    assert [(leg.start[0], leg.end[0]) for leg in path.legs] == [(-0.1, -0.1), (-0.1, 0.3), (0.3, 0.3)]
    assert [turn.near[0] for turn in path.turns] == [-0.1, -0.1, 0.3, 0.3]


def test_a_splayed_backfall_s_axis_divides_the_way_as_its_arms_do():
    stations = (key(), lever("backfall", (0.65, 1.0), (0.2, 0.1), "backfall"), pallet((0.75, 2.0)))
    path = trace(60, Place(60, 0.0, 0.12), stations, rods("+sticker", "pull-down"), sideways="backfall")
    backfall = path.turns[1]
    assert backfall.near == backfall.far == near(0.08, 0.65, 1.0)
    assert backfall.in_end == near(0.0, 0.45, 1.0)
    assert backfall.out_end == near(0.12, 0.75, 1.0)
    assert lengths(path) == pytest.approx({"sticker": 1.0, "pull-down": 1.0}, rel=1e-14)


def test_axes_nearer_than_their_arms_are_refused_with_the_least_distance():
    near_ones = lever("one", (0.5, -0.6), side="left"), lever("two", (0.56, -0.53), (0.07, 0.05), side="right")
    stations = (key(), *near_ones, SQUARES[3])
    with pytest.raises(LayoutProblem) as told:
        trace(60, STRAIGHT, stations, THREE)
    assert told.value.defects == (
        "C4: level: one and two stand 92.2 mm apart; with arms of 50 mm and 70 mm that turn in opposite senses "
        "it needs more than 120 mm",
    )


def test_every_defect_is_told_at_once():
    stations = (key(), lever("one", (0.46, -0.03)), lever("two", (2.3, -0.6)), pallet((2.31, -0.61)))
    with pytest.raises(LayoutProblem) as told:
        trace(60, STRAIGHT, stations, THREE, names=lambda note: f"note {note}")
    assert told.value.defects == (
        "note 60: riser: key and one stand 31.6 mm apart; with an arm of 50 mm it needs more than 50 mm",
        "note 60: drop: two and pallet stand 14.1 mm apart; with an arm of 50 mm it needs more than 50 mm",
    )


def test_a_rod_that_would_have_to_push_is_refused():
    with pytest.raises(
        LayoutProblem, match="goes up when it is played; to pull, the rod must lead down, but its end at"
    ):
        trace(60, STRAIGHT, (key(), pallet(UP)), rods("rod"))
    with pytest.raises(
        LayoutProblem, match="to push, the rod must lead down, but its end at pallet stands 1000 mm above it"
    ):
        trace(60, STRAIGHT, (key(kind="key-hung"), pallet(UP)), rods("+rod"))
    trace(60, STRAIGHT, (key(), pallet(UP)), rods("+rod"))
    with pytest.raises(LayoutProblem, match="and the rod leads 63° away from that; allowed: up to 60°"):
        trace(60, STRAIGHT, (key(), pallet((2.45, 1.0))), rods("+rod"))


def test_what_is_missing_is_told():
    stations = (key(), lever("one", None, (0.05, None)), lever("two", (1.0, 0.0), (0.0, 0.05)), SQUARES[3])
    with pytest.raises(LayoutProblem) as told:
        trace(60, Place(60, 0.0, 0.2), stations, THREE, names=str)
    assert told.value.defects == (
        "60: one: its axis has no place",
        "60: one: no path without its out_arm",
        "60: two: no path without its in_arm",
        "60: its pallet stands 200 mm to the right of its key, and neither roller nor fan leads there",
    )
    with pytest.raises(LayoutProblem, match="slant: no rod, lever or roller of the run, which is lower, upper, riser"):
        trace(60, STRAIGHT, SQUARES, THREE, sideways="slant")


def test_a_run_goes_from_a_key_to_a_pallet():
    for wrong in ((SQUARES[1:], THREE[1:]), (SQUARES[:-1], THREE[1:]), (SQUARES, THREE[1:])):
        with pytest.raises(ValueError, match="from a key to a pallet"):
            trace(60, STRAIGHT, *wrong)
