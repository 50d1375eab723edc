"""Recorded traces: replayed as closely as is said, in few pieces, and sound ones only."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from keyaction.sim.motion import drives
from keyaction.sim.motion.trace import FAITHFUL, drive_from

DEPTH = 0.011
STROKE = drives.stroke(0.04, 0.15, 0.04, DEPTH)
BLOW = drives.force(3.0, 0.02, 0.10, 0.02)


def course(drive, times, what="way_at"):
    """Way or force of a drive at many times."""
    return np.array([getattr(next(p for p in drive.pieces if t <= p.end + 1e-12), what)(t) for t in times])


def sampled(drive, spacing, what="way_at"):
    times = np.linspace(0.0, drive.end, round(drive.end / spacing) + 1)
    return times, course(drive, times, what)


@pytest.mark.parametrize("spacing", [1e-3, 1e-4])
def test_a_sampled_quintic_replays_to_the_quintic(spacing):
    times, ways = sampled(STROKE, spacing)
    drive = drive_from(times, positions=ways)
    between = np.linspace(0.0, STROKE.end, 20_011)
    # The samples are met to 1.1 um; between them a cubic over h misses by at most h^4/384 of the fourth derivative,
    # and the estimated slopes by some hundredths of a um more.
    fourth = 360 * DEPTH / 0.04**4
    allowed = FAITHFUL * DEPTH + fourth * spacing**4 / 384 + 1e-7
    assert np.max(np.abs(course(drive, times) - ways)) <= FAITHFUL * DEPTH
    assert np.max(np.abs(course(drive, between) - course(STROKE, between))) <= allowed
    assert len(drive.pieces) <= 40
    assert drive.kind == "motion" and drive.end == pytest.approx(STROKE.end)


def test_every_sample_is_met_where_that_is_asked():
    times, ways = sampled(STROKE, 1e-3)
    drive = drive_from(times, positions=ways, within=0.0)
    assert 80 <= len(drive.pieces) < len(times) - 1  # one for each of the 80 ms in motion; where it stands still fewer
    assert course(drive, times) == pytest.approx(ways, abs=1e-15)


def test_a_replayed_force_moves_the_key_as_the_force_does(short_model):
    taken, forces = sampled(BLOW, 1e-3, "force_at")
    finer = short_model.tolerances.finer()  # else the integrator's own error is all that is seen: 1e-3 of the pressure
    ours, meant = short_model.play(drive_from(taken, forces=forces), finer), short_model.play(BLOW, finer)
    times = np.linspace(0.0, BLOW.end, 2001)
    for name in ("key_travel", "pallet_lift", "groove_pressure", "key_force"):
        one, other = (np.interp(times, motion.t, motion[name]) for motion in (ours, meant))
        assert np.max(np.abs(one - other)) < 5e-4 * np.ptp(other), name


def test_a_replayed_stroke_moves_the_key_as_the_stroke_does(short_model):
    times, ways = sampled(STROKE, 1e-4)
    ours, meant = short_model.play(drive_from(times, positions=ways)), short_model.play(STROKE)
    assert ours.status.ok and abs(ours.audit.residual) < 1e-4 * ours.audit.throughput
    for name in ("key_travel", "pallet_lift", "groove_pressure"):
        one = np.interp(meant.t, ours.t, ours[name])
        assert np.max(np.abs(one - meant[name])) < 5e-3 * np.ptp(meant[name]), name


samples = st.lists(st.floats(-0.02, 0.02), min_size=2, max_size=30)
steps = st.lists(st.floats(1e-4, 0.1), min_size=30, max_size=30)


@given(samples, steps, st.sampled_from([None, 0.0]))
def test_any_trace_is_met_without_kinks_or_new_extremes(ways, gaps, within):
    times = np.cumsum(gaps[: len(ways)])
    drive = drive_from(times, positions=ways, within=within)
    allowed = (FAITHFUL * np.ptp(ways) if within is None else 0.0) + 1e-9
    assert drive.pieces[0].start == 0.0 and drive.end == pytest.approx(times[-1] - times[0])
    assert np.max(np.abs(course(drive, times - times[0]) - ways)) <= allowed
    for one, other in pairwise(drive.pieces):
        h = one.end - one.start
        assert one.end == other.start
        assert one.way_at(one.end) == pytest.approx(other.way[0], abs=1e-9)
        slope = one.way[1] + h * (2 * one.way[2] + h * 3 * one.way[3])
        assert slope == pytest.approx(other.way[1], rel=1e-6, abs=1e-7 / h)
    if within == 0.0:
        fine = course(drive, np.linspace(0.0, drive.end, 500))
        assert np.min(ways) - 1e-9 <= fine.min() and fine.max() <= np.max(ways) + 1e-9


def test_a_cubic_that_meets_the_samples_but_swings_out_between_them_is_cut():
    times, ways = [0.0, 0.0625, 0.15625], [0.0, 0.015625, 0.0]  # one cubic meets all three, and rises 4 % above
    drive = drive_from(times, positions=ways, within=0.0)
    assert course(drive, np.linspace(0.0, drive.end, 500)).max() <= max(ways) + 1e-9


def test_the_smallest_steps_there_are():
    drive = drive_from([0.0, 1.0, 3.0], positions=[0.0, 0.0, np.finfo(float).tiny])
    assert drive.pieces[-1].way_at(3.0) <= np.finfo(float).tiny


def test_a_trace_that_starts_late_is_counted_from_its_first_sample():
    late = drive_from([12.0, 12.1, 12.3], positions=[0.0, 0.005, 0.0])
    assert late.pieces[0].start == 0.0
    assert late.end == pytest.approx(0.3)
    assert late.mark("end") == late.end


def test_a_steady_trace_is_one_piece():
    held = drive_from(np.linspace(0.0, 1.0, 1001), forces=np.full(1001, 2.0))
    assert len(held.pieces) == 1 and held.pieces[0].force_at(0.5) == 2.0
    assert held.kind == "force"


@pytest.mark.parametrize(
    ("given", "message"),
    [
        ({"times": [0.0, 1.0]}, "give either positions or forces"),
        ({"times": [0.0, 1.0], "positions": [0.0, 1.0], "forces": [0.0, 1.0]}, "give either positions or forces"),
        ({"times": [0.0], "positions": [0.0]}, "two samples at least are needed; there are 1"),
        ({"times": [], "forces": []}, "two samples at least are needed; there are 0"),
        ({"times": [0.0, 1.0, 2.0], "positions": [0.0, 1.0]}, "3 times and 2 positions"),
        ({"times": [[0.0, 1.0]], "positions": [0.0, 1.0]}, "times must be an array with one axis; it has 2"),
        ({"times": [0.0, 1.0], "forces": [[0.0], [1.0]]}, "forces must be an array with one axis; it has 2"),
        ({"times": [0.0, 1.0, 1.0], "positions": [0.0, 1.0, 2.0]}, "times must rise: sample 2 at 1 s follows sample 1"),
        ({"times": [0.0, 2.0, 1.0], "positions": [0.0, 1.0, 2.0]}, "times must rise: sample 2 at 1 s follows sample 1"),
        ({"times": [0.0, math.nan], "positions": [0.0, 1.0]}, "times: sample 1 is nan"),
        ({"times": [0.0, 1.0], "positions": [0.0, math.inf]}, "positions: sample 1 is inf"),
        ({"times": [0.0, 1.0], "positions": [0.0, 1.0], "within": -1.0}, "within is -1"),
        ({"times": [0.0, 1.0], "positions": [0.0, 1.0], "within": math.nan}, "within is nan"),
    ],
)
def test_a_bad_trace_is_refused(given, message):
    with pytest.raises(ValueError, match=message):
        drive_from(**given)
