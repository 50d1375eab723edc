"""Few tracks for the nets of a channel: left edge, schedules by weight, and an exact search.

Left edge: A. Hashimoto and J. Stevens, "Wire routing by optimizing channel assignment within large apertures", 1971.
What bounds a search is a count of its steps, never the clock, so that a channel comes out the same every time.
"""

from __future__ import annotations

import random
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from keyaction.models.instrument.channel_graph import Graph, group_of, members

Tracks = list[int]
"""Sets of nets, one a track, the lowest first."""


def left_edge(graph: Graph) -> Tracks:
    """Track by track from below: from the left, every net that may lie there and begins where the last has ended.

    Without constraints the tracks are as many as nets lie side by side anywhere: none does with fewer.
    """
    order = sorted(range(len(graph.lefts)), key=lambda i: (graph.lefts[i], graph.ends[i], i))
    tracks: Tracks = []
    done, left = 0, order
    while left:
        track, reach = 0, float("-inf")
        for i in left:
            if graph.lefts[i] >= reach and not graph.below[i] & ~done:
                track, reach = track | 1 << i, graph.ends[i]
        tracks.append(track)
        done |= track
        left = [i for i in left if not track >> i & 1]
    return tracks


def by_weight(graph: Graph, weights: Sequence[float]) -> Tracks:
    """Track by track from below: of the nets that may lie there those that together weigh most."""
    order = sorted(range(len(graph.lefts)), key=lambda i: (graph.ends[i], graph.lefts[i], i))
    tracks: Tracks = []
    done, left = 0, order
    while left:
        track = _heaviest(graph, [i for i in left if not graph.below[i] & ~done], weights)
        tracks.append(track)
        done |= track
        left = [i for i in left if not track >> i & 1]
    return tracks


def _heaviest(graph: Graph, nets: Sequence[int], weights: Sequence[float]) -> int:
    """The heaviest set of nets that may share a track; `nets` by their ends."""
    ends = [graph.ends[i] for i in nets]
    best: list[tuple[float, int]] = [(0.0, 0)]
    for k, i in enumerate(nets):
        weight, group = best[bisect_right(ends, graph.lefts[i], 0, k)]
        best.append(max(best[k], (weight + weights[i], group | 1 << i), key=lambda one: one[0]))
    return best[-1][1]


def scheduled(graph: Graph, highs: Sequence[int], tries: int, enough: int) -> Tracks:
    """The best of many schedules by weight: first the nets with most tracks above them, then with chance mixed in.

    Parameters
    ----------
    graph : Graph
    highs : sequence of int
        Tracks above each net at the least.
    tries : int
        Schedules; chance is the same in each call.
    enough : int
        Tracks at which to stop.
    """
    chance = random.Random(1971)
    best = left_edge(graph)
    for k in range(tries):
        if len(best) <= enough:
            break
        steep, wild = chance.uniform(1.05, 2.5), chance.uniform(0.0, 0.6) if k else 0.0
        found = by_weight(graph, [steep**high * (1 + wild * chance.random()) for high in highs])
        best = min(best, found, key=len)
    return best


@dataclass(frozen=True)
class Taste:
    """Which sets a search tries first.

    Parameters
    ----------
    steep : float
        By how much a net's weight falls for each track that it could still wait.
    wild : float
        Share of chance in it.
    dense : float
        Weight of a net in the greatest crowd, whatever its hurry.
    """

    steep: float = 2.0
    wild: float = 0.0
    dense: float = 0.0

    @classmethod
    def drawn(cls, chance: random.Random) -> Taste:
        """One at random."""
        return cls(chance.uniform(1.1, 3.0), chance.uniform(0.0, 0.8), chance.choice((0.0, 0.0, 0.05, 0.2)))


