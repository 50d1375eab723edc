"""The channel's router against all arrangements, its own bounds, and what it refuses."""

import pickle
import random

import pytest
from channels import drawn_clear, fewest

from keyaction.models.instrument.channel import Net, RingOfNets, must_lie_below, route


def drawn(chance, most, columns=11):
    """Nets with up to two pins on each side."""
    nets = []
    for name in range(chance.randint(0, most)):
        left, right = sorted((chance.randrange(columns), chance.randrange(columns)))
        inside = range(left, right + 1)
        top, bottom = (tuple(chance.sample(inside, min(len(inside), chance.randint(0, 2)))) for _ in range(2))
        nets.append(Net(name, left, right, top, bottom))
    return nets


def test_no_arrangement_of_all_has_fewer_tracks():
    chance, rings, above_bound = random.Random(7), 0, 0
    for trial in range(4000):
        nets = drawn(chance, 7 if trial % 25 == 0 else 5)
        pairs = must_lie_below(nets)
        best = fewest(nets, pairs)
        try:
            found = route(nets, pairs, gap=1)
        except RingOfNets:
            assert best is None
            rings += 1
            continue
        assert drawn_clear(nets, found.tracks)
        assert (found.count, found.best) == (best, True)
        above_bound += found.count > max(found.density, found.chain)
    assert rings > 100
    assert above_bound >= 10


def test_without_pairs_as_many_tracks_as_stand_side_by_side():
    chance = random.Random(1)
    for _ in range(300):
        lefts = [chance.random() for _ in range(chance.randint(1, 60))]
        nets = [Net(i, left, left + chance.uniform(0, 0.5)) for i, left in enumerate(lefts)]
        gap = chance.uniform(1e-6, 0.1)
        found = route(nets, gap=gap)
        side_by_side = max(sum(n.left <= at.left < n.right + gap for n in nets) for at in nets)
        assert found.count == found.density == found.bound == side_by_side
        assert drawn_clear(nets, found.tracks, gap - 2e-9)


def test_large_channels_are_clear_and_near_their_bound():
    chance, over = random.Random(2), 0
    for _ in range(40):
        nets = []
        for i in range(60):
            a, b = chance.random(), chance.random()
            nets.append(Net(i, min(a, b), max(a, b), (a,), (b,)))
        pairs = [pair for pair in must_lie_below(nets, 0.006) if pair[0] < pair[1]]
        found = route(nets, pairs, gap=0.003)
        assert drawn_clear(nets, found.tracks, 0.003 - 2e-9, clearance=0.0)
        assert all(found.tracks[low] < found.tracks[high] for low, high in pairs)
        assert max(found.density, found.chain) <= found.bound <= found.count
        over += found.count - found.bound
    assert over <= 4


def test_the_same_every_time():
    chance = random.Random(5)
    a = [chance.random() for _ in range(50)]
    nets = [Net(i, left, left + 0.3, (left,), (left + 0.3,)) for i, left in enumerate(a)]
    pairs = must_lie_below(nets, 0.01)
    first = route(nets, pairs, gap=0.01)
    assert route(nets, tuple(reversed(pairs)), gap=0.01) == first == route(nets, pairs, gap=0.01)


def test_a_pair_within_the_clearance():
    nets = [Net("low", 0, 5, bottom=(5.0,)), Net("high", 5.4, 9, top=(5.4,))]
    assert must_lie_below(nets) == must_lie_below(nets, 0.4) == ()
    assert must_lie_below(nets, 0.41) == (("low", "high"),)
    assert route(nets, must_lie_below(nets, 0.41)).tracks == {"low": 0, "high": 1}
    assert route(nets).count == 1


def test_a_gap_below_zero_lets_nets_overlap():
    nets = [Net("a", 0, 5), Net("b", 4, 9), Net("c", 7.5, 12)]
    assert route(nets, gap=-1).tracks == {"a": 0, "b": 0, "c": 1}


def test_no_net_and_one():
    assert route([]).count == route([]).density == 0
    assert route([]).best
    assert route([Net("a", 0, 1)]).tracks == {"a": 0}


def test_the_shortest_ring_is_named():
    nets = [Net(name, 0, 1) for name in "abcdefg"]
    long = [("a", "b"), ("b", "c"), ("c", "d"), ("d", "a")]
    with pytest.raises(RingOfNets) as refused:
        route(nets, [*long, ("f", "g"), ("g", "e"), ("e", "f")])
    assert refused.value.ring == ("e", "f", "g")
    assert "nets e, f, g: each must lie below the next" in str(refused.value)
    assert pickle.loads(pickle.dumps(refused.value)).ring == ("e", "f", "g")


@pytest.mark.parametrize(
    ("nets", "pairs", "gap", "word"),
    [
        ([Net("a", 0, 1), Net("a", 2, 3)], (), 0, "one name"),
        ([Net("a", 0, 1)], [("a", "z")], 0, "no such net"),
        ([Net("a", 1, 1)], (), 0, "nets a take no room"),
        ([Net("a", 1, 0.5)], (), 0, "take no room"),
        ([Net("a", float("nan"), 0.5)], (), 0, "take no room"),
    ],
)
def test_what_is_no_channel(nets, pairs, gap, word):
    with pytest.raises(ValueError, match=word):
        route(nets, pairs, gap)
