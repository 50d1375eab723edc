"""What couplers reach from a note: which notes of which divisions, and which couplers join them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from keyaction.cases.fields.compass import Compass
from keyaction.cases.instrument.coupler import Coupler
from keyaction.cases.instrument.drawn import State, carried
from keyaction.cases.instrument.instrument import Instrument

Spot = tuple[str, int]
"""A division, and the semitones from the played note to its own that sounds."""


@dataclass
class Reached:
    """A note that sounds: how deep in its train it is moved from, and by which couplers."""

    note: int
    deep: int
    by: list[str]


@dataclass(frozen=True)
class Link:
    """A coupler that joins two notes that sound."""

    coupler: Coupler
    played: Spot
    driven: Spot


@dataclass(frozen=True)
class Followed:
    """What couplers reach from a note, breadth first: notes, couplers between them, and couplers without a key.

    `lacking` has these with the note at their played end.
    """

    reached: Mapping[Spot, Reached]
    links: Sequence[Link]
    lacking: Sequence[tuple[Coupler, int]]


def follow(instrument: Instrument, couplers: Sequence[Coupler], played: tuple[str, int]) -> Followed:
    """Follow drawn couplers from a note of a division."""
    division, note = played
    reached = {(division, 0): Reached(note, 0, [])}
    links: dict[tuple[str, Spot], Link] = {}
    lacking: dict[tuple[str, int], tuple[Coupler, int]] = {}
    waiting = [(division, 0)]
    for place in waiting:
        state: State = (place[0], reached[place].deep)
        for one, (driven, deep) in carried(instrument, couplers, state):
            then = driven, place[1] + one.shift
            if note + then[1] not in instrument.divisions[driven].compass:
                lacking[one.name, reached[place].note] = one, reached[place].note
                continue
            links[one.name, place] = Link(one, place, then)
            if then not in reached or deep < reached[then].deep:
                waiting.append(then)
            known = reached.setdefault(then, Reached(note + then[1], deep, []))
            known.deep = min(known.deep, deep)
            known.by += [] if one.name in known.by else [one.name]
    return Followed(reached, list(links.values()), list(lacking.values()))


def nothing_told(instrument: Instrument, coupler: Coupler, notes: Sequence[int]) -> str:
    """That a coupler reaches no key from these notes of its played division."""
    played, driven = (instrument.divisions[name].compass for name in (coupler.played, coupler.driven))
    at = Compass(played, instrument.naming).ranges(notes)
    ends = dict.fromkeys(
        Compass(driven, instrument.naming).name(note + coupler.shift) for note in (notes[0], notes[-1])
    )
    return f"{coupler.name} couples nothing at {at} of {coupler.played}: {coupler.driven} has no {' to '.join(ends)}"