@dataclass
class Search:
    """Looks for an arrangement in a given number of tracks, leaving none out.

    Tracks are filled from below; a net lies as low as it may, so only sets to which no further net could be added are
    tried. Every net has a latest track, from what must lie above it. What one run has ruled out the next need not try.
    """

    graph: Graph
    highs: Sequence[int]
    crowds: Sequence[int]
    tracks: int
    found: Tracks = field(default_factory=list)
    steps: int = 0

    def __post_init__(self) -> None:
        self.latest = [self.tracks - 1 - high for high in self.highs]
        self.due = [group_of(i for i, at in enumerate(self.latest) if at <= t) for t in range(self.tracks)]
        self.tight = [self._narrow(track) for track in range(self.tracks)]
        self.failed: dict[int, int] = {}
        self.weights: list[tuple[float, float]] = []
        self.steep = 1.0

    def run(self, steps: int, taste: Taste, chance: random.Random) -> bool | None:
        """Whether there is one; None where the steps ran out before that was known. `found` has its tracks."""
        if any(at < 0 for at in self.latest):
            return False
        self.steps, self.steep, self.found = steps, taste.steep, []
        most = max(crowd.bit_count() for crowd in self.crowds)
        sizes = [max(crowd.bit_count() for crowd in self.crowds if crowd >> i & 1) for i in range(len(self.highs))]
        self.weights = [(1 + taste.wild * chance.random(), taste.dense * size / most) for size in sizes]
        found = self._fill(0, (1 << len(self.highs)) - 1)
        return None if self.steps < 0 else found

    def _fill(self, track: int, left: int) -> bool:
        if not left:
            return True
        if self.failed.get(left, self.tracks) <= track or track == self.tracks or self._crowded(track, left):
            return False
        ready = [i for i in members(left) if not self.graph.below[i] & left]
        must = self.due[track] & left
        if must & ~group_of(ready):
            return False
        for group in self._sets(ready, must, track):
            self.steps -= 1
            if self.steps < 0:
                return False
            self.found.append(group)
            if self._fill(track + 1, left & ~group):
                return True
            self.found.pop()
        if self.steps >= 0:
            self.failed[left] = track
        return False

    def _narrow(self, track: int) -> list[tuple[int, int]]:
        """Nets side by side that must lie below some later track, and how many of them have room from `track` on."""
        found: list[tuple[int, int]] = []
        for at in range(track, self.tracks):
            room = at + 1 - track
            groups = {crowd & self.due[at] for crowd in self.crowds}
            found += [(group, room) for group in sorted(groups) if group.bit_count() > room]
        return found

    def _crowded(self, track: int, left: int) -> bool:
        """Whether somewhere more nets are left side by side than there are tracks up to the latest of them."""
        return any((group & left).bit_count() > room for group, room in self.tight[track])

    def _sets(self, ready: Sequence[int], must: int, track: int) -> Iterator[int]:
        """Sets for one track, with all that `must` be there and room for no other, those in a hurry first."""
        lefts, ends = self.graph.lefts, self.graph.ends
        forced = list(members(must))
        nets = [i for i in ready if all(i == j or lefts[i] >= ends[j] or lefts[j] >= ends[i] for j in forced)]
        if must & ~group_of(nets):  # two of them stand side by side
            return
        nets.sort(key=lambda i: (lefts[i], ends[i], i))
        onward: dict[int, float] = {}  # the most weight from a net on to the right
        for i in reversed(nets):
            onward[i] = max((onward[j] for j in onward if lefts[j] >= ends[i]), default=0.0)
            hurry, dense = self.weights[i]
            onward[i] += hurry * self.steep ** (track - self.latest[i]) + dense
        yield from self._rightward(nets, onward, float("-inf"))

    def _rightward(self, nets: Sequence[int], onward: dict[int, float], reach: float) -> Iterator[int]:
        """Sets of nets from `reach` on with room for no other: each begins before any other could have ended."""
        ahead = [i for i in nets if self.graph.lefts[i] >= reach]
        if not ahead:
            yield 0
            return
        first_end = min(self.graph.ends[i] for i in ahead)
        next_ones = [i for i in ahead if self.graph.lefts[i] < first_end]
        for i in sorted(next_ones, key=lambda i: (-onward[i], i)):
            for rest in self._rightward(ahead, onward, self.graph.ends[i]):
                yield 1 << i | rest


def searched(upward: Search, downward: Search, tries: int, steps: int) -> tuple[Tracks, bool | None]:
    """Tracks from a search and from that of the channel upside down, by turns; none, and whether there are, otherwise.

    Chance is the same in each call.
    """
    chance = random.Random(1982)
    for k in range(2 * tries):
        search = downward if k % 2 else upward
        answer = search.run(steps, Taste.drawn(chance) if k > 1 else Taste(), chance)
        if answer is not None:
            return search.found[::-1] if k % 2 else search.found, answer
    return [], None
