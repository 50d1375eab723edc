"""Truths of every path: arms square to rods, motion passed on in the ratio of arms, mirror images, a second way."""

import math

import pytest
from drawn_runs import SQUARES, THREE, played, random_runs
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import fsolve

from keyaction.models.instrument.place import Place
from keyaction.models.instrument.plane import tangent
from keyaction.models.instrument.run import Held, senses
from keyaction.models.instrument.trace import trace

PLACE = Place(60, -0.05, 0.25)
STRAIGHT = Place(60, 0.0, 0.0)


def plane(a, b):
    return b[1] - a[1], b[2] - a[2]


def cosine(a, b):
    return (a[0] * b[0] + a[1] * b[1]) / math.hypot(*a) / math.hypot(*b)


@settings(deadline=None)
@given(random_runs())
def test_arms_are_as_long_as_given_and_square_to_their_rods(run):
    stations, rods, _ = run
    path = trace(60, STRAIGHT, stations, rods)
    for station, turn, before, behind in zip(stations[1:-1], path.turns[1:-1], path.legs, path.legs[1:], strict=False):
        assert (before.end, behind.start) == (turn.in_end, turn.out_end)
        for arm, axis, end, leg in (
            (station.in_arm, turn.near, turn.in_end, before),
            (station.out_arm, turn.far, turn.out_end, behind),
        ):
            assert math.dist(axis, end) == pytest.approx(arm, abs=1e-13)
            assert abs(cosine(plane(axis, end), plane(leg.start, leg.end))) < 1e-12
    axes = [path.legs[0].start, *(turn.near for turn in path.turns[1:-1]), path.legs[-1].end]
    arms = [(0.0, 0.0), *((station.in_arm, station.out_arm) for station in stations[1:-1]), (0.0, 0.0)]
    for i, leg in enumerate(path.legs):
        out, into, apart = arms[i][1], arms[i + 1][0], math.dist(axes[i], axes[i + 1])
        outer, inner = (math.sqrt(apart**2 - (into - sign * out) ** 2) for sign in (1, -1))
        assert min(abs(leg.length - outer), abs(leg.length - inner)) < 1e-12
        assert (leg.part, leg.pushes) == (rods[i].part, rods[i].pushes)


def turning(path, step):
    """Turn of key, levers and pallet per turn of the key; both kinds of key turn from back to up."""
    back, forth = played(path, -step), played(path, step)
    return [(b - a) / (2 * step) for a, b in zip(back, forth, strict=True)]


@settings(deadline=None)
@given(random_runs(splayed=True))
def test_a_small_turn_of_the_key_moves_the_pallet_in_the_ratio_of_the_arms(run):
    # Rigid bodies on their axes, rods of unchanging length in space: central differences over turns of 1e-5 and 2e-5
    # rad. This also says that what pulls pulls: the eye goes along its rod, towards the key.
    stations, rods, splayed = run
    path = trace(60, PLACE, stations, rods, sideways=splayed)
    first, last = (plane(leg.start, leg.end) for leg in (path.legs[0], path.legs[-1]))
    rates = [(4 * once - twice) / 3 for once, twice in zip(turning(path, 1e-5), turning(path, 2e-5), strict=True)]
    ratio = math.prod(station.out_arm / station.in_arm for station in stations[1:-1])
    upright = abs(first[1]) / math.hypot(*first)  # the key's eye moves up or down
    way = stations[0].out_arm * upright * ratio  # of the pallet's eye, per turn of the key
    eye = plane(path.turns[-1].near, path.legs[-1].end)
    moves = (-eye[1] * rates[-1], eye[0] * rates[-1])
    assert math.hypot(*moves) == pytest.approx(way, rel=1e-6)
    sense = 1.0 if rods[-1].pushes else -1.0
    assert cosine(moves, last) == pytest.approx(sense, abs=1e-9)


