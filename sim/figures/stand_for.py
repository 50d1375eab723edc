"""Which notes stand for a compass where not all can be shown."""

from __future__ import annotations

from collections.abc import Sequence

MOST = 3


def standing_for(numbers: Sequence[int], sound: Sequence[bool]) -> list[int]:
    """Rows of at most three notes: the lowest, middle and highest C, or note where there is no C.

    Parameters
    ----------
    numbers : sequence of int
        Rising semitone numbers.
    sound : sequence of bool
        Notes that are passed over if they are not, as long as others can stand for them.
    """
    rows = [i for i, ok in enumerate(sound) if ok] or list(range(len(numbers)))
    rows = [i for i in rows if numbers[i] % 12 == 0] or rows
    return [rows[0], rows[len(rows) // 2], rows[-1]] if len(rows) > MOST else rows
