"""A fan: what leads slantwise from the keys' lines to the pallets', note by note, in place of rollers."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import pairwise

from keyaction.models.instrument.place import Place
from keyaction.models.instrument.splay import extra_length, force_factor, guide_share, side_share, splay_of
from keyaction.models.units.quantity import format_value


@dataclass(frozen=True)
class Ray:
    """One note of a fan: a splayed rod, or a splayed lever.

    Parameters
    ----------
    note : int
    key, pallet : float
        Across, of its two ends, m.
    within : float
        How far its ends stand apart in the side view, m: of a rod its length there, of a lever both arms.
    """

    note: int
    key: float
    pallet: float
    within: float

    @property
    def splay(self) -> float:
        """Out of the plane of the side view, rad."""
        return splay_of(self.pallet - self.key, self.within)

    @property
    def force_factor(self) -> float:
        """Pull in the rod per force along the motion; of a lever its true arms per those of the side view."""
        return force_factor(self.splay)

    @property
    def side_share(self) -> float:
        """Side pull of a rod at either end per force along the motion."""
        return side_share(self.splay)

    @property
    def extra_length(self) -> float:
        """By how much it is longer than if it were straight, m."""
        return extra_length(self.within, self.splay)

    def guide_friction(self, coefficient: float, ends: int = 2) -> float:
        """Friction per force along the motion, of guides that hold so many of its ends against the side pull."""
        return guide_share(self.splay, coefficient, ends)


def fan(places: Mapping[int, Place], within: Mapping[int, float]) -> dict[int, Ray]:
    """The fan of a division.

    Parameters
    ----------
    places : mapping of int to Place
    within : mapping of int to float
        How far the ends of each note's rod or lever stand apart in the side view, m.

    Returns
    -------
    dict of int to Ray
        By note.
    """
    return {note: Ray(note, place.key, place.pallet, within[note]) for note, place in places.items()}


def fan_defects(rays: Mapping[int, Ray], width: float, names: Callable[[int], str]) -> list[str]:
    """Neighbours of a fan that cross, or come nearer than they are wide.

    All ends at the keys are taken to stand in one line, and so all those at the pallets: then two rays are nearest at
    one of their ends, and they cross only where their order changes from the one line to the other. They are wider
    across than straight ones by 1/cos of their splay, since they are cut slantwise.

    Parameters
    ----------
    rays : mapping of int to Ray
    width : float
        Of a rod or lever, square to itself, m.
    names : callable
        How notes are named.

    Returns
    -------
    list of str
        Empty where all run clear.
    """
    told = []
    for one, other in pairwise(sorted(rays.values(), key=lambda ray: (ray.key, ray.pallet))):
        pair = f"{names(one.note)} and {names(other.note)}"
        if other.pallet <= one.pallet:
            told.append(f"{pair} cross: their order at the pallets is not that at the keys")
            continue
        apart = min(distance_across(one, other, share) for share in (0.0, 1.0))
        needed = width * (one.force_factor + other.force_factor) / 2
        if apart < needed:
            told.append(
                f"{pair} stand {format_value(apart, 'm')} apart at their nearest; slantwise they are "
                f"{format_value(needed, 'm')} wide"
            )
    return told


def distance_across(one: Ray, other: Ray, share: float) -> float:
    """How far to the right of `one` the `other` stands, at a share of the way from the keys to the pallets, m."""
    return (1 - share) * (other.key - one.key) + share * (other.pallet - one.pallet)
