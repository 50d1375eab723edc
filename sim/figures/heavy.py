"""Heavy touch: keys that pluck with more than the trade calls usual. Custom alone, and no word on anybody's health."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from functools import lru_cache

import numpy as np

from keyaction.cases.action.train import kinds_by_name
from keyaction.cases.fields.compass import Compass
from keyaction.models.parts import PARTS
from keyaction.models.parts.key import Key
from keyaction.models.units.quantity import System, format_value
from keyaction.sim.figures.pallets import is_coupled
from keyaction.sim.files.labelled import Result

HELPS = (
    "What helps: plays of the couplers set apart, so that the plucks do not meet; relief pallets; smaller pallets. "
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
        if np.any(above := force > limit):
            said = format_value(limit, "N", units)
            told = f"the most that is usual of an uncoupled {key.keyboard}; of coupled ones no figure is known"
            most = _most(result, units)
            yield f"Heavy: {_notes(result, above)} with more than {said}, {told} (common practice){most}."
        return
    low, high = (format_value(limit, "N", units) for limit in coupled)
    usual = f"coupled keyboards usually pluck with {low} to {high} (common practice; no source is known)"
    beyond = force > coupled[1]
    if np.any(beyond):
        yield f"Very heavy: {_notes(result, beyond)} with more than {high}{_most(result, units)}; {usual}."
    within = (force > one) & ~beyond
    if np.any(within):
        alone = format_value(one, "N", units)
        told = f"Heavy: {_notes(result, within)} with more than {alone}, heavy for one keyboard (common practice)"
        yield f"{told}." if np.any(beyond) else f"{told}{_most(result, units)}; {usual}."


def _most(result: Result, units: System) -> str:
    row = int(np.nanargmax(result["pluck_force"]))
    return f", most {format_value(float(result['pluck_force'][row]), 'N', units)} at {result.notes[row]}"


def _notes(result: Result, chosen: np.ndarray) -> str:
    """How many notes pluck so, and which."""
    numbers = np.asarray(result["semitone"])
    told = Compass(tuple(int(note) for note in numbers), result.naming).ranges(int(note) for note in numbers[chosen])
    count = int(np.count_nonzero(chosen))
    return f"{count} of {len(numbers)} notes pluck ({told})" if count > 1 else f"{told} plucks"
