"""Names of notes in rows, side by side without overlap; leaders go from each to what it names."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from keyaction.models.notes import Naming, note_name
from keyaction.plots.drawings.drawing import Item, Stroke, Text
from keyaction.plots.drawings.lettering import SMALL, width
from keyaction.plots.style.labels import spread

_APART, _LEADER, _STRAIGHT = 1.3, 4.0, 1.0
"""Least room of a name over its height; mm on paper of a leader and of its straight beginning."""
_FAR = 6.0
"""mm on paper beyond which a name that was moved aside is no longer found by eye."""


@dataclass(frozen=True)
class Row:
    """A row of names.

    Parameters
    ----------
    items : tuple
    reach : float
        How far it reaches from where its leaders begin, mm of the real thing.
    crowded : bool
        Whether names stand far from what they name.
    """

    items: tuple[Item, ...]
    reach: float
    crowded: bool


def name_row(
    at: Mapping[int, float], level: float, upwards: bool, factor: float, naming: Naming, layer: str = "TEXT"
) -> Row:
    """Upright names over (or under) the places of their notes.

    Parameters
    ----------
    at : mapping of int to float
        Note to place across, mm.
    level : float
        Where the leaders begin, mm up.
    upwards : bool
        Whether the row stands above that level.
    factor : float
        Paper over real.
    naming : {"scientific", "trade", "german"}
    layer : str
    """
    notes = sorted(at, key=lambda note: (at[note], note))
    if not notes:
        return Row((), 0.0, False)
    places = spread_out([at[note] for note in notes], _APART * SMALL / factor)
    sign, items = (1.0 if upwards else -1.0), []
    straight, end = level + sign * _STRAIGHT / factor, level + sign * _LEADER / factor
    foot = end + sign * 0.8 / factor
    names = [note_name(note, naming) for note in notes]
    long = max(width(name, SMALL) for name in names)
    for note, place, name in zip(notes, places, names, strict=True):
        x = at[note]
        bent = ((x, level), (x, straight), (place, end)) if abs(place - x) * factor > 0.05 else ((x, level), (x, end))
        items.append(Stroke("DIMENSIONS", bent))
        side = "left" if upwards else "right"
        items.append(Text((place, foot), name, SMALL, math.pi / 2, side, "middle", layer, "note"))
    far = max(abs(place - at[note]) for note, place in zip(notes, places, strict=True)) * factor
    return Row(tuple(items), (_LEADER + 0.8 + long) / factor, far > _FAR)


def spread_out(wanted: Sequence[float], apart: float) -> list[float]:
    """Places that are so far apart at least, as near to those wanted (rising) as they can be."""
    return [float(x) for x in spread(wanted, [apart] * len(wanted), -math.inf, math.inf)]
