"""What of a sheet is believed: readings in a wrong unit or with the wind in another state are told and left out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from keyaction.cases.action.case import Case
from keyaction.models.notes import note_name
from keyaction.models.readings.figures import BY_NAME, NAMES
from keyaction.models.readings.readings import Reading, Readings
from keyaction.models.units.quantity import System, format_value
from keyaction.sim.measuring.computed import Computed
from keyaction.sim.measuring.noticed import OUNCE, mistaken_wind, noticed

_NEAR, _FAR = 3.0, 10.0
"""Standard deviations within which a weight in ounces fits, and beyond which it does not as it was read."""
_EVEN = 0.1
"""Share by which a regulated note may differ from its drawing besides."""
_LEAST = 4
"""Notes from which on weights are left out because of the wind."""
_WEIGHTS = ("pluck", "hold", "up")


@dataclass(frozen=True)
class Believed:
    """A sheet without what cannot be meant as it stands, and everything that is odd about it, what matters first.

    `other_wind`: weights were left out because they were read with the wind in the other state.
    """

    readings: Readings
    told: tuple[str, ...]
    other_wind: bool = False


def believed(
    readings: Readings, case: Case, drawn: Computed, units: System = "trade", notes: Sequence[int] | None = None
) -> Believed:
    """A sheet as far as it is believed.

    Parameters
    ----------
    readings, case, drawn, units, notes
        As of `keyaction.sim.measuring.noticed.noticed`; `drawn` with the figures without wind in any case
        (`keyaction.sim.measuring.computed.both_winds`).
    """
    chosen = readings.notes if notes is None else tuple(notes)
    grams, ounces = _in_ounces(readings, case, drawn, units, chosen)
    odd = noticed(grams, case, drawn, units, chosen)
    mistaken = mistaken_wind(grams, case, drawn, chosen) if len(chosen) >= _LEAST else ()
    left = [f"{name}{other}" for other in ("", "_off") if f"pluck{other}" in mistaken for name in _WEIGHTS]
    left = [name for name in left if name in grams.figures]
    if not left:
        return Believed(grams, (*ounces, *odd))
    rows = tuple(one for one in grams.rows if one.figure not in left)
    meant = " Read with the wind off? Put them in the wind-off columns." if list(mistaken) == ["pluck"] else ""
    names = ", ".join(BY_NAME[name].heading for name in left)
    told = f"Left out, nothing is concluded from it: {names}, which seem read with the wind in another state.{meant}"
    return Believed(replace(grams, rows=rows), (told, *ounces, *odd), other_wind=True)


def _in_ounces(
    readings: Readings, case: Case, drawn: Computed, units: System, notes: Sequence[int]
) -> tuple[Readings, list[str]]:
    """Without the weights that fit the drawing in ounces only, and what is said of them."""
    error, places = readings.head.balance, {note: i for i, note in enumerate(notes)}
    taken, kept = list[Reading](), list[Reading]()
    for one in readings.rows:
        expected = np.nan
        if BY_NAME[one.figure].unit == "N" and one.note in places:
            expected = drawn.values[places[one.note], NAMES.index(one.figure)]
        fits = abs(OUNCE * one.value - expected) < _NEAR * error + _EVEN * expected
        (taken if fits and abs(one.value - expected) > _FAR * error else kept).append(one)
    cells: dict[tuple[int, ...], list[Reading]] = {}
    for figure in (name for name in NAMES if any(one.figure == name for one in taken)):
        own = [one for one in taken if one.figure == figure]
        cells.setdefault(tuple(sorted({one.note for one in own})), []).append(own[0])
    told = []
    for of, ones in cells.items():
        names = ", ".join(note_name(note, case.naming) for note in of[:_LEAST])
        names += f" and {len(of) - _LEAST} others" if len(of) > _LEAST else ""
        figures = "; ".join(BY_NAME[one.figure].heading for one in ones)
        read, times = (format_value(x, "N", units, 3) for x in (ones[0].value, OUNCE * ones[0].value))
        told.append(
            f"{names}: ounces in {figures}? {read} is read, which as ounces is {times}, as computed; left out, write "
            "grams."
        )
    return replace(readings, rows=tuple(kept)) if taken else readings, told
