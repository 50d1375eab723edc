"""The orders in which the notes of a chest stand, from left to right."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from typing import Literal

from keyaction.models.notes import note_name

Notes = tuple[int, ...]


def _chromatic(notes: Notes) -> Notes:
    """Rising in semitones from the left."""
    return notes


def _two_sides(notes: Notes) -> Notes:
    """Two whole-tone rows: that of the lowest note rises from the left, the other from the right, until they meet.

    On a keyboard from C these are the C side (C, D, E, F#, G#, A#) and the C# side.
    """
    near, far = _rows(notes, 2)
    return near + far[::-1]


def _thirds(notes: Notes) -> Notes:
    """Four rows of major thirds, two on each half, each half with its basses outside.

    On a keyboard from C, from the left: C, E, G# ... rising, the row of D falling to the middle; then the row of D#
    rising from there, and that of C# falling to the right end.
    """
    first, fourth, second, third = _rows(notes, 4)
    return first + second[::-1] + third + fourth[::-1]


def _basses_outside(notes: Notes) -> Notes:
    """The lowest note at the left end, the next at the right end, and so on by turns to the middle."""
    return notes[::2] + notes[1::2][::-1]


def _basses_inside(notes: Notes) -> Notes:
    """The lowest note in the middle, the next on its right, and so on by turns to the ends, the lower on the left."""
    return notes[::2][::-1] + notes[1::2]


_ORDERS: Mapping[str, Callable[[Notes], Notes]] = {
    "chromatic": _chromatic,
    "two-sides": _two_sides,
    "thirds": _thirds,
    "basses-outside": _basses_outside,
    "basses-inside": _basses_inside,
}

ORDERS: tuple[str, ...] = tuple(_ORDERS)
"""The orders that have a name."""


def _rows(notes: Notes, step: int) -> list[Notes]:
    """Notes that lie whole steps from the lowest, then those a semitone above, and so on."""
    lowest = notes[0] if notes else 0
    return [tuple(note for note in notes if (note - lowest) % step == row) for row in range(step)]


def order_notes(notes: Sequence[int], name: str, first: Literal["left", "right"] = "left") -> Notes:
    """Notes in one of the usual orders of a chest.

    ``chromatic``
        Rising in semitones from the left.
    ``two-sides``
        Two whole-tone rows with the basses outside: that of the lowest note rises from the left, the other from the
        right. From C: C, D, E, F#, G#, A# ... and back down ... B, A, G, F, D#, C#. What is left out in a short octave
        is missing on its side; the sides stay as they are.
    ``thirds``
        Four rows of major thirds, two on each half, each half with its basses outside. From C: C, E, G# ... rising,
        ... A#, F#, D falling to the middle, D#, G, B ... rising, ... A, F, C# falling to the right end.
    ``basses-outside``
        By turns left and right, the lowest at the left end: as ``two-sides``, but where notes are left out the turns go
        on, so that both halves have as many.
    ``basses-inside``
        By turns left and right, the lowest in the middle: ... E, D, C, C#, D#, F ...

    Parameters
    ----------
    notes : sequence of int
        Rising.
    name : str
        One of `ORDERS`.
    first : {"left", "right"}
        Side on which the lowest note stands; with ``right`` everything is the other way round.

    Returns
    -------
    tuple of int
        The same notes from left to right.

    Raises
    ------
    KeyError
        If there is no order of that name.
    """
    ordered = _ORDERS[name](tuple(notes))
    return ordered if first == "left" else ordered[::-1]


def check_order(listed: Sequence[int], notes: Sequence[int], names: Callable[[int], str] = note_name) -> list[str]:
    """What is wrong with an order that is given note by note.

    Parameters
    ----------
    listed : sequence of int
        From left to right.
    notes : sequence of int
        All that should stand in it, each once.
    names : callable, optional
        Writes a note.

    Returns
    -------
    list of str
        Notes left out, notes given again, notes that are not there; empty if it is sound.
    """
    counts, wanted = Counter(listed), set(notes)
    found = {
        "leaves out": [note for note in notes if note not in counts],
        "repeats": [note for note, times in sorted(counts.items()) if times > 1 and note in wanted],
        "has notes that are not there:": [note for note in sorted(counts) if note not in wanted],
    }
    return [f"the order {what} {', '.join(map(names, which))}" for what, which in found.items() if which]
