"""What the finger does: without gaps or kinks where there should be none, marked, and sound values only."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from keyaction.models.algebra.names import Name
from keyaction.sim.code.layout import DRIVE
from keyaction.sim.motion import drives
from keyaction.sim.motion.changes import Change
from keyaction.sim.motion.drives import Drive, Piece

seconds = st.floats(1e-3, 2.0)
metres = st.floats(1e-4, 0.05)


def derivative(coefficients, order=1):
    for _ in range(order):
        coefficients = [i * c for i, c in enumerate(coefficients)][1:] or [0.0]
    return coefficients


def at(coefficients, x):
    return sum(c * x**i for i, c in enumerate(coefficients))


def kinematics(piece, t):
    """Way, speed and acceleration of a piece at a time."""
    return [at(derivative(piece.way, order), t - piece.start) for order in range(3)]


def without_gaps(drive):
    """Each piece begins where the last one ended, but for the rounding of the times themselves."""
    assert drive.pieces[0].start == 0.0
    assert all(abs(one.end - other.start) <= 4 * np.spacing(one.end) for one, other in pairwise(drive.pieces))
    assert drive.end == drive.pieces[-1].end
    return True


# -- the quintic -----------------------------------------------------------------------------------------
@given(st.floats(0.0, 3.0), seconds, st.floats(-0.05, 0.05), st.floats(-0.05, 0.05))
def test_a_quintic_goes_from_rest_to_rest(start, duration, way_from, way_to):
    piece = drives.quintic(start, start + duration, way_from, way_to)
    scale = abs(way_to - way_from) + 1e-6
    T = piece.end - piece.start
    for t, way in ((piece.start, way_from), (piece.end, way_to)):
        found = kinematics(piece, t)
        assert found[0] == pytest.approx(way, abs=1e-9 * scale + 1e-12)
        assert found[1] == pytest.approx(0.0, abs=1e-6 * scale / T)
        assert found[2] == pytest.approx(0.0, abs=1e-6 * scale / T**2)


def test_a_quintic_is_least_jerk_motion():
    piece = drives.quintic(0.0, 0.04, 0.0, 0.01)
    u = np.linspace(0.0, 1.0, 101)
    ways = [piece.way_at(0.04 * x) for x in u]
    assert ways == pytest.approx(0.01 * (10 * u**3 - 15 * u**4 + 6 * u**5), abs=1e-15)
    # Half-way in the middle, at 15/8 of the mean speed; its sixth derivative vanishes, which makes it least jerk.
    assert piece.way_at(0.02) == pytest.approx(0.005)
    assert kinematics(piece, 0.02)[1] == pytest.approx(15 / 8 * 0.01 / 0.04)
    assert derivative(piece.way, 6) == [0.0]


# -- strokes ---------------------------------------------------------------------------------------------
@given(seconds, seconds, seconds, metres, seconds)
def test_a_stroke_has_no_kink(down, hold, up, depth, rest):
    drive = drives.stroke(down, hold, up, depth, rest)
    assert without_gaps(drive)
    for one, other in pairwise(drive.pieces):
        before, after = kinematics(one, one.end), kinematics(other, other.start)
        short = min(down, up)
        assert before[0] == pytest.approx(after[0], abs=1e-9 * depth)
        assert before[1] == pytest.approx(after[1], abs=1e-6 * depth / short)
        assert before[2] == pytest.approx(after[2], abs=1e-6 * depth / short**2)
    assert drive.mark("press") == 0.0
    assert [drive.mark(name) for name in ("bottom", "lift", "top")] == [piece.end for piece in drive.pieces[:3]]
    assert drive.end == pytest.approx(down + hold + up + rest)
    assert drive.pieces[1].way_at(drive.mark("bottom")) == depth
    assert drive.pieces[3].way_at(drive.end) == 0.0


def test_a_stroke_lasts_as_it_says():
    drive = drives.stroke(0.04, 0.15, 0.03, 0.011)
    assert drive.mark("bottom") == pytest.approx(0.04)
    assert drive.mark("lift") == pytest.approx(0.19)
    assert drive.mark("top") == pytest.approx(0.22)


@given(st.floats(1e-3, 1.0), metres, seconds)
def test_a_press_goes_down_evenly_and_up_again(speed, depth, hold):
    drive = drives.press(speed, depth, 2e4, hold)
    assert without_gaps(drive)
    down, held, up = drive.pieces
    time = depth / speed
    assert down.way_at(0.0) == 0.0
    assert down.way_at(time) == pytest.approx(depth)
    assert kinematics(down, time / 3)[1:] == [speed, 0.0]
    assert held.way == (depth,)
    assert up.way_at(up.start) == depth
    assert up.way_at(up.end) == pytest.approx(0.0, abs=1e-12)
    assert (drive.mark("bottom"), drive.mark("lift")) == pytest.approx((time, time + hold))
    assert drive.stiffness == 2e4
    kept_down = drives.press(speed, depth, 2e4, hold, release=False)
    assert kept_down.pieces == drive.pieces[:2]


@given(st.floats(0.5, 30.0), metres, st.integers(1, 8))
def test_repeated_strokes_keep_their_quarters(rate, depth, count):
    drive = drives.repeated(rate, depth, count)
    assert without_gaps(drive)
    assert len(drive.pieces) == 4 * count
    period = 1 / rate
    for i in range(count):
        down, hold, up, off = drive.pieces[4 * i : 4 * i + 4]
        assert [p.end - p.start for p in (down, hold, up, off)] == pytest.approx(
            [period / 4, period / 8, period / 4, 3 * period / 8], rel=1e-6
        )
        assert down.start == drive.mark(f"press {i}") == pytest.approx(i * period)
        assert up.start == drive.mark(f"lift {i}")
        assert off.end == drive.mark(f"end {i}")
        assert down.way_at(down.end) == pytest.approx(depth)
        assert hold.way == (depth,)
        assert up.way_at(up.end) == pytest.approx(0.0, abs=1e-9 * depth)
        assert off.way == (0.0,)


# -- forces and masses -----------------------------------------------------------------------------------
@given(st.floats(0.1, 20.0), seconds, seconds, seconds)
def test_a_force_rises_holds_and_falls_smoothly(amount, rise, hold, fall):
    drive = drives.force(amount, rise, hold, fall)
    assert without_gaps(drive)
    up, held, down, off = drive.pieces
    assert at(up.force, 0.0) == 0.0
    assert at(up.force, rise) == pytest.approx(amount)
    assert held.force == (amount,)
    assert at(down.force, down.end - down.start) == pytest.approx(0.0, abs=1e-7 * amount)
    assert off.force == (0.0,)
    assert not drive.rider
    assert drive.mark("top") == down.end


def test_a_laid_mass_ends_at_its_weight():
    drive = drives.laid_mass(0.120, laying=0.5, hold=1.0)
    assert drive.rider
    assert drive.mass == 0.120
    laying, lying = drive.pieces
    assert at(laying.force, 0.5) == pytest.approx(0.120 * 9.80665)
    assert lying.force == pytest.approx((0.120 * 9.80665,))
    assert drive.end == 1.5


# -- what the equations are given ------------------------------------------------------------------------
def test_the_vector_is_laid_out_as_the_generated_code_reads_it():
    piece = Piece(0.25, 0.5, way=(1.0, 2.0, 3.0, 4.0, 5.0, 6.0), force=(7.0, 8.0, 9.0))
    drive = Drive("mass", (piece,), stiffness=10.0, damping=11.0, mass=12.0)
    named = dict(zip(DRIVE, drive.vector(piece), strict=True))
    assert named["t_start"] == 0.25
    assert [named[f"x{i}"] for i in range(6)] == [1.0, 2.0, 3.0, 4.0, 5.0, 6.0]
    assert [named[f"f{i}"] for i in range(6)] == [7.0, 8.0, 9.0, 0.0, 0.0, 0.0]
    assert (named["k_finger"], named["alpha_finger"], named["m_rider"]) == (10.0, 11.0, 12.0)


@pytest.mark.parametrize("slot", ["way", "force"])
def test_more_coefficients_than_the_vector_holds_are_refused(slot):
    Piece(0.0, 1.0, **{slot: (1.0,) * 6})
    for count in (0, 7, 8):
        with pytest.raises(ValueError, match=f"{slot} has {count} coefficients; a piece has 1 to 6"):
            Piece(0.0, 1.0, **{slot: (1.0,) * count})
    with pytest.raises(ValueError, match=f"{slot} has a coefficient that is no finite number"):
        Piece(0.0, 1.0, **{slot: (0.0, math.nan)})


@pytest.mark.parametrize(("start", "end"), [(0.1, 0.1), (0.2, 0.1), (0.0, math.nan), (math.nan, 1.0), (0.0, math.inf)])
def test_a_piece_ends_after_it_begins(start, end):
    with pytest.raises(ValueError, match="must end after it begins"):
        Piece(start, end)


def test_a_drive_is_of_a_known_kind_and_whole():
    one, other = Piece(0.0, 0.1), Piece(0.1, 0.2)
    assert Drive("motion", (one, other)).end == 0.2
    with pytest.raises(ValueError, match="kind 'moton' is not known; did you mean 'motion'"):
        Drive("moton", (one,))
    with pytest.raises(ValueError, match="a mass of 0 kg is laid on the key; it must be above 0"):
        Drive("mass", (one,))
    with pytest.raises(ValueError, match="at least one piece"):
        Drive("motion", ())
    with pytest.raises(ValueError, match=r"a gap of 0.05 s between the pieces at 0.1 s"):
        Drive("motion", (one, Piece(0.15, 0.2)))
    with pytest.raises(ValueError, match=r"an overlap of 0.05 s between the pieces at 0.1 s"):
        Drive("motion", (one, Piece(0.05, 0.2)))
    with pytest.raises(ValueError, match="an overlap"):
        Drive("motion", (other, one))


# -- changes from outside --------------------------------------------------------------------------------
WIND, RAIL = Name("box", "p_box"), Name("square", "rail")
ONCE = Change(WIND, 500.0, 0.1, 0.2)


@pytest.mark.parametrize(
    ("after", "start", "end"),
    [
        (500.0, 0.1, 0.1),
        (500.0, 0.2, 0.1),
        (math.nan, 0.1, 0.2),
        (math.inf, 0.1, 0.2),
        (500.0, math.nan, 0.2),
        (500.0, 0.1, math.nan),
        (500.0, 0.1, math.inf),
    ],
)
def test_a_change_takes_some_time_and_has_an_end(after, start, end):
    with pytest.raises(ValueError, match="finite numbers are needed, and it must end after it begins"):
        Change(WIND, after, start, end)


def test_a_change_is_of_a_name():
    with pytest.raises(TypeError, match=r"a change of 'p_box': a Name is needed, such as Name\('box', 'p_box'\)"):
        Change("p_box", 500.0, 0.1, 0.2)


@pytest.mark.parametrize("given", [ONCE, "p_box", None, (WIND,)])
def test_the_changes_of_a_drive_are_a_tuple(given):
    with pytest.raises(TypeError, match=r"a tuple of Change is needed, for a single one \(change,\)"):
        Drive("motion", (Piece(0.0, 1.0),), changes=given)


@pytest.mark.parametrize("other", [Change(WIND, 600.0, 0.15, 0.3), Change(WIND, 700.0, 0.5, 0.6), ONCE])
def test_a_drive_changes_an_input_once(other):
    pieces = (Piece(0.0, 1.0),)
    assert Drive("motion", pieces, changes=(ONCE, Change(RAIL, 1e-3, 0.1, 0.2))).changes[0] is ONCE
    with pytest.raises(ValueError, match="'p_box' of box has 2 changes; a drive changes an input once"):
        Drive("motion", pieces, changes=(ONCE, other))


def test_the_rounding_of_times_is_no_gap():
    assert Drive("motion", (Piece(0.0, 0.1 + 0.2), Piece(0.3, 0.4))).end == 0.4


def test_a_press_that_ends_before_it_has_its_speed_is_refused():
    with pytest.raises(ValueError, match="ease is 3 s; it must be 0 to 2 s"):
        drives.press(0.01, 0.01, 2e4, ease=3.0)


def test_lowered_moves_the_way_and_nothing_else():
    drive = drives.stroke(0.04, 0.15, 0.04, 0.01)
    low = drive.lowered(0.002)
    for one, other in zip(drive.pieces, low.pieces, strict=True):
        assert other.way[0] == one.way[0] + 0.002
        assert other.way[1:] == one.way[1:]
        assert (other.start, other.end, other.force) == (one.start, one.end, one.force)
    assert low.marks == drive.marks


# -- bad values ------------------------------------------------------------------------------------------
BAD = [
    (drives.stroke, {"down": 0.04, "hold": 0.15, "up": 0.04, "depth": 0.01, "rest": 0.2}),
    (drives.press, {"speed": 0.01, "depth": 0.01, "stiffness": 2e4, "hold": 0.1}),
    (drives.repeated, {"rate": 5.0, "depth": 0.01, "count": 6}),
    (drives.force, {"rise": 0.01, "hold": 0.1, "fall": 0.01}),
    (drives.laid_mass, {"mass": 0.1, "laying": 0.5, "hold": 1.0}),
]


@pytest.mark.parametrize("value", [0.0, -1.0, math.nan])
@pytest.mark.parametrize(
    ("make", "good", "name"), [(make, good, name) for make, good in BAD for name in good], ids=lambda x: str(x)[:20]
)
def test_a_bad_value_is_refused_by_name(make, good, name, value):
    more = {"amount": 1.0} if make is drives.force else {}
    make(**good, **more)
    with pytest.raises(ValueError, match=rf"^{name} is .*above 0"):
        make(**good | {name: value}, **more)


def test_all_bad_values_are_named_at_once():
    with pytest.raises(ValueError, match="down is -1, depth is 0; it must be above 0"):
        drives.stroke(-1.0, 0.15, 0.04, 0.0)


def test_an_unknown_mark_is_an_error():
    with pytest.raises(KeyError):
        drives.stroke(0.04, 0.15, 0.04, 0.01).mark("middle")
