"""Heavy touch: keys that pluck with more than the trade calls usual. Custom alone, and no word on anybody's health."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache, partial

import numpy as np

from keyaction.cases.action.train import kinds_by_name
from keyaction.models.parts import PARTS
from keyaction.models.parts.key import Key
from keyaction.models.units.quantity import System, format_value
from keyaction.sim.figures.pallets import couplers, figure, is_coupled, note_ranges
from keyaction.sim.files.labelled import Result

_APART = "plays of the couplers set apart, so that the plucks do not meet (keyaction tune --coupler-play); "
_CUSTOM = "This is custom and no word on health: no force is known to be safe for every player."


@dataclass(frozen=True)
class Limit:
    """A force (N) above which a key is told heavy, and what custom that is."""

    force: float
    words: str


def limit_of(key: type[Key], coupled: bool) -> Limit | None:
    """The one limit of heavy touch: of coupled keys the most that they usually take, of others that of comfort.

    Parameters
    ----------
    key : type of Key
        A pedal's is its own, never a finger's.
    coupled : bool
        Whether it moves other keys.

    Returns
    -------
    Limit or None
        None where no limit is known.
    """
    if not coupled:
        words = "the limit of comfort of one keyboard (common practice)"
        return None if key.comfortable is None else Limit(key.comfortable, words)
    if key.usual_coupled is not None:
        words = "the most that coupled keyboards usually take (common practice; no source is known)"
        return Limit(key.usual_coupled[1], words)
    words = f"the most that is usual of an uncoupled {key.keyboard} (common practice; of coupled ones none is known)"
    return Limit(key.usual_pluck[1], words)


def heavy_notes(forces: Mapping[int, float], limit: Limit | None) -> list[int]:
    """The notes above a limit, of forces (N) by note."""
    return [note for note, force in forces.items() if limit is not None and force > limit.force]


def heavy_line(
    forces: Mapping[int, float], limit: Limit | None, named: Callable[[Iterable[int]], str], units: System
) -> str:
    """How many notes are heavy, which, and with how much they pluck; empty where none is.

    Parameters
    ----------
    forces : mapping of int to float
        Pluck by note, N.
    limit : Limit or None
    named : callable
        The words for notes.
    units : {"trade", "si"}
    """
    heavy = heavy_notes(forces, limit)
    if limit is None or not heavy:
        return ""
    most, above = (format_value(one, "N", units) for one in (max(forces[note] for note in heavy), limit.force))
    told = named(heavy)
    who = f"{told} plucks with" if len(heavy) == 1 else f"{len(heavy)} of {len(forces)} notes ({told}) pluck with up to"
    return f"Heavy: {who} {most}, more than {above}, {limit.words}."


def helps(apart: bool) -> str:
    """What helps; `apart` where plucks of a key can be set apart."""
    pallets = "relief pallets; smaller pallets (keyaction pallets)."
    return f"What helps: {_APART if apart else ''}{pallets} {_CUSTOM}"


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
        The notes above each limit; what helps, and that it is custom.
    """
    lines = heavy_told(result, units) if is_coupled(result) else []
    if not lines:
        return []
    limit = limit_of(key_of(result), True)
    heavy = heavy_notes(_forces(result)[True], limit)
    points = np.isfinite(figure(result, "pallet_pluck_point"))
    several = [int(note) for note, row in zip(result["semitone"], points, strict=True) if np.count_nonzero(row) > 1]
    return [*lines, helps(any(note in several for note in heavy))]


def heavy_told(result: Result, units: System) -> list[str]:
    """The heavy notes of a result, coupled or not: a line for those that move other keys, one for those alone."""
    key, named = key_of(result), partial(note_ranges, result)
    lines = [heavy_line(forces, limit_of(key, on), named, units) for on, forces in _forces(result).items()]
    return [line for line in lines if line]


def _forces(result: Result) -> dict[bool, dict[int, float]]:
    """Pluck by note, N: of the notes that move other keys, and of those that do not."""
    found: dict[bool, dict[int, float]] = {True: {}, False: {}}
    for row, (note, force) in enumerate(zip(result["semitone"], result["pluck_force"], strict=True)):
        if np.isfinite(force):
            found[is_coupled(result) and bool(couplers(result, row))][int(note)] = float(force)
    return found
