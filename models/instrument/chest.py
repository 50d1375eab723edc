"""A chest: in which order its grooves stand, and where."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise


@dataclass(frozen=True)
class Chest:
    """A chest as its grooves lie side by side.

    Parameters
    ----------
    order : tuple of (str, int)
        Division and note of every groove, from the left as the player sees it. A chest for two keyboards has grooves
        of both.
    widths : mapping of (str, int) to float
        Width of each groove, m.
    bar : float
        Between two grooves, m.
    gaps : mapping of (str, int) to float
        Further room behind (to the right of) a groove: for posts, and for reaching past the pipes, m.
    middle : float
        Across, of the middle of the row of grooves, m.
    back, up : float
        Of the pallets' eyes, m.
    """

    order: tuple[tuple[str, int], ...]
    widths: Mapping[tuple[str, int], float]
    bar: float
    gaps: Mapping[tuple[str, int], float]
    middle: float
    back: float
    up: float

    @property
    def divisions(self) -> tuple[str, ...]:
        """Whose grooves it has, in the order in which they are met from the left."""
        return tuple(dict.fromkeys(division for division, _ in self.order))


def centres(chest: Chest) -> tuple[float, ...]:
    """Across, of the middle of every groove, from the left, m.

    Grooves lie a bar apart, and a gap further where one is said. A gap behind a note with several grooves side by side
    is behind the last of them.

    Parameters
    ----------
    chest : Chest

    Returns
    -------
    tuple of float
        One for each of `Chest.order`.
    """
    found, edge = [], chest.middle - width(chest) / 2
    for groove, after in zip(chest.order, (*chest.order[1:], None), strict=True):
        found.append(edge + chest.widths[groove] / 2)
        edge += chest.widths[groove] + _between(chest, groove, after)
    return tuple(found)


def width(chest: Chest) -> float:
    """From the left edge of the first groove to the right edge of the last, m."""
    inner = sum(_between(chest, *pair) for pair in pairwise(chest.order))
    return sum(chest.widths[groove] for groove in chest.order) + inner


def pallets(chest: Chest, division: str = "") -> dict[int, float]:
    """Across, of the line in which each note's pallet is pulled: the middle of its grooves.

    Parameters
    ----------
    chest : Chest
    division : str
        Whose notes.

    Returns
    -------
    dict
        Note to place across, m, from the left.
    """
    found: dict[int, list[float]] = {}
    for (owner, note), at in zip(chest.order, centres(chest), strict=True):
        if owner == division:
            found.setdefault(note, []).append(at)
    return {note: sum(at) / len(at) for note, at in found.items()}


def pitch(chest: Chest, division: str = "") -> dict[int, float]:
    """What each note takes of the chest's width: its grooves with a bar beside each, m; gaps not counted.

    Parameters
    ----------
    chest : Chest
    division : str
        Whose notes.

    Returns
    -------
    dict
        Note to width, m.
    """
    grooves = Counter(note for owner, note in chest.order if owner == division)
    return {note: times * (chest.widths[division, note] + chest.bar) for note, times in grooves.items()}


def _between(chest: Chest, groove: tuple[str, int], after: tuple[str, int] | None) -> float:
    """Room between a groove and the next: a bar, and the gap behind the last of a note's grooves."""
    return chest.bar + (chest.gaps.get(groove, 0.0) if groove != after else 0.0)
