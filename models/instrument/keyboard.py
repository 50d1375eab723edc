"""A keyboard: where its keys stand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal


@dataclass(frozen=True)
class Keyboard:
    """A keyboard and its place.

    Parameters
    ----------
    name : str
    notes : tuple of int
        What its keys sound, rising; C4 = 60.
    octave : float
        Span of seven naturals, m.
    middle : float
        Across, of the middle of the keyboard, m.
    back, up : float
        Of the front edge and of the upper side of its naturals, m.
    tails : {"even", "by-naturals"}
        How the rods' lines share the octave: twelve alike, or five over the three naturals C to E and seven over the
        four F to B.
    stands : mapping of int to float
        Semitone of the usual keyboard at which a note's key stands, for notes that stand elsewhere: in short and
        broken octaves. A half is midway between two keys.
    pedals : bool
        Whether feet play it.
    """

    name: str
    notes: tuple[int, ...]
    octave: float
    middle: float = 0.0
    back: float = 0.0
    up: float = 0.0
    tails: Literal["even", "by-naturals"] = "even"
    stands: Mapping[int, float] = field(default_factory=dict)
    pedals: bool = False
