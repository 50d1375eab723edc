"""What nets of a channel ask of each other: which may not share a track, which must lie below which.

Nets are numbered from 0; a set of nets is a whole number whose bits are its members.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Graph:
    """Nets by number.

    Parameters
    ----------
    lefts, ends : tuple of float
        Each net takes a track from its left end up to, but not with, its end.
    below, above : tuple of int
        Sets of nets that must lie below and above each, told directly.
    """

    lefts: tuple[float, ...]
    ends: tuple[float, ...]
    below: tuple[int, ...]
    above: tuple[int, ...]

    def turned(self) -> Graph:
        """The same upside down."""
        return Graph(self.lefts, self.ends, self.above, self.below)


def members(group: int) -> Iterator[int]:
    """Numbers of the nets in a set, rising."""
    while group:
        lowest = group & -group
        yield lowest.bit_length() - 1
        group ^= lowest


def group_of(numbers: Iterable[int]) -> int:
    """The set of these nets."""
    return sum(1 << number for number in set(numbers))


def cliques(graph: Graph) -> tuple[int, ...]:
    """Greatest sets of nets side by side at one place, from left to right: no two of a set share a track."""
    events = [(left, 1, i) for i, left in enumerate(graph.lefts)] + [(end, 0, i) for i, end in enumerate(graph.ends)]
    found, here, grown = [], 0, False
    for _, begins, i in sorted(events):
        if begins:
            here |= 1 << i
        else:
            if grown:
                found.append(here)
            here &= ~(1 << i)
        grown = bool(begins)
    return tuple(found)


def rising(graph: Graph) -> tuple[int, ...] | None:
    """The nets, each after all that must lie below it; None where that goes round in a ring."""
    order: list[int] = []
    done, left = 0, list(range(len(graph.lefts)))
    while left:
        ready = [i for i in left if not graph.below[i] & ~done]
        if not ready:
            return None
        order += ready
        done |= group_of(ready)
        left = [i for i in left if not done >> i & 1]
    return tuple(order)


def shortest_ring(below: Sequence[int], within: int = -1) -> tuple[int, ...]:
    """A shortest ring among the nets `within`, each to lie below the next and the last below the first; () if none.

    Of several the one with the lowest numbers; it begins with its lowest.
    """
    best: tuple[int, ...] = ()
    for start in range(len(below)):
        if not within >> start & 1:
            continue
        ring = _way_round(below, start, within)
        if ring and (not best or len(ring) < len(best)):
            best = ring
    if not best:
        return ()
    turn = best.index(min(best))
    return best[turn:] + best[:turn]


def _way_round(below: Sequence[int], start: int, within: int) -> tuple[int, ...]:
    """The shortest way from a net down to itself, lowest net first."""
    came, queue = {start: -1}, deque([start])
    while queue:
        here = queue.popleft()
        for lower in members(below[here] & within):
            if lower == start:
                ring = []
                while here >= 0:
                    ring.append(here)
                    here = came[here]
                return tuple(ring)
            if lower not in came:
                came[lower] = here
                queue.append(lower)
    return ()


def chains(graph: Graph, order: Sequence[int]) -> tuple[int, ...]:
    """Of each net, how many nets the longest chain below it has."""
    lengths = [0] * len(order)
    for i in order:
        lengths[i] = max((lengths[j] + 1 for j in members(graph.below[i])), default=0)
    return tuple(lengths)


def tracks_below(graph: Graph, order: Sequence[int], crowds: Sequence[int]) -> tuple[int, ...]:
    """Of each net, how many tracks lie below it in any arrangement, at the least.

    At least its longest chain; and of k nets below it that stand side by side none shares a track, so that it lies at
    least k tracks above the lowest place that any of them can have.
    """
    found, all_below = [0] * len(order), [0] * len(order)
    for i in order:
        for j in members(graph.below[i]):
            all_below[i] |= all_below[j] | 1 << j
        found[i] = max((found[j] + 1 for j in members(all_below[i])), default=0)
        for crowd in crowds:
            heights = sorted(found[j] for j in members(all_below[i] & crowd))
            found[i] = max([found[i], *(height + len(heights) - k for k, height in enumerate(heights))])
    return tuple(found)


def fewest_tracks(lows: Sequence[int], highs: Sequence[int], crowds: Sequence[int]) -> int:
    """Tracks that no arrangement can do without.

    Parameters
    ----------
    lows, highs : sequence of int
        Tracks that lie below and above each net at the least.
    crowds : sequence of int
        Sets of nets side by side. Of the k nets of a set that have at least `a` tracks below and `b` above them each
        needs a track of its own between: a + k + b tracks (the bound of one machine's preemptive schedule:
        J. Carlier, "The one-machine sequencing problem", 1982).
    """
    best = max((low + high + 1 for low, high in zip(lows, highs, strict=True)), default=0)
    for crowd in crowds:
        nets = list(members(crowd))
        for low in {lows[i] for i in nets}:
            above = sorted((highs[i] for i in nets if lows[i] >= low), reverse=True)
            best = max([best, *(low + k + high for k, high in enumerate(above, 1))])
    return best
