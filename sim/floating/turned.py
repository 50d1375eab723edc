"""Nuts turned while a floating rail stands off its centre: right on that day, and what becomes of it over the year."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np

from keyaction.sim.floating.course import RailCourse
from keyaction.sim.floating.equilibrium import Held
from keyaction.sim.motion.integrate import Floats


@dataclass(frozen=True)
class Turned:
    """A division after some of its nuts were turned on one day.

    Attributes
    ----------
    day : int
    place : float
        Where the rail stood then, m.
    by : mapping of int to float
        How much each nut was turned, m at the rod that stands for all; above 0 tighter.
    offset : mapping of int to (D,) array
        Of each of them all year: how much tighter it is than as regulated, less the mean of the notes that were not
        turned (of all, if all were), m at the key; below 0 it is slacker than they are.
    before, after : RailCourse
        The rail over the year without and with it.
    """

    day: int
    place: float
    by: Mapping[int, float]
    offset: Mapping[int, Floats]
    before: RailCourse
    after: RailCourse

    @property
    def nearer(self) -> tuple[float, float]:
        """How much less way is left at the nearest to the stop ahead and to the one behind, m; below 0 more."""
        ahead = np.max(self.after.place) - np.max(self.before.place)
        behind = np.min(self.before.place) - np.min(self.after.place)
        return float(ahead), float(behind)

    @property
    def worst(self) -> tuple[int, int, float]:
        """Note, day and offset (m at the key) where one that was turned differs most from the others.

        Above 0 it is too tight there and its pallet may leave its seat; below 0 it has play.
        """
        note = max(self.offset, key=lambda one: float(np.max(np.abs(self.offset[one]))))
        day = int(np.argmax(np.abs(self.offset[note])))
        return note, day, float(self.offset[note][day])


def turned_off_centre(
    held: Held, stretch: Floats, right: Floats, notes: Collection[int], day: int, place: float | None = None
) -> Turned:
    """Turn the nuts of some notes on one day so that each is as regulated with the rail where it stands.

    Parameters
    ----------
    held : Held
    stretch : (n, D) array
        Of each note before the rail moves, m.
    right : (n,) array
        Stretch that counts as right, m: that on the day of regulation with the rail at its centre.
    notes : collection of int
        Whose nuts are turned.
    day : int
        The instant of the year.
    place : float, optional
        Where the rail is held meanwhile, m; by default where it stands by itself.
    """
    before = held.course(stretch)
    at = float(before.place[day]) if place is None else place
    chosen = np.array([note in notes for note in held.notes])
    by = np.where(chosen, right - stretch[:, day] - held.gains * at, 0.0)
    turned = stretch + by[:, None]
    after = held.course(turned)
    away = (turned + held.gains[:, None] * after.place - right[:, None]) / held.ways[:, None]
    others = away[chosen if np.all(chosen) else ~chosen].mean(axis=0)
    which = [i for i, one in enumerate(chosen) if one]
    return Turned(
        day,
        at,
        {held.notes[i]: float(by[i]) for i in which},
        {held.notes[i]: away[i] - others for i in which},
        before,
        after,
    )
