"""Fans: what each note's slant costs, and neighbours that come too near, against shapes cut out of a plane."""

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, box

from keyaction.models.instrument.fan import Ray, distance_across, fan, fan_defects
from keyaction.models.instrument.place import Place
from keyaction.models.notes import note_name

TREBLE = {note: Place(note, 0.0137 * (note - 66), 0.018 * (note - 66)) for note in range(60, 73)}
"""Thirteen notes of a keyboard under a wider chest, the middle one straight."""


def test_a_fan_from_keys_to_a_wider_chest():
    rays = fan(TREBLE, dict.fromkeys(TREBLE, 0.4))
    middle, outer = rays[66], rays[72]
    assert (middle.splay, middle.force_factor, middle.side_share, middle.extra_length) == (0.0, 1.0, 0.0, 0.0)
    aside = 6 * (0.018 - 0.0137)
    assert outer.splay == pytest.approx(math.atan(aside / 0.4), rel=1e-12)
    assert outer.extra_length == pytest.approx(math.hypot(0.4, aside) - 0.4, rel=1e-9)
    assert outer.guide_friction(0.3) == pytest.approx(2 * 0.3 * aside / 0.4, rel=1e-12)
    for note in range(60, 66):  # a mirror image
        assert rays[note].splay == pytest.approx(rays[132 - note].splay, rel=1e-12)
    assert fan_defects(rays, 0.010, note_name) == []


def test_neighbours_nearer_than_they_are_wide_are_told():
    rays = fan(TREBLE, dict.fromkeys(TREBLE, 0.4))
    told = fan_defects(rays, 0.0137, note_name)
    # At the keys all stand 13.7 mm apart; only a straight one is no wider than that, and it has a slanting neighbour.
    assert len(told) == 12
    assert told[-1] == "B4 and C5 stand 13.7 mm apart at their nearest; slantwise they are 13.7 mm wide"


def test_neighbours_that_change_their_order_cross():
    rays = {60: Ray(60, 0.0, 0.3, 0.5), 61: Ray(61, 0.1, 0.2, 0.5), 62: Ray(62, 0.2, 0.5, 0.5)}
    assert fan_defects(rays, 0.01, note_name) == [
        "C4 and C#4 cross: their order at the pallets is not that at the keys"
    ]


PLACES = st.lists(st.tuples(st.floats(0.005, 0.1), st.floats(0.005, 0.1)), min_size=2, max_size=8)


def strip(ray, width):
    """A long strip, of which a fan's rod is the piece between both lines."""
    aside = ray.pallet - ray.key
    ends = (ray.key - 9 * aside, -9 * ray.within), (ray.key + 10 * aside, 10 * ray.within)
    return LineString(ends).buffer(width / 2, cap_style="flat")


@settings(deadline=None)
@given(PLACES, st.floats(0.1, 2.0), st.floats(0.002, 0.03))
def test_strips_that_run_clear_do_not_overlap_and_others_do(gaps, within, width):
    # Strips with ends cut level, between two lines: the plane's own geometry says whether they overlap.
    key = pallet = 0.0
    rays = {}
    for note, (at_key, at_pallet) in enumerate(gaps, 60):
        key, pallet = key + at_key, pallet + at_pallet
        rays[note] = Ray(note, key, pallet, within)
    row = list(rays.values())
    between = box(-10, 0, 10, within)
    strips = [strip(ray, width).intersection(between) for ray in row]
    overlaps = [one.intersection(other).area for one, other in pairwise(strips)]
    told = fan_defects(rays, width, note_name)
    for i, overlap in enumerate(overlaps):
        pair = f"{note_name(60 + i)} and {note_name(61 + i)} "
        margin = min(distance_across(row[i], row[i + 1], share) for share in (0.0, 1.0))
        margin -= width * (row[i].force_factor + row[i + 1].force_factor) / 2
        if abs(margin) > 1e-9:
            assert (overlap > 0) == any(line.startswith(pair) for line in told) == (margin < 0)


@settings(deadline=None)
@given(PLACES)
def test_rays_in_one_order_at_both_ends_cross_at_no_height(gaps):
    key = pallet = 0.0
    rays = []
    for at_key, at_pallet in gaps:
        key, pallet = key + at_key, pallet + at_pallet
        rays.append(Ray(60, key, pallet, 0.5))
    for one, other in pairwise(rays):
        nearest = min(distance_across(one, other, share / 20) for share in range(21))
        assert nearest >= min(other.key - one.key, other.pallet - one.pallet) - 1e-12 > 0
