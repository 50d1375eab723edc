"""Robbing inside the grooves of a held chord, as stops are drawn one after the other."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from keyaction.models.train.train import Train
from keyaction.sim.chord.steady import Opening, steady_pressures, with_toes
from keyaction.sim.wind.stops import leaving, names_of, stops_of
from keyaction.sim.wind.supplies import Supply


@dataclass(frozen=True)
class Robbing:
    """The held chord with some stops drawn, all still, of the groove that is worst off.

    Attributes
    ----------
    stop : str
        Drawn last; empty before any is.
    count : int
        How many are drawn.
    note : str
        Whose groove has least of its box with no key down.
    of_rest, of_now : float
        Pressure of that groove over that of its box with no key down, and as it then is.
    box : float
        Pressure of its box over that with no key down.
    """

    stop: str
    count: int
    note: str
    of_rest: float
    of_now: float
    box: float


def robbing(
    openings: Sequence[Opening],
    trains: Mapping[str, Train],
    supplies: Mapping[str, Supply],
    stops: Sequence[str] | None = None,
) -> list[Robbing]:
    """The worst groove with no stop drawn, the first, the first two ..., of `stops` or of the lists of the grooves.

    Empty where grooves have no lists. The pallets stand as the held keys hold them.
    """
    parts = {(one.note, one.groove): trains[one.note].part(one.groove) for one in openings}
    if not all(stops_of(part) for part in parts.values()):
        return []
    order = names_of(trains.values()) if stops is None else list(stops)
    found = []
    for count in range(len(order) + 1):
        toes = [leaving(parts[one.note, one.groove], order[:count]) for one in openings]
        found.append(_worst(with_toes(openings, toes), supplies, order[:count]))
    return found


def _worst(openings: Sequence[Opening], supplies: Mapping[str, Supply], drawn: Sequence[str]) -> Robbing:
    held = steady_pressures(openings, supplies)

    def left(one: Opening) -> float:
        return held[one.box] / supplies[one.box].pressure if supplies[one.box].pressure > 0.0 else float("nan")

    worst = min(openings, key=lambda one: one.share * left(one))
    share = left(worst)
    return Robbing(drawn[-1] if drawn else "", len(drawn), worst.note, worst.share * share, worst.share, share)
