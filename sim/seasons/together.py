"""What the notes of a division have in common on a day, and the places by which all are adjusted at once."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from keyaction.models.frame.rail import Rail
from keyaction.sim.floating.course import RailCourse
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.seasons.advice import NO_GAIN, Common, Kind, Place, RailState, Window

NEIGHBOURS = 4
"""Notes on either side whose median a note is held against, as for the friction in tuning."""
MOST = 0.5
"""Share from which on notes count as moved alike, and as lacking together: more than half; assumed."""
_ORDER: Mapping[Kind, int] = {"rail": 0, "frame": 1, "member": 2, "levers": 3}


def share_of_mean(moved: Floats) -> float:
    """What the mean explains of how far notes moved, as a share of their sum of squares; NaN if none has moved.

    1 where all moved alike; 1/N where one of N moved alone.
    """
    known = moved[np.isfinite(moved)]
    whole = float(np.sum(known**2))
    return float(len(known) * np.mean(known) ** 2 / whole) if whole > 0.0 else math.nan


def neighbours(notes: Sequence[int], note: int) -> list[int]:
    """The notes on either side, `NEIGHBOURS` at most each; fewer at the ends."""
    at = list(notes).index(note)
    return [*notes[max(at - NEIGHBOURS, 0) : at], *notes[at + 1 : at + 1 + NEIGHBOURS]]


def common(
    place: Place, moved: Mapping[int, float], margin: Mapping[int, float], windows: Mapping[int, Window]
) -> Common | None:
    """A place as an adjuster of all notes.

    Parameters
    ----------
    place : Place
    moved : mapping of int to float
        How much tighter every run is on that day, counted at the key, m.
    margin : mapping of int to float
        On that day, m at the key.
    windows : mapping of int to Window
        Of every note.

    Returns
    -------
    Common or None
        None where moving the place does next to nothing for most notes.
    """
    notes = [note for note in moved if math.isfinite(moved[note]) and note in place.gains]
    gains = np.array([place.gains[note] for note in notes])
    if not len(notes) or float(np.median(np.abs(gains))) < NO_GAIN:
        return None
    undoes = -float(gains @ np.array([moved[note] for note in notes]) / (gains @ gains))
    felt = [note for note in notes if abs(place.gains[note]) >= NO_GAIN and math.isfinite(windows[note].middle)]
    year = float(np.median([-windows[note].middle / place.gains[note] for note in felt])) if felt else math.nan
    looser = {note: -place.gains[note] * year for note in notes}
    shut = tuple(note for note in notes if not windows[note].open)
    missed = (note for note in notes if not windows[note].least <= looser[note] <= windows[note].most)
    outside = tuple(note for note in missed if note not in shut)
    return Common(place, undoes, year, {note: margin[note] + looser[note] for note in notes}, outside, shut)


def ordered(found: Sequence[Common]) -> tuple[Common, ...]:
    """The rail first, then what carries the keys, other members, pins of levers; of alike ones the stronger."""

    def order(one: Common) -> tuple[int, float]:
        return _ORDER[one.place.kind], -float(np.median(np.abs(list(one.place.gains.values()))))

    return tuple(sorted(found, key=order))


def that_serve(found: Sequence[Common], rail: RailState) -> tuple[Common, ...]:
    """The places that are of use as the rail stands: one that floats goes after whatever else is moved.

    One that is driven back to its stop is brought off it by the others.
    """
    if rail in ("none", "fixed"):
        return tuple(found)
    return tuple(one for one in found if one.place.kind != "rail") if rail == "stop" else ()


def rail_state(rail: Rail | None, course: RailCourse | None, day: int, further: float) -> RailState:
    """How the rail stands on a day.

    Parameters
    ----------
    rail : Rail or None
    course : RailCourse or None
        Of a rail that floats.
    day : int
    further : float
        How much further it would have to be with its load, for the notes to stand as on the day of regulation, m.
    """
    if rail is None:
        return "none"
    if rail.fixed or course is None:
        return "fixed"
    if course.at_stop[day] < 0:  # driven back by its rods; at the stop ahead it is its load that draws them
        return "stop"
    held = (course.upper[day] - course.lower[day]) / 2
    return "friction" if 0.0 < abs(further) <= held else "load"