@settings(deadline=None)
@given(random_runs(), st.floats(-0.5, 0.5), st.floats(-0.5, 0.5))
def test_across_a_mirror_image_is_the_mirror_image(run, key, pallet):
    stations, rods, _ = run
    place, mirrored = Place(60, key, pallet), Place(60, -key, -pallet)
    one = trace(60, place, stations, rods, sideways=rods[-1].part)
    other = trace(60, mirrored, stations, rods, sideways=rods[-1].part)
    assert [leg.length for leg in one.legs] == [leg.length for leg in other.legs]
    assert [(-leg.start[0], *leg.start[1:]) for leg in one.legs] == [leg.start for leg in other.legs]


@settings(deadline=None)
@given(random_runs(least=1))
def test_in_the_side_view_a_mirror_image_has_its_sides_changed_and_its_lengths_kept(run):
    stations, rods, _ = run
    path = trace(60, STRAIGHT, stations, rods)
    other = {"left": "right", "right": "left", "": ""}
    points = (path.legs[0].start[1:], *(s.axis for s in stations[1:]))
    arms = tuple((s.in_arm, s.out_arm) for s in stations[1:-1])
    held = Held(points, ((0.0, 0.0), *arms, (0.0, 0.0)), tuple(r.sign for r in rods), tuple(s.side for s in stations))
    image = Held(
        tuple((-back, up) for back, up in points), held.arms, held.signs, tuple(other[side] for side in held.sides)
    )
    lengths = [[leg_of(one, i) for i in range(len(rods))] for one in (held, image)]
    assert lengths[0] == pytest.approx([leg.length for leg in path.legs], rel=1e-12)
    assert lengths[1] == pytest.approx(lengths[0], rel=1e-9)


def leg_of(held, i):
    near, far = held.ends(senses(held))[i]
    return tangent(held.points[i], held.points[i + 1], far - near)[1]


@pytest.mark.parametrize("opposite", [False, True])
@pytest.mark.parametrize(("a", "b"), [(0.05, 0.05), (0.08, 0.03), (0.02, 0.11)])
@pytest.mark.parametrize("axis", [(0.9, 0.4), (-0.3, 1.1), (0.25, 0.0)])
def test_an_oblique_rod_by_newton_s_method(axis, a, b, opposite):
    # Second way: angles of both arms, such that either is square to what joins their ends.
    aside = (-b if opposite else b) - a
    along, length = tangent((0.0, 0.0), axis, aside)
    left = (-along[1], along[0])

    def lopsided(angles):
        p = (a * math.cos(angles[0]), a * math.sin(angles[0]))
        q = (axis[0] + b * math.cos(angles[1]), axis[1] + b * math.sin(angles[1]))
        rod = (q[0] - p[0], q[1] - p[1])
        return rod[0] * p[0] + rod[1] * p[1], rod[0] * (q[0] - axis[0]) + rod[1] * (q[1] - axis[1])

    start = math.atan2(axis[0], -axis[1])  # to the left of the way from axis to axis
    found = fsolve(lopsided, (start, start + math.pi * opposite), xtol=1e-13)
    assert math.cos(found[0]) == pytest.approx(left[0], abs=1e-9)
    assert math.sin(found[0]) == pytest.approx(left[1], abs=1e-9)
    p = (a * math.cos(found[0]), a * math.sin(found[0]))
    q = (axis[0] + b * math.cos(found[1]), axis[1] + b * math.sin(found[1]))
    assert math.dist(p, q) == pytest.approx(length, rel=1e-11)


def test_closed_forms_of_outer_and_inner_tangents():
    assert tangent((0, 0), (0.5, 0), 0.0)[1] == 0.5
    assert tangent((0, 0), (0.5, 0), 0.03 - 0.05)[1] == pytest.approx(math.sqrt(0.25 - 0.02**2), rel=1e-14)
    assert tangent((0, 0), (0.5, 0), -0.03 - 0.05)[1] == pytest.approx(math.sqrt(0.25 - 0.08**2), rel=1e-14)
    assert tangent((0, 0), (0.08, 0), -0.03 - 0.05) is None


def test_a_run_that_carries_nothing_sideways_is_the_straight_one_to_the_last_figure():
    straight = trace(60, Place(60, 0.2, 0.2), SQUARES, THREE)
    fanned = trace(60, Place(60, 0.2, 0.2), SQUARES, THREE, sideways="level")
    assert straight == fanned
