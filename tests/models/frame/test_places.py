"""Where members take what they carry: chains, directions, hooks and the key's surface."""

import numpy as np
import pytest

from keyaction.models.frame.member import VECTORS, Member
from keyaction.models.frame.places import chain, moves
from keyaction.models.materials.library import default_library

OAK = default_library().get("white-oak")
NOTE = 60


def member(name, length, towards="up", on="floor", carries=()):
    return Member(name, OAK, {NOTE: length}, towards, "along", on, tuple(carries), 0.05)


def grown(**shares):
    return {name.replace("_", "-"): np.array([0.0, share]) for name, share in shares.items()}


@pytest.mark.parametrize("towards", list(VECTORS))
def test_a_member_moves_what_it_carries_its_way(towards):
    axes = moves([member("post", 2.0, towards, carries=["roller"])], NOTE, grown(post=1e-3))
    assert axes.axis("roller")[:, 0] == pytest.approx((0, 0, 0))
    assert axes.axis("roller")[:, 1] == pytest.approx([2e-3 * one for one in VECTORS[towards]])


def test_a_chain_adds_up_from_the_floor():
    members = [
        member("box", 0.1, on="post", carries=["pallet"]),
        member("post", 2.0, on="sill"),
        member("sill", 1.5, "front", carries=["square"]),
    ]
    axes = moves(members, NOTE, grown(box=2e-2, post=1e-3, sill=-4e-3))
    assert [one.name for one in chain(members, "box")] == ["box", "post", "sill"]
    assert axes.axis("pallet")[:, 1] == pytest.approx((0, 1.5 * 4e-3, 0.1 * 2e-2 + 2.0 * 1e-3))
    assert axes.axis("square")[:, 1] == pytest.approx((0, 1.5 * 4e-3, 0))


def test_what_no_member_carries_stands_still():
    axes = moves([member("post", 2.0)], NOTE, grown(post=1e-3))
    assert np.all(axes.axis("roller") == 0)
    assert np.all(axes.hook("riser.start") == 0)
    assert np.all(axes.surface == 0)
    assert axes.axis("roller").shape == (3, 2)


def test_lengths_differ_from_note_to_note():
    slanting = Member("bearer", OAK, {36: 1.0, 60: 3.0}, "up", "along", carries=("pallet",))
    lifts = [moves([slanting], note, grown(bearer=1e-3)).axis("pallet")[2, 1] for note in (36, 60)]
    assert lifts == pytest.approx([1e-3, 3e-3])


def test_hooks_and_the_keys_surface_are_beside_the_axis():
    members = [member("frame", 0.05, carries=["key"]), member("wood", 0.01, carries=["key.front", "riser.start"])]
    axes = moves(members, NOTE, grown(frame=1e-2, wood=2e-2))
    assert axes.axis("key")[2, 1] == pytest.approx(0.5e-3)
    assert axes.surface[1] == pytest.approx(0.2e-3)
    assert axes.hook("riser.start")[2, 1] == pytest.approx(0.2e-3)


def test_no_members_move_nothing():
    assert moves([], NOTE, {}).axis("key").shape == (3, 1)
