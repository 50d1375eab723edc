"""Where the arms and bearings of each roller stand, across its board."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from keyaction.models.instrument.board import BoardSizes
from keyaction.models.instrument.place import STRAIGHT, Place

Edge = Literal["below", "above"]
End = Literal["key", "pallet"]


@dataclass(frozen=True)
class Rod:
    """A rod of a roller where it runs over the board: to one edge, between `left` and `right` across (m)."""

    end: End
    edge: Edge
    left: float
    right: float


@dataclass(frozen=True)
class Stand:
    """A roller across its board, on whatever row.

    Parameters
    ----------
    place : Place
        The lines in which its rods run beyond the board.
    key, pallet : float
        Its arms, m. They stand in those lines, but where these are nearer to each other than two arms can be.
    sizes : BoardSizes
    """

    place: Place
    key: float
    pallet: float
    sizes: BoardSizes

    @property
    def note(self) -> int:
        """Its note."""
        return self.place.note

    @property
    def bearings(self) -> tuple[float, float]:
        """Middles of its bearings beside its arms, left and right, m; twice the same place of one in the middle."""
        left, right = sorted((self.key, self.pallet))
        sizes, middle = self.sizes, (left + right) / 2
        if not sizes.inside:
            return left - sizes.inset, right + sizes.inset
        room = right - left - 2 * sizes.inset >= sizes.bearing
        return (left + sizes.inset, right - sizes.inset) if room else (middle, middle)

    @property
    def ends(self) -> tuple[float, float]:
        """Outer faces of its bearings, or of arms that stand further out, left and right, m."""
        left, right = self.bearings
        arms, sizes = sorted((self.key, self.pallet)), self.sizes
        far = sizes.bearing / 2, sizes.wire / 2
        return min(left - far[0], arms[0] - far[1]), max(right + far[0], arms[1] + far[1])

    @cached_property
    def rods(self) -> tuple[Rod, Rod]:
        """To its key and to its pallet; of an arm out of its line the rod takes all that lies between."""
        key, pallet = sorted((self.key, self.place.key)), sorted((self.pallet, self.place.pallet))
        return Rod("key", self.sizes.keys, *key), Rod("pallet", self.sizes.pallets, *pallet)

    @cached_property
    def in_the_way(self) -> tuple[tuple[float, float], ...]:
        """What stands in the plane of the rods: arms, and bearings where they stand as high; left and right, m."""
        arms = (self.key, self.key), (self.pallet, self.pallet)
        if not self.sizes.bearings_in_the_way:
            return arms
        # Thicker than the clearance it reaches further than an arm; one that two share may stand further out by half.
        thick = max((self.sizes.bearing - self.sizes.clearance) / 2, 0.0)
        out = thick + (self.sizes.bearing / 2 if self.sizes.apart < 0 else 0.0)
        left, right = self.bearings
        return *arms, (left - out, left + thick), (right - thick, right + out)


def stand_all(
    places: Mapping[int, Place], sizes: BoardSizes, names: Callable[[int], str]
) -> tuple[dict[int, Stand], list[str]]:
    """Arms and bearings of all notes, and what has no room.

    Where a pallet stands nearer beside its key's line than two arms can, both arms would meet. The pallet's arm then
    stands off its line, away from the key, as far as the rods beside it leave room, and the key's arm for the rest to
    the other side; a straight one's pallet away from the middle of the instrument, or towards it if only there is room.
    """
    stands = {note: Stand(place, place.key, place.pallet, sizes) for note, place in sorted(places.items())}
    defects = []
    short = [note for note, place in places.items() if abs(place.sideways) < sizes.shortest]
    for note in sorted(short, key=lambda note: (abs(places[note].sideways), note)):
        stands[note], most = _spread(stands, note)
        if most < sizes.shortest:
            defects.append(
                f"{names(note)} (board.shortest): its key and its pallet stand "
                f"{abs(places[note].sideways) * 1e3:.1f} mm apart sideways, "
                f"its arms need {sizes.shortest * 1e3:g} mm, and the rods beside them leave room for "
                f"{math.floor(most * 1e4 + 1e-6) / 10:.1f} mm"
            )
    return stands, defects


def _spread(stands: Mapping[int, Stand], note: int) -> tuple[Stand, float]:
    """A short roller with its arms brought apart, and the distance (m) for which there is room."""
    old, most = stands[note], 0.0
    place, sizes = old.place, old.sizes
    need = sizes.shortest - abs(place.sideways)
    outward = 1.0 if place.key >= 0 else -1.0
    ways = {"straight": (outward, -outward), "right": (1.0,), "left": (-1.0,)}[place.side]
    for way in ways:
        pallet = min(need, _room(stands, note, "pallet", way))
        key = min(need - pallet, _room(stands, note, "key", -way))
        if pallet + key >= need - STRAIGHT:
            return Stand(place, place.key - way * key, place.key + way * (sizes.shortest - key), sizes), sizes.shortest
        most = max(most, abs(place.sideways) + pallet + key)
    return old, most


def _room(stands: Mapping[int, Stand], note: int, end: End, way: float) -> float:
    """How far an arm may go sideways before its rod is nearer to another of its edge than the clearance, m."""
    own = next(rod for rod in stands[note].rods if rod.end == end)
    room = math.inf
    for other in stands.values():
        for rod in other.rods:
            if other.note == note or rod.edge != own.edge:
                continue
            if way > 0 and rod.right > own.left:
                room = min(room, rod.left - own.right)
            if way < 0 and rod.left < own.right:
                room = min(room, own.left - rod.right)
    return max(room - stands[note].sizes.clearance, 0.0)
