"""A channel: nets on tracks one above the other, each along one track, as few tracks as can be.

Of two rows of pins that a channel joins, a net of several pins takes a piece of one track between its outermost. Nets
of one track lie clear of each other; where a lower pin of one net stands in the column of an upper pin of another, the
first must lie below the second, or their leads would meet. No net changes its track on the way: there are no doglegs.

A. Hashimoto and J. Stevens, "Wire routing by optimizing channel assignment within large apertures", 1971 (left edge);
D. N. Deutsch, "A dogleg channel router", 1976; T. Yoshimura and E. S. Kuh, "Efficient algorithms for channel routing",
1982 (the graph of constraints). From memory.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from keyaction.models.instrument.channel_graph import (
    Graph,
    chains,
    cliques,
    fewest_tracks,
    members,
    rising,
    shortest_ring,
    tracks_below,
)
from keyaction.models.instrument.channel_search import Search, Tracks, left_edge, scheduled, searched

Name = int | str
Pair = tuple[Name, Name]
"""A net and one that must lie above it."""

SLACK = 1e-9
"""Of a length: what rounding may take from it."""
TRIES = 20
"""Schedules by weight, and searches, from below and as many from above."""
STEPS = 400
"""Tracks that a search may fill before the next begins otherwise."""


@dataclass(frozen=True)
class Net:
    """What one net takes of its track, and its pins.

    Parameters
    ----------
    name : int or str
    left, right : float
        Ends of its piece of the track, margins included.
    top, bottom : tuple of float
        Columns of its pins above and below the channel.
    """

    name: Name
    left: float
    right: float
    top: tuple[float, ...] = ()
    bottom: tuple[float, ...] = ()


@dataclass(frozen=True)
class Routing:
    """Nets on their tracks.

    Parameters
    ----------
    tracks : mapping of name to int
        0 is the lowest.
    count : int
        Tracks that they take.
    density : int
        Most nets side by side anywhere.
    chain : int
        Nets of the longest chain of which each must lie above the last.
    bound : int
        Tracks that no arrangement can do without: at least density and chain.
    """

    tracks: Mapping[Name, int]
    count: int
    density: int
    chain: int
    bound: int

    @property
    def best(self) -> bool:
        """Whether fewer tracks are proved impossible."""
        return self.count == self.bound


class RingOfNets(ValueError):
    """No arrangement: each net of `ring` must lie below the next, and the last below the first."""

    def __init__(self, ring: Sequence[Name]) -> None:
        self.ring = tuple(ring)
        super().__init__(
            f"nets {', '.join(map(str, ring))}: each must lie below the next, and the last below the first"
        )

    def __reduce__(self) -> tuple[type[RingOfNets], tuple[tuple[Name, ...]]]:
        return RingOfNets, (self.ring,)


def beside(one: float, other: float, clearance: float) -> bool:
    """Whether two columns are one, or nearer to each other than `clearance`."""
    return abs(one - other) < max(clearance - SLACK, SLACK)


def must_lie_below(nets: Sequence[Net], clearance: float = 0.0) -> tuple[Pair, ...]:
    """Pairs of nets of which the first must lie below the second.

    Parameters
    ----------
    nets : sequence of Net
    clearance : float, optional
        A pin below within less than this of a pin above of another net has that net above its own; without it only pins
        of one column count.

    Returns
    -------
    tuple of pairs of names
        Each pair once, by the order of the nets.
    """
    return tuple(
        (low.name, high.name)
        for low in nets
        for high in nets
        if low is not high and any(beside(b, t, clearance) for b in low.bottom for t in high.top)
    )


def route(nets: Sequence[Net], pairs: Iterable[Pair] = (), gap: float = 0.0, steps: int = STEPS) -> Routing:
    """Lay nets on as few tracks as can be found.

    Parameters
    ----------
    nets : sequence of Net
    pairs : iterable of pairs of names, optional
        Which net must lie below which, as of `must_lie_below`.
    gap : float, optional
        Least distance between two nets of a track; below zero they may overlap by as much. Of pins in whole columns
        1: two nets do not meet in one column.
    steps : int, optional
        Tracks that each of 40 searches may fill for each number of tracks tried; what one has ruled out the next do not
        try again.

    Returns
    -------
    Routing
        The same for the same nets. Without pairs its count is the density; with them it is `best` where it meets the
        bound or the search came to its end.

    Raises
    ------
    RingOfNets
        If nets would have to lie below each other; it names a shortest ring.
    ValueError
        If a name stands twice or a pair names none of the nets, or if a net with its gap takes no room.
    """
    graph = _graph(nets, pairs, gap)
    order = rising(graph)
    if order is None:
        raise RingOfNets([nets[i].name for i in shortest_ring(graph.below)])
    crowds = cliques(graph)
    tracks, bound = _fewest(graph, order, crowds, steps)
    placed = {nets[i].name: at for at, track in enumerate(tracks) for i in members(track)}
    chain = max((length + 1 for length in chains(graph, order)), default=0)
    density = max((crowd.bit_count() for crowd in crowds), default=0)
    return Routing({net.name: placed[net.name] for net in nets}, len(tracks), density, chain, bound)


def _graph(nets: Sequence[Net], pairs: Iterable[Pair], gap: float) -> Graph:
    number = {net.name: i for i, net in enumerate(nets)}
    if len(number) < len(nets):
        raise ValueError("two nets of one name")
    ends = tuple(net.right + gap - SLACK for net in nets)
    flat = [str(net.name) for net, end in zip(nets, ends, strict=True) if not net.left < end]
    if flat:
        raise ValueError(f"nets {', '.join(flat)} take no room: width and gap together must be above 0")
    below, above = [0] * len(nets), [0] * len(nets)
    for low, high in pairs:
        if low not in number or high not in number:
            raise ValueError(f"pair {low}, {high}: no such net")
        above[number[low]] |= 1 << number[high]
        below[number[high]] |= 1 << number[low]
    return Graph(tuple(net.left for net in nets), ends, tuple(below), tuple(above))


def _fewest(graph: Graph, order: Sequence[int], crowds: Sequence[int], steps: int) -> tuple[Tracks, int]:
    """Tracks, and how many no arrangement can do without."""
    if not any(graph.below):
        tracks = left_edge(graph)
        return tracks, len(tracks)
    turned = graph.turned()
    lows, highs = tracks_below(graph, order, crowds), tracks_below(turned, order[::-1], crowds)
    bound = fewest_tracks(lows, highs, crowds)
    best = scheduled(graph, highs, TRIES, bound)
    if len(best) > bound:
        best = min(best, scheduled(turned, lows, TRIES, bound)[::-1], key=len)
    for count in range(bound, len(best)):
        upward, downward = Search(graph, highs, crowds, count), Search(turned, lows, crowds, count)
        found, answer = searched(upward, downward, TRIES, steps)
        if answer:
            return found, bound
        if answer is False and bound == count:
            bound = count + 1
    return best, bound
