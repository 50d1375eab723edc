"""Heavy touch: keys that pluck with more than the trade calls usual. Custom alone, and no word on anybody's health."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from functools import lru_cache

import numpy as np

from keyaction.cases.action.train import kinds_by_name
from keyaction.models.parts import PARTS
from keyaction.models.parts.key import Key
from keyaction.models.units.quantity import System, format_value
from keyaction.sim.figures.pallets import is_coupled, note_ranges
from keyaction.sim.files.labelled import Result

HELPS = (
    "What helps: plays of the couplers set apart, so that the plucks do not meet (keyaction tune --coupler-play); "
    "relief pallets; smaller pallets (keyaction pallets). "
    "This is custom and no word on health: no force is known to be safe for every player."
)


def key_of(result: Result) -> type[Key]:
    """The kind of key that a result is of; that of a manual where its case does not tell."""
    return _key(result.about.get("case_text", ""))


@lru_cache(maxsize=8)
def _key(text: str) -> type[Key]:
    try:
        kinds = kinds_by_name(tomllib.loads(text).get("train"))
    except tomllib.TOMLDecodeError:
        return Key
    found = (PARTS.get(kind) for kind in kinds.values())
    return next((one for one in found if one is not None and issubclass(one, Key)), Key)


def heavy_lines(result: Result, units: System) -> list[str]:
    """What is to be said of a coupled result whose keys are heavy by common practice; nothing where they are not.

    Returns
    -------
    list of str
        Each limit that is passed with its notes; what helps; that it is custom.
    """
    if not is_coupled(result):
        return []
    lines = list(_passed(result, units))
    return [*lines, HELPS] if lines else []


def _passed(result: Result, units: System) -> Iterator[str]:
    """The notes above each limit: those beyond what coupled keyboards usually take first."""
    key, force = key_of(result), np.asarray(result["pluck_force"], dtype=float)
    coupled, one = key.usual_coupled, key.comfortable
    if coupled is None or one is None:
        limit = key.usual_pluck[1]
        told = f"the most that is usual of an uncoupled {key.keyboard} (common practice; of coupled ones none is known)"
        if np.any(force > limit):
            yield f"Heavy: {_pluck(result, force > limit, limit, units)}, {told}."
        return
    low, high = (format_value(limit, "N", units) for limit in coupled)
    usual = f"coupled keyboards usually pluck with {low} to {high} (common practice; no source is known)"
    beyond = force > coupled[1]
    if np.any(beyond):
        yield f"Very heavy: {_pluck(result, beyond, coupled[1], units)}; {usual}."
    within = (force > one) & ~beyond
    if np.any(within):
        told = f"Heavy: {_pluck(result, within, one, units)}, heavy for one keyboard (common practice)"
        yield f"{told}." if np.any(beyond) else f"{told}; {usual}."


def _pluck(result: Result, chosen: np.ndarray, limit: float, units: System) -> str:
    """How many notes pluck with more than a limit, which, and with how much."""
    numbers = np.asarray(result["semitone"])
    told = note_ranges(result, (int(note) for note in numbers[chosen]))
    count = int(np.count_nonzero(chosen))
    most, above = (format_value(one, "N", units) for one in (float(np.max(result["pluck_force"][chosen])), limit))
    who = f"{told} plucks with" if count == 1 else f"{count} of {len(numbers)} notes ({told}) pluck with up to"
    return f"{who} {most}, more than {above}"
