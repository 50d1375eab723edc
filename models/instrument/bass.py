"""The lowest octave of old keyboards: short and broken, with fewer keys than semitones."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, get_args

from keyaction.models.instrument.problem import LayoutProblem
from keyaction.models.notes import note_name

Bass = Literal["full", "short C/E", "short G/B", "broken C/E"]
BASSES: tuple[Bass, ...] = get_args(Bass)


@dataclass(frozen=True)
class _Octave:
    """A lowest octave: its lowest note as a step from C, where its notes stand from that note on, and what it lacks."""

    lowest: int
    stands: Mapping[int, float]
    lacks: tuple[int, ...]


_OCTAVES: Mapping[str, _Octave] = {
    "short C/E": _Octave(0, {0: 4, 2: 6, 4: 8}, (1, 3, 6, 8)),
    "short G/B": _Octave(7, {0: 4, 2: 6, 4: 8}, (1, 3, 6, 8)),
    "broken C/E": _Octave(0, {0: 4, 2: 5.75, 4: 7.75, 6: 6.25, 8: 8.25}, (1, 3)),
}
"""The keys E, F#, G# sound C, D, E; the keys B, C#, D# sound G, A, B: a major third below their place, both times."""


def bass_octave(bass: str, low: int, high: int) -> tuple[tuple[int, ...], dict[int, float]]:
    """What a keyboard with such a lowest octave sounds, and where those keys stand.

    Short, C/E: the keys E, F# and G# sound C, D and E, and there is no other key below F but E.
    Short, G/B: the keys B, C# and D# sound G, A and B; the keys go on with C, D and E.
    Broken, C/E: F# and G# are split; their front halves sound D and E, their rear halves F# and G#.

    Parameters
    ----------
    bass : {"full", "short C/E", "short G/B", "broken C/E"}
    low, high : int
        Lowest and highest note that it sounds.

    Returns
    -------
    notes : tuple of int
        All that it sounds, rising.
    stands : dict
        For `Keyboard.stands`.

    Raises
    ------
    LayoutProblem
        If the lowest note does not go with that octave.
    """
    if bass == "full":
        return tuple(range(low, high + 1)), {}
    octave = _OCTAVES[bass]
    if low % 12 != octave.lowest or high < low + 11:
        wanted = f"begins with {note_name(12 + octave.lowest)[0]} and has an octave at least"
        raise LayoutProblem([f'bass = "{bass}": such a keyboard {wanted}; this one goes {_ends(low, high)}'])
    lacks = {low + step for step in octave.lacks}
    notes = tuple(note for note in range(low, high + 1) if note not in lacks)
    return notes, {low + step: low + stand for step, stand in octave.stands.items()}


def _ends(low: int, high: int) -> str:
    return f"{note_name(low)} to {note_name(high)}"
