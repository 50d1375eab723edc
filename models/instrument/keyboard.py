"""A keyboard: where its keys stand."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from keyaction.models.notes import is_sharp

if TYPE_CHECKING:
    from keyaction.models.instrument.place import Point

Tails = Literal["even", "by-naturals"]
OCTAVE, PEDAL_OCTAVE = 0.165, 0.434
"""Span of seven naturals, m: of a manual, and of a pedal with 62 mm from natural to natural (common practice)."""
SHARP_BACK, SHARP_UP, SPLIT_BACK = 0.05, 0.012, 0.045
"""m: how far a sharp's front stands behind the naturals' and its top above them, and how much further back the rear
half of a split sharp begins (common practice)."""
PEDAL_SHARP_BACK, PEDAL_SHARP_UP = 0.45, 0.035
"""The same of the sharps of a pedal, m (common practice)."""

_NATURALS = (0, 0, 1, 1, 2, 3, 3, 4, 4, 5, 5, 6)
"""How many naturals of its octave lie below each of the twelve; below a sharp, without its left neighbour."""
_LOW_KEYS, _LOW_NATURALS = 5, 3
"""C to E: five keys over three naturals; the other seven share four."""


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
        broken octaves. Fractions are shares of that key's width at its tail; of a split sharp the front half stands
        below its semitone, the rear half above it. A half is midway between two keys.
    pedals : bool
        Whether feet play it.
    """

    name: str
    notes: tuple[int, ...]
    octave: float
    middle: float = 0.0
    back: float = 0.0
    up: float = 0.0
    tails: Tails = "even"
    stands: Mapping[int, float] = field(default_factory=dict)
    pedals: bool = False


def fronts(keyboard: Keyboard) -> dict[int, float]:
    """Across, of the middle of every key's front.

    Naturals share the octave in seven; a sharp stands on the line between its neighbours.

    Parameters
    ----------
    keyboard : Keyboard

    Returns
    -------
    dict
        Note to place across, m. Both halves of a split sharp have the same.
    """
    shift = _shift(keyboard)
    return {note: _at_stand(_front, stand) * keyboard.octave + shift for note, stand in stands(keyboard).items()}


def tails(keyboard: Keyboard) -> dict[int, float]:
    """Across, of the lines in which the keys' rods run.

    Parameters
    ----------
    keyboard : Keyboard

    Returns
    -------
    dict
        Note to place across, m. Octaves begin and end where those of the fronts do.
    """
    shift = _shift(keyboard)
    tail = _even if keyboard.tails == "even" else _by_naturals
    return {note: tail(stand) * keyboard.octave + shift for note, stand in stands(keyboard).items()}


def front_place(keyboard: Keyboard, note: int) -> Point:
    """Middle of the front edge of a key's upper side: sharps stand higher and begin further back.

    Parameters
    ----------
    keyboard : Keyboard
    note : int

    Returns
    -------
    (float, float, float)
        Across, back and up, m.

    Raises
    ------
    KeyError
        If the keyboard has no such note.
    """
    stand = stands(keyboard)[note]
    across, key = fronts(keyboard)[note], _key(stand)
    if not is_sharp(key):
        return across, keyboard.back, keyboard.up
    back, up = (PEDAL_SHARP_BACK, PEDAL_SHARP_UP) if keyboard.pedals else (SHARP_BACK, SHARP_UP)
    behind = SPLIT_BACK if stand > key else 0.0
    return across, keyboard.back + back + behind, keyboard.up + up


def stands(keyboard: Keyboard) -> dict[int, float]:
    """Semitone of the usual keyboard at which each note's key stands."""
    return {note: keyboard.stands.get(note, note) for note in keyboard.notes}


def edges(keyboard: Keyboard) -> tuple[float, float]:
    """Across, of the left and the right edge of its naturals (of sharps alone: of the naturals' lines that they stand
    on), m.
    """
    left, right = _edges(keyboard)
    shift = _shift(keyboard)
    return left * keyboard.octave + shift, right * keyboard.octave + shift


def _shift(keyboard: Keyboard) -> float:
    left, right = _edges(keyboard)
    return keyboard.middle - keyboard.octave * (left + right) / 2


def _edges(keyboard: Keyboard) -> tuple[float, float]:
    """Left and right edge of the naturals, octaves from the lowest C there is."""
    keys = [_key(stand) for stand in stands(keyboard).values()]
    naturals = [_front(key) for key in keys if not is_sharp(key)]
    if naturals:
        return min(naturals) - 1 / 14, max(naturals) + 1 / 14
    sharps = [_front(key) for key in keys] or [0.0]
    return min(sharps), max(sharps)


def _key(stand: float) -> int:
    """The key that a note stands at or shares."""
    return math.floor(stand + 0.5)


def _at_stand(line: Callable[[int], float], stand: float) -> float:
    """A key's line; of a note between two keys the middle of theirs."""
    key = _key(stand)
    return (line(key - 1) + line(key)) / 2 if stand - key == -0.5 else line(key)


def _front(key: int) -> float:
    octave, step = divmod(key, 12)
    naturals = _NATURALS[step] + (1.0 if is_sharp(key) else 0.5)
    return octave + naturals / 7


def _even(stand: float) -> float:
    return (stand + 0.5) / 12


def _by_naturals(stand: float) -> float:
    octave, step = divmod(stand + 0.5, 12)
    low = _LOW_NATURALS / 7
    if step <= _LOW_KEYS:
        return octave + step / _LOW_KEYS * low
    return octave + low + (step - _LOW_KEYS) / (12 - _LOW_KEYS) * (1 - low)
