"""Values over the compass: control points joined by a stated law."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from keyaction.cases.fields.cubic import monotone_cubic
from keyaction.cases.text.defects import BadValue
from keyaction.models.fields.values import Scalar

Floats = NDArray[np.float64]


def _linear(x: Floats, y: Floats, at: Floats) -> Floats:
    return np.asarray(np.interp(at, x, y), dtype=np.float64)


def _geometric(x: Floats, y: Floats, at: Floats) -> Floats:
    return np.exp(np.interp(at, x, np.log(y)))


_LAWS: Mapping[str, Callable[[Floats, Floats, Floats], Floats]] = {
    "linear": _linear,
    "smooth": monotone_cubic,
    "geometric": _geometric,
}

_TOO_FAR = "the values at the control points are too far apart to be joined"

BETWEEN = (*_LAWS, "steps")
"""The laws that may join control points."""


def spread(points: Sequence[tuple[int, Scalar]], between: str, notes: Iterable[int]) -> dict[int, Scalar]:
    """The value at every note; beyond the first and the last control point it is held.

    Parameters
    ----------
    points : sequence of (int, scalar)
        Control points, rising by note.
    between : str
        ``linear`` or ``smooth`` (piecewise cubic without overshoot: Fritsch and Carlson, "Monotone piecewise
        cubic interpolation", SIAM J. Numer. Anal. 17, 1980) over the semitones, ``geometric`` (equal ratios
        from note to note) or ``steps`` (a value holds until the next control point).
    notes : iterable of int
        The notes wanted.

    Returns
    -------
    dict
        Note to value, exact at the control points and never outside the two points around a note.

    Raises
    ------
    BadValue
        If the values cannot be joined by that law.
    """
    if between == "steps":
        return {note: _step(points, note) for note in notes}
    return dict(_joined(points, between, list(notes)))


def _step(points: Sequence[tuple[int, Scalar]], note: int) -> Scalar:
    passed = [value for at, value in points if at <= note]
    return passed[-1] if passed else points[0][1]


def _joined(points: Sequence[tuple[int, Scalar]], between: str, notes: list[int]) -> Iterable[tuple[int, Scalar]]:
    x = np.array([note for note, _ in points], dtype=np.float64)
    y = np.array([value for _, value in points], dtype=np.float64)
    if between == "geometric" and not np.all(y > 0):
        raise BadValue('between = "geometric" needs values above zero; use "linear" or "smooth"')
    at = np.clip(np.array(notes, dtype=np.float64), x[0], x[-1])
    try:
        with np.errstate(all="ignore"):
            values = _LAWS[between](x, y, at)
    except ValueError:
        raise BadValue(_TOO_FAR) from None
    # Rounding may carry a value past its two neighbours, hence past an allowed limit.
    left = np.clip(np.searchsorted(x, at, side="right") - 1, 0, len(x) - 2)
    low, high = np.minimum(y[left], y[left + 1]), np.maximum(y[left], y[left + 1])
    values = np.clip(values, low, high)
    if not np.all(np.isfinite(values)):
        raise BadValue(_TOO_FAR)
    exact = dict(points)
    held = [int(note) for note in at]
    return [(note, exact.get(one, float(value))) for note, one, value in zip(notes, held, values, strict=True)]


def point_origin(points: Sequence[tuple[int, Scalar]], between: str, note: int, name: Callable[[int], str]) -> str:
    """Where the value at a note comes from, in words.

    Parameters
    ----------
    points, between
        As for `spread`.
    note : int
        The note.
    name : callable
        Writes a note's name.

    Returns
    -------
    str
        For instance "case, linear between C2 and C4".
    """
    at = [one for one, _ in points]
    if note in at:
        return f"case, control point {name(note)}"
    if note < at[0]:
        return f"case, held below the first control point {name(at[0])}"
    if note > at[-1]:
        return f"case, held above the last control point {name(at[-1])}"
    before = max(one for one in at if one < note)
    after = min(one for one in at if one > note)
    if between == "steps":
        return f"case, in steps from {name(before)} until {name(after)}"
    return f"case, {between} between {name(before)} and {name(after)}"
