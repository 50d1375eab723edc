"""A chest: in which order its grooves stand, and where."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


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
