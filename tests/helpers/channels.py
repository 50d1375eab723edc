"""Channels for the tests: published ones read, all arrangements tried, an arrangement checked pin by pin."""

from __future__ import annotations

import tomllib
from itertools import permutations
from pathlib import Path

from keyaction.models.instrument.channel import Net

PUBLISHED = tomllib.loads((Path(__file__).parents[1] / "published" / "netlists.toml").read_text(encoding="utf-8"))


def netlist(name: str) -> list[Net]:
    """The nets of a published channel, each from its first to its last column."""
    return nets_of(PUBLISHED[name]["top"], PUBLISHED[name]["bottom"])


def nets_of(top: list[int], bottom: list[int]) -> list[Net]:
    found = []
    for name in sorted({*top, *bottom} - {0}):
        above, below = (tuple(c for c, pin in enumerate(row) if pin == name) for row in (top, bottom))
        found.append(Net(name, min(above + below), max(above + below), above, below))
    return found


def drawn_clear(nets, tracks, gap=1.0, clearance=0.5) -> bool:
    """Whether nets on their tracks and the leads of their pins keep clear of each other, by looking at each pair."""
    for one in nets:
        for other in nets:
            if one is other:
                continue
            if tracks[one.name] == tracks[other.name] and one.left - gap < other.right and other.left - gap < one.right:
                return False
            # The lead of a lower pin runs up to its track, that of an upper one down to its own.
            meets = any(abs(b - t) < clearance for b in one.bottom for t in other.top)
            if meets and tracks[one.name] >= tracks[other.name]:
                return False
    return True


def fewest(nets, pairs, gap=1.0) -> int | None:
    """Tracks of the best of all arrangements; None if there is none.

    Every arrangement lets its nets sink, lowest first, without one passing another: so all orders are tried, each net
    as low as it may lie.
    """
    best = None
    lower = {net.name: {low for low, high in pairs if high == net.name} for net in nets}
    for order in permutations(nets):
        tracks = {}
        for net in order:
            if not lower[net.name] <= tracks.keys():
                break
            least = max((tracks[name] + 1 for name in lower[net.name]), default=0)
            taken = {
                tracks[other.name]
                for other in order
                if other.name in tracks and other.left - gap < net.right and net.left - gap < other.right
            }
            tracks[net.name] = next(at for at in range(least, least + len(nets)) if at not in taken)
        else:
            count = max(tracks.values(), default=-1) + 1
            best = count if best is None else min(best, count)
    return best
