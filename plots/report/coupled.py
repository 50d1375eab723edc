"""What a report says of couplers: the schedule, the keys, and what was found."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from keyaction.models.units.quantity import System, format_value
from keyaction.sim.figures.coupled_sheets import keys_sheet, schedule_sheet
from keyaction.sim.figures.coupled_words import coupled_lines, verdict_lines
from keyaction.sim.figures.heavy import heavy_lines
from keyaction.sim.figures.pallets import alone, couplers, has_pallets, is_coupled
from keyaction.sim.files.labelled import Result
from keyaction.sim.tables.sheet import Sheet


def coupled_sheets(result: Result, units: System) -> list[Sheet]:
    """The sheets of a result whose keys open several pallets; none of any other."""
    if not has_pallets(result):
        return []
    schedule = replace(schedule_sheet(result, units), lines=[*coupled_lines(result), *verdict_lines(result)])
    if not is_coupled(result):
        return [replace(schedule, name="pallets", title="Pallets of every key")]
    return [replace(keys_sheet(result, units), lines=heavy_lines(result, units)), schedule]


def coupled_findings(result: Result, units: System) -> Iterator[tuple[str, bool]]:
    """What a reader should know first of coupled keys: a line, and whether it asks for attention."""
    if not is_coupled(result):
        return
    both, before = np.asarray(result["pluck_force"], dtype=float), alone(result, "pluck_force")
    known = np.isfinite(both) & np.isfinite(before)
    if np.any(known):
        first, last = (format_value(float(np.median(one[known])), "N", units) for one in (before, both))
        names = dict.fromkeys(name for row in range(len(both)) for name in couplers(result, row))
        yield f"Coupled by {', '.join(names) or 'nothing'}: the median pluck rises from {first} alone to {last}.", False
    yield from ((line, True) for line in heavy_lines(result, units))
    yield from ((f"{line}.", True) for line in verdict_lines(result))
