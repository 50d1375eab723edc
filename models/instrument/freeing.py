"""Rollers that hold each other fast: rings of them, and the smallest shift of one pallet that frees them."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from keyaction.models.instrument.channel_graph import group_of, shortest_ring
from keyaction.models.instrument.crossing import Crossing, between, crossings, nearest
from keyaction.models.instrument.stands import Stand

STEP = 1e-4
"""m in which a shift is told: nothing is bored more exactly."""


HELD = "hold each other fast"
"""What is said of rollers in a ring."""
HELP = (
    "rollers that hold each other fast are freed by arms that may stand aside ([layout.board] aside), by thinner arms "
    "and rods (clearance), by bearings below the rods, or by other places: bar, gaps, middle or order of the chest"
)


def fast(stands: Mapping[int, Stand], pairs: Iterable[Crossing], names: Callable[[int], str]) -> list[str]:
    """A sentence for each ring of rollers of which every one would have to lie below the next; no note in two."""
    pairs = tuple(pairs)
    return [_sentence(ring, stands, pairs, names) for ring in rings(tuple(stands), pairs)]


def rings(notes: Sequence[int], pairs: Iterable[Crossing]) -> Iterator[tuple[int, ...]]:
    """Rings of notes, each to lie below the next, the shortest first; none has a note of those before."""
    number = {note: i for i, note in enumerate(notes)}
    below = [0] * len(notes)
    for low, high in pairs:
        below[number[high]] |= 1 << number[low]
    left = group_of(range(len(notes)))
    while ring := shortest_ring(below, left):
        yield tuple(notes[i] for i in ring)
        left &= ~group_of(ring)


def _sentence(
    ring: Sequence[int], stands: Mapping[int, Stand], pairs: Sequence[Crossing], names: Callable[[int], str]
) -> str:
    who = f"{', '.join(names(note) for note in ring[:-1])} and {names(ring[-1])}"
    holds = "each one's roller" if len(ring) == 2 else "of each the roller"
    where = "the other's" if len(ring) == 2 else "the next one's, and of the last below the first's"
    told = f"{who} {HELD} on the roller board: {holds} would have to lie below {where}; "
    found = smallest_shift(ring, stands, pairs)
    if found is None:
        return told + "no shift of one pallet frees them"
    note, shift = found
    way = "right" if shift > 0 else "left"
    by = f"{abs(shift) * 1e3:.1f} mm to the {way}"
    return f"{told}the smallest shift that frees them is of the pallet of {names(note)}, {by}"


def eased(stands: Mapping[int, Stand], pairs: Iterable[Crossing]) -> dict[int, Stand] | None:
    """The rollers freed of every ring by shifts of single pallets' arms and rods, none further than the board allows.

    Parameters
    ----------
    stands : mapping of int to Stand
    pairs : iterable of pairs of notes
        Which roller must lie below which.

    Returns
    -------
    dict or None
        The rollers with some of them moved, ring by ring the smallest shift; None where that frees not all.
    """
    moved, pairs = dict(stands), tuple(pairs)
    for _ in stands:
        ring = next(rings(tuple(moved), pairs), None)
        if ring is None:
            return moved
        found = smallest_shift(ring, moved, pairs, {note: one.place.pallet for note, one in stands.items()})
        if found is None:
            return None
        moved[found[0]] = _moved(moved[found[0]], found[1])
        pairs = crossings(moved.values())
    return None


def smallest_shift(
    ring: Sequence[int],
    stands: Mapping[int, Stand],
    pairs: Sequence[Crossing],
    lines: Mapping[int, float] | None = None,
) -> tuple[int, float] | None:
    """Which pallet of a ring to move, and by how much, so that its notes hold each other no more.

    Parameters
    ----------
    ring : sequence of int
        Notes, each to lie below the next.
    stands : mapping of int to Stand
        All rollers of the board.
    pairs : sequence of pairs of notes
        Of all rollers, which must lie below which.
    lines : mapping of int to float, optional
        Lines (m) of the pallets, from which each may stand aside no further than the board allows; without it there is
        no limit.

    Returns
    -------
    (int, float) or None
        The note, and the way of its pallet to the right (to the left below zero), m, in steps of 0.1 mm. The moved rod
        keeps the clearance from others of its edge, its arms their least distance, and its note is in no other ring.
    """
    for _, note, shift in sorted({one for member in ring for one in _shifts(member, stands)}):
        moved = _moved(stands[note], shift)
        if lines is not None and abs(moved.place.pallet - lines[note]) > moved.sizes.aside + STEP / 100:
            continue
        if abs(moved.place.sideways) >= moved.sizes.shortest and _free(moved, ring, stands, pairs):
            return note, shift
    return None


def _moved(stand: Stand, shift: float) -> Stand:
    pallet = stand.place.pallet + shift
    return Stand(replace(stand.place, pallet=pallet), stand.place.key, pallet, stand.sizes)


def _shifts(note: int, stands: Mapping[int, Stand]) -> Iterator[tuple[float, int, float]]:
    """Where what a pallet's rod, arm and bearing pass near changes: amount, note, shift (m)."""
    stand = stands[note]
    sizes, pallet = stand.sizes, stand.place.pallet
    columns = {place for other in stands.values() if other.note != note for place in _columns(other)}
    ends = {abs(pallet - place) for ends in stand.in_the_way for place in ends}
    near = {reach for reach in ends if reach < sizes.inset + sizes.bearing}  # of its arm, and the bearing beside it
    reaches = near | {-reach for reach in near}
    goals = {c + way * sizes.clearance + reach for c in columns for way in (-1, 1) for reach in reaches}
    goals |= {stand.place.key + way * sizes.shortest for way in (-1, 1)}
    for goal in goals:
        steps = math.ceil(abs(goal - pallet) / STEP - 1e-6)
        if steps:
            yield steps * STEP, note, math.copysign(steps * STEP, goal - pallet)


def _columns(stand: Stand) -> Iterator[float]:
    for rod in stand.rods:
        yield from (rod.left, rod.right)
    for ends in stand.in_the_way:
        yield from ends


def _free(moved: Stand, ring: Sequence[int], stands: Mapping[int, Stand], pairs: Iterable[Crossing]) -> bool:
    """Whether a moved pallet's rod is clear, its note in no ring, and the old ring's in none among themselves."""
    note, others = moved.note, [stand for stand in stands.values() if stand.note != moved.note]
    if any(nearest(moved, other) for other in others):
        return False
    kept = [pair for pair in pairs if note not in pair]
    inner = [pair for pair in kept if pair[0] in ring and pair[1] in ring]
    inner += {pair for other in ring if other != note for pair in between(moved, stands[other])}
    if next(rings(tuple(ring), inner), None):
        return False
    above: dict[int, set[int]] = {}
    for low, high in [*kept, *{pair for other in others for pair in between(moved, other)}]:
        above.setdefault(low, set()).add(high)
    reached: set[int] = set()
    queue = [note]
    while queue:
        fresh = above.get(queue.pop(), set()) - reached
        reached |= fresh
        queue += fresh
    return note not in reached
