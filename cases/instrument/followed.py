"""What couplers reach from a note: which notes of which divisions, and which couplers join them."""

from __future__ import annotations

from collections.abc import Sequence
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


def follow(
    instrument: Instrument, couplers: Sequence[Coupler], played: tuple[str, int]
) -> tuple[dict[Spot, Reached], list[Link], list[str]]:
    """What couplers reach from a note, breadth first, by division and shift; and what couples nothing."""
    division, note = played
    reached = {(division, 0): Reached(note, 0, [])}
    links: dict[tuple[str, Spot], Link] = {}
    nothing: dict[str, None] = {}
    waiting = [(division, 0)]
    for place in waiting:
        state: State = (place[0], reached[place].deep)
        for one, (driven, deep) in carried(instrument, couplers, state):
            then = driven, place[1] + one.shift
            if note + then[1] not in instrument.divisions[driven].compass:
                nothing[_nothing(instrument, one, reached[place].note, note + then[1])] = None
                continue
            links[one.name, place] = Link(one, place, then)
            if then not in reached or deep < reached[then].deep:
                waiting.append(then)
            known = reached.setdefault(then, Reached(note + then[1], deep, []))
            known.deep = min(known.deep, deep)
            known.by += [] if one.name in known.by else [one.name]
    return reached, list(links.values()), list(nothing)


def _nothing(instrument: Instrument, coupler: Coupler, note: int, driven: int) -> str:
    played, other = (instrument.divisions[name] for name in (coupler.played, coupler.driven))
    wanted = Compass(other.compass, instrument.naming).name(driven)
    at = Compass(played.compass, instrument.naming).name(note)
    return f"{coupler.name} couples nothing at {at} of {coupler.played}: {coupler.driven} has no {wanted}"
