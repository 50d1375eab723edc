"""Why a note is not regulated: what is to be found or measured first, and where it goes on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

Sent = Literal["diagnose", "measure", "unhook"]


@dataclass(frozen=True)
class Cause:
    """Why a note is not regulated, or not by this work alone.

    Attributes
    ----------
    note : int
    stage : str
        Of `keyaction.sim.regulating.aims.STAGES`, where it belongs.
    kind : str
        What stands out: a kind of change, a word of the sheet, or "contradiction".
    amount : float
        Of that kind; NaN of others.
    said : str
        In words, without the note.
    sent : {"diagnose", "measure", "unhook"}
        Where it goes on.
    doubts : bool
        Whether the readings of the note say nothing of what all share. Nothing is turned there before in any case.
    apart : tuple of (str, float, float)
        Of a contradiction the figures, what was read, and what the other readings of the note want there, SI.
    """

    note: int
    stage: str
    kind: str
    amount: float
    said: str
    sent: Sent
    doubts: bool
    apart: tuple[tuple[str, float, float], ...] = ()


def joined(words: Sequence[str]) -> str:
    """Words as a sentence has them: "a, b and c"."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
