"""Where guides should stand: the fewest that keep every span clear of the band, past posts where none can stand."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from keyaction.models.fields.values import Values
from keyaction.models.formulas import sections, spans
from keyaction.models.parts import guides
from keyaction.models.units.quantity import System, format_value
from keyaction.sim.compare.rod_spans import TOP, Pulls
from keyaction.sim.compare.usual import CLOSEST_GUIDES

_ROUNDS = 60
"""Halvings of the longest span as it is evened out."""
_EDGE = 1e-9
"""m: how near the end of a stretch counts as its end."""
BUCKLES = -1.0
"""Stands for the frequency of a span that is pushed beyond what it bears."""


@dataclass(frozen=True)
class Proposal:
    """Places of guides (m, from the end nearer the key), the longest span that they leave, and the longest that may be.

    `places` is None where no guides can: then `stuck` is the place (m) beyond which none can stand near enough.
    """

    places: tuple[float, ...] | None
    longest: float
    clear: float
    stuck: float = math.nan


def states_of(pull: Pulls) -> dict[str, float]:
    """Pull (N) in every state that is known: slack too, which a rod that pulls is as its key comes up."""
    slack = {} if pull.pushes else {"slack": 0.0}
    found = slack | {"at rest": pull.rest, "at the pluck": pull.pluck, "held": pull.held}
    return {name: force for name, force in found.items() if math.isfinite(force)}


def span_frequencies(states: Mapping[str, float], span: float, line: float, bending: float) -> dict[str, float]:
    """Lowest sideways frequency (Hz) of a span in each state, `BUCKLES` where its push is beyond Euler's.

    Parameters
    ----------
    states : mapping
        Pull by state, N.
    span : float
        m.
    line : float
        kg/m.
    bending : float
        E I about the weaker axis, N*m2.
    """
    found = {name: sections.span_frequency(force, line, span, bending) for name, force in states.items()}
    return {name: BUCKLES if math.isnan(one) else one for name, one in found.items()}


def clear_span(states: Mapping[str, float], line: float, bending: float) -> float:
    """Longest span (m) that keeps above the band in every state; arguments as of `span_frequencies`."""
    return min(spans.clear_spacing(force, line, bending, TOP) for force in states.values())


def propose(length: float, clear: float, keep_clear: Sequence[tuple[float, float]] = ()) -> Proposal:
    """The fewest guides so that no span is longer than `clear`, then as even as they can be.

    From either end each guide as far on as may be: no other row reaches further with as many. Then the longest span is
    made as short as that number allows.

    Parameters
    ----------
    length : float
        Of the rod, m.
    clear : float
        m, above zero.
    keep_clear : sequence of (from, to)
        Stretches (m) within which no guide can stand; at their ends one can.
    """
    found = _reaching(length, clear, keep_clear)
    if isinstance(found, float):
        return Proposal(None, math.nan, clear, found)
    count = len(found)
    even = tuple(length * i / (count + 1) for i in range(1, count + 1))
    if not any(low < place < high for place in even for low, high in keep_clear):
        return Proposal(even, length / (count + 1), clear)
    low, high = length / (count + 1), clear
    for _ in range(_ROUNDS):
        middle = (low + high) / 2
        nearer = _reaching(length, middle, keep_clear)
        if isinstance(nearer, float) or len(nearer) > count:
            low = middle
        else:
            high, found = middle, nearer
    places = tuple(found)
    return Proposal(places, max(b - a for a, b in pairwise((0.0, *places, length))), clear)


def _reaching(length: float, step: float, keep_clear: Sequence[tuple[float, float]]) -> list[float] | float:
    """Each guide as far on as it may be; or the place from which none can be reached."""
    places, here = [], 0.0
    while length - here > step * (1 + 1e-9):
        there = _allowed(here + step, keep_clear)
        if there <= here + guides.APART:
            return here
        places.append(there)
        here = there
    return places


def _allowed(place: float, keep_clear: Sequence[tuple[float, float]]) -> float:
    """The place itself, or the near end of the stretches in which it lies."""
    while amid := [low for low, high in keep_clear if low + _EDGE < place < high - _EDGE]:
        place = min(amid)
    return place


STATION_FACTS: dict[str, tuple[str, str, str]] = {
    "stations": ("", "guides that the case gives", "Stations of its guides in the case; none without."),
    "station_span": ("m", "longest span between them", "The longest distance between those, or from one to an end."),
    "station_lowest": (
        "Hz",
        "its lowest span frequency",
        "Lowest sideways frequency of that span, of all its states: slack (a rod that pulls), at rest, at the pluck, "
        "held; none where it buckles.",
    ),
}
"""Facts of a rod whose guides have places: SI unit, label, definition."""


def station_facts(found: RodSpans) -> dict[str, float]:
    """Values by the names of `STATION_FACTS`; nothing where the case gives no places."""
    if not found.count:
        return {}
    lowest = min(found.frequencies.values())
    return {
        "stations": float(found.count),
        "station_span": found.longest,
        "station_lowest": math.nan if lowest == BUCKLES else lowest,
    }


# -- of a rod, in words ----------------------------------------------------------------------------------
@dataclass(frozen=True)
class RodSpans:
    """A rod's longest span at one note: its frequency in each state, and where guides should stand."""

    rod: str
    count: int
    longest: float
    frequencies: Mapping[str, float]
    lost: float
    proposal: Proposal

    @property
    def hit(self) -> list[str]:
        """States in which its lowest frequency is in the band or below it, or in which it buckles."""
        return [name for name, one in self.frequencies.items() if one < TOP * (1 - 1e-9)]


