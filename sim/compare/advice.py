"""What the figures of a rod between guides come to: how many guides, and what else would help, in words."""

from __future__ import annotations

import math
from collections.abc import Mapping

from keyaction.models.units.quantity import System, format_value
from keyaction.sim.compare.usual import CLOSEST_GUIDES


def guide_advice(facts: Mapping[str, float], units: System) -> str:
    """Advice for one rod at one note.

    Parameters
    ----------
    facts : mapping
        Facts of the rod by name, SI; NaN where there is none.
    units : {"trade", "si"}
    """
    return _needed(facts, units) + _as_given(facts, units)


def _as_given(facts: Mapping[str, float], units: System) -> str:
    """What the guides of the case leave; empty where it gives no places."""
    count, span = facts.get("stations", math.nan), facts.get("station_span", math.nan)
    if not math.isfinite(count):
        return ""
    lowest = facts.get("station_lowest", math.nan)
    does = f"keeps to {format_value(lowest, 'Hz', units)} or more" if math.isfinite(lowest) else "buckles"
    return f". The case's {_counted(int(count))} leave a span of {format_value(span, 'm', units)}, which {does}"


def _needed(facts: Mapping[str, float], units: System) -> str:
    length, count = facts.get("rod_length", math.nan), facts.get("guides", math.nan)
    if not math.isfinite(count):
        return "no guides can be advised: its section and material, or its pull, are not known"
    states = _states(facts)
    if count == 0:
        return f"needs no guides: it keeps clear {states} over its whole length"
    span = length / (count + 1)
    every, many = format_value(span, "m", units), _counted(int(count))
    wanted = facts.get("rest_wanted", math.nan)
    if span < CLOSEST_GUIDES:
        told = f"guides alone cannot keep it clear {states}: {many}, one every {every}, would be wanted"
        would = [f"a pull at rest of {_pull(wanted, units)}"] if math.isfinite(wanted) else []
        return f"{told}; {' or '.join([*would, 'a section stiffer for its weight'])} would help"
    told = f"{many}, one every {every}, {'keeps' if count == 1 else 'keep'} it clear {states}"
    few, whip = (facts.get(name, math.nan) for name in ("guides_held", "few_rest"))
    if not all(map(math.isfinite, (wanted, few, whip))):
        return told
    alone = "it would do without" if few == 0 else f"{few:.0f} would do"
    whips = f"; with {'none' if few == 0 else 'those'} it whips at {format_value(whip, 'Hz', units)} at rest"
    return (
        f"{told}. Held alone {alone}{whips}, unless its pull at rest is {_pull(wanted, units)} (weights, rail springs)"
    )


def _states(facts: Mapping[str, float]) -> str:
    """The states that the advice is for, in words."""
    told = [("clear_rest", "at rest"), ("clear_pluck", "at the pluck"), ("clear_held", "held")]
    there = [words for name, words in told if math.isfinite(facts.get(name, math.nan))]
    if len(there) == 1:
        return f"{there[0]}, the only state reached,"
    return f"{', '.join(there[:-1])} and {there[-1]}"


def _counted(count: int) -> str:
    return f"{count} guide{'s' * (count != 1)}"


def _pull(force: float, units: System) -> str:
    return f"{format_value(force, 'N', units)} or more"
