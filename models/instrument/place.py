"""Where a note's key and its pallet stand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from keyaction.models.instrument.chest import Chest, pallets
from keyaction.models.instrument.keyboard import Keyboard, tails

Point = tuple[float, float, float]
"""Across (bass to treble), back (from the keys' fronts into the case) and up, in m."""
Side = Literal["left", "right", "straight"]

STRAIGHT = 1e-6
"""m sideways below which a key is straight under its pallet: lengths are cut to no better than 0.1 mm."""


@dataclass(frozen=True)
class Place:
    """A note's place at its key's rod and at its pallet.

    Parameters
    ----------
    note : int
        C4 = 60.
    key : float
        Across, of the line in which the key's rod runs, m.
    pallet : float
        Across, of the line in which the pallet is pulled, m.
    """

    note: int
    key: float
    pallet: float

    @property
    def sideways(self) -> float:
        """How far the motion is carried to the right, m; to the left it is below zero."""
        return self.pallet - self.key

    @property
    def side(self) -> Side:
        """To which side the pallet stands from the key, seen from the player."""
        if abs(self.sideways) < STRAIGHT:
            return "straight"
        return "right" if self.sideways > 0 else "left"


def places(keyboard: Keyboard, chest: Chest, division: str = "") -> dict[int, Place]:
    """Where the notes of a division stand at their keys and at their pallets.

    Parameters
    ----------
    keyboard : Keyboard
    chest : Chest
    division : str
        Whose grooves.

    Returns
    -------
    dict
        Place by note, rising: of every note that has both a key and a groove.
    """
    keys, pulled = tails(keyboard), pallets(chest, division)
    return {note: Place(note, keys[note], pulled[note]) for note in keyboard.notes if note in pulled}
