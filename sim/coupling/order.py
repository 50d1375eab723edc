"""In which order couplers are regulated, and an instrument with other plays."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from keyaction.cases.instrument.coupler import Coupler
from keyaction.cases.instrument.drawn import carried
from keyaction.cases.instrument.holds import depth
from keyaction.cases.instrument.instrument import Instrument
from keyaction.models.fields.values import Given
from keyaction.sim.coupling.moved import PLAY

Plays = Mapping[str, Mapping[int, float]]
"""m, by coupler and played note."""
_ORIGIN = "regulated"


def regulation_order(instrument: Instrument, drawn: Sequence[str]) -> tuple[str, ...]:
    """The couplers in the order in which they are set: each after those that it takes along.

    So those of the uppermost keyboard come first and the pedal's last. The couplers of one keyboard stay together where
    they can; what depends on nothing of another keeps the order of the instrument.

    Parameters
    ----------
    instrument : Instrument
    drawn : sequence of str
        As `drawn_couplers` gives them.
    """
    couplers = [instrument.couplers[name] for name in drawn]
    after = {one.name: _taken_along(instrument, couplers, one) for one in couplers}
    below = {one.played: 0 for one in couplers}
    for one in couplers:
        below[one.played] = max(below[one.played], len(after[one.name]))
    waiting, found = sorted(couplers, key=lambda one: below[one.played]), list[str]()
    while waiting:
        ready = next(one for one in waiting if after[one.name] <= set(found))
        waiting.remove(ready)
        found.append(ready.name)
    return tuple(found)


def _taken_along(instrument: Instrument, couplers: Sequence[Coupler], first: Coupler) -> set[str]:
    """The couplers that move when a coupler moves what it drives."""
    waiting = [(first.driven, depth(instrument.divisions[first.driven], first.gives))]
    found: set[str] = set()
    for state in waiting:
        for one, then in carried(instrument, couplers, state):
            if one.name not in found:
                found.add(one.name)
                waiting.append(then)
    return found - {first.name}


def stated_play(coupler: Coupler, note: int) -> float:
    """The play that the instrument gives a coupler at a played note, m."""
    return float(coupler.fields[PLAY][note].value)


def with_plays(instrument: Instrument, plays: Plays) -> Instrument:
    """The instrument with these plays in place of its own."""
    couplers = dict(instrument.couplers)
    for name, of in plays.items():
        course = {**couplers[name].fields.get(PLAY, {}), **{note: Given(play, _ORIGIN) for note, play in of.items()}}
        couplers[name] = replace(couplers[name], fields={**couplers[name].fields, PLAY: course})
    return replace(instrument, couplers=couplers)
