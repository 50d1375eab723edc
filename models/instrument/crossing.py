"""Which roller must lie below which, so that no rod meets another roller's arm or bearing; rods too near each other."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

from keyaction.models.instrument.channel import SLACK
from keyaction.models.instrument.stands import Rod, Stand

Crossing = tuple[int, int]
"""The note whose roller must lie below, and that above it."""


def crossings(stands: Iterable[Stand]) -> tuple[Crossing, ...]:
    """Pairs of notes of which the first's roller must lie on a lower row than the second's.

    A rod runs over all rows between its own and the edge from which it comes. So one from below that passes another
    roller's arm too near has its own roller below that one, and one from above has it above.
    """
    stands = list(stands)
    found = {pair for i, one in enumerate(stands) for other in stands[:i] for pair in between(one, other)}
    return tuple(sorted(found))


def between(one: Stand, other: Stand) -> Iterator[Crossing]:
    """What two rollers ask of each other."""
    for mine, yours in ((one, other), (other, one)):
        for rod in mine.rods:
            if _meets(rod, yours):
                yield (mine.note, yours.note) if rod.edge == "below" else (yours.note, mine.note)


def _meets(rod: Rod, other: Stand) -> bool:
    near = other.sizes.clearance - SLACK
    # The heart of a board's work, so without a call.
    for left, right in other.in_the_way:  # noqa: SIM110
        if left - rod.right < near and rod.left - right < near:
            return True
    return False


def nearest(one: Stand, other: Stand) -> list[tuple[str, float]]:
    """Of the rods of two rollers, of one edge and nearer to each other than the clearance: whose, and how near (m)."""
    near, found = one.sizes.clearance - SLACK, []
    for mine in one.rods:
        for yours in other.rods:
            if mine.edge == yours.edge and yours.left - mine.right < near and mine.left - yours.right < near:
                kind = f"{mine.end}s" if mine.end == yours.end else "key and pallet"
                found.append((kind, max(yours.left - mine.right, mine.left - yours.right, 0.0)))
    return found


def too_near(stands: Iterable[Stand], names: Callable[[int], str]) -> list[str]:
    """What is wrong where rods of one edge stand nearer than the clearance, one sentence for each kind of rods.

    Whichever of the two rollers lies higher (lower, of rods from above), its rod passes the other's arm too near.
    """
    listed = sorted(stands, key=lambda stand: stand.note)
    kinds: dict[str, list[tuple[float, str]]] = {}
    for i, other in enumerate(listed):
        for one in listed[:i]:
            for kind, off in nearest(one, other):
                kinds.setdefault(kind, []).append((off, f"{names(one.note)} and {names(other.note)}"))
    return [_sentence(kind, pairs, listed[0].sizes.clearance) for kind, pairs in kinds.items()]


def _sentence(kind: str, pairs: Sequence[tuple[float, str]], clearance: float) -> str:
    least, _ = min(pairs)
    told = ", ".join(pair for _, pair in pairs[:6]) + (f" and {len(pairs) - 6} more pairs" if len(pairs) > 6 else "")
    whose = f"the {kind}" if kind != "key and pallet" else "a key and a pallet, from the same side of the board"
    return (
        f"{told} (board.clearance): their rods to {whose} stand as near as {least * 1e3:.2f} mm to each other, the "
        f"clearance is {clearance * 1e3:g} mm: on whatever rows the rollers lie, one's rod meets the other's arm"
    )