def rod_spans(rod: str, values: Values, pull: Pulls, line: float, bending: float, sag: float | None) -> RodSpans:
    """What the stations of a rod leave between them.

    Parameters
    ----------
    rod : str
    values : Values
        Of the rod, resolved.
    pull : Pulls
    line : float
        kg/m.
    bending, sag : float
        E I about the weaker axis and about that on which it lies, N*m2; `sag` is None for a rod that is not level.
    """
    states, found = states_of(pull), guides.spans_of(values)
    longest = max(found)
    lost = sum(_lost(pull, one, line, sag) for one in found) if sag else math.nan
    clear = clear_span(states, line, bending)
    return RodSpans(
        rod,
        len(found) - 1,
        longest,
        span_frequencies(states, longest, line, bending),
        lost,
        propose(values.number("length"), clear, guides.keep_clear(values)),
    )


def _lost(pull: Pulls, span: float, line: float, bending: float) -> float:
    """Way that the rise of the pull from rest to the pluck takes out of one span's sag, m."""
    sags = [spans.hanging_sag(force, line, span, bending) for force in (pull.rest, pull.pluck)]
    if not all(one <= spans.SMALL_SAG * span for one in sags):
        return math.nan
    rest, pluck = (spans.shortening(force, line, span, bending) for force in (pull.rest, pull.pluck))
    return rest - pluck


def told(found: RodSpans, system: System) -> list[str]:
    """Sentences on a rod's spans: frequencies, what is hit, and where guides should stand."""
    heard = ", ".join(f"{name} {_hertz(one, system)}" for name, one in found.frequencies.items())
    many = f"{found.count} guide{'s' * (found.count != 1)}" if found.count else "no guides"
    lost = ""
    if math.isfinite(found.lost):
        lost = f"; its sag takes {format_value(found.lost, 'm', system)} of way from rest to the pluck"
    lines = [f"{found.rod}: {many}, longest span {format_value(found.longest, 'm', system)}: {heard}{lost}."]
    if not found.hit:
        return [*lines, f"It keeps above {TOP:g} Hz, the top of the band in which a key is repeated."]
    return [*lines, f"{_hit(found)} {_proposed(found.proposal, system)}"]


def _hertz(one: float, system: System) -> str:
    return "buckles" if one == BUCKLES else format_value(one, "Hz", system)


def _hit(found: RodSpans) -> str:
    low = spans.REPETITION_BAND[0]
    said: dict[str, list[str]] = {}
    for name in found.hit:
        one = found.frequencies[name]
        kind = "It buckles" if one == BUCKLES else "It whips as fast as a key is repeated"
        kind = f"It whips below {low:g} Hz, and is shaken by every stroke" if 0 <= one < low else kind
        said.setdefault(kind, []).append(name)
    return " ".join(f"{kind} {_listed(names)}." for kind, names in said.items())


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _proposed(found: Proposal, system: System) -> str:
    clear = format_value(found.clear, "m", system)
    if found.places is None:
        return (
            f"No guides can keep it clear: none can stand within {clear} of {format_value(found.stuck, 'm', system)} "
            "from its end at the key's side (keep_clear). A stiffer section or a pull at rest would help."
        )
    if not found.places:
        return "It would keep clear over its whole length."
    words = "A guide" if len(found.places) == 1 else f"{len(found.places)} guides"
    if found.longest < CLOSEST_GUIDES:
        near = format_value(found.longest, "m", system)
        return (
            f"{words}, one every {near} at most, would be wanted to keep it clear; a pull at rest or a section stiffer "
            "for its weight would help."
        )
    places = ", ".join(format_value(one, "m", system) for one in found.places)
    return f"{words} at {places} would keep it clear in every state, the fewest that do: no span above {clear}."
