"""What load a floating rail works with: enough that chords do not shift it, so little that the touch bears it."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np

from keyaction.sim.figures.evenness import JUST_NOTICEABLE
from keyaction.sim.floating.centre import centred
from keyaction.sim.floating.equilibrium import Held
from keyaction.sim.floating.played import hardest, shift_when_played
from keyaction.sim.motion.integrate import Floats

PLAY = 0.2e-3
"""m at the key that a chord may give other notes: about the lost motion that is set on purpose; common practice."""
HALVINGS = 20
"""Of the loads between which a bound is sought: to a millionth of the highest."""


@dataclass(frozen=True)
class Bound:
    """One bound of the load.

    Attributes
    ----------
    load : float
        N; infinite where nothing bounds it.
    note : int, optional
        The note that sets it.
    """

    load: float
    note: int | None


@dataclass(frozen=True)
class LoadWindow:
    """The loads with which a rail works, nuts set at each load so that every note pulls its share.

    Attributes
    ----------
    chord : tuple of int
        What is played against it.
    chord_pull : float
        What that chord pulls at the rail, N: about the smallest load where others give way within the play allowed.
    smallest : Bound
        With which the chord gives no other note more than the play allowed, friction and all; infinite if none does.
    touch : Bound
        From which on a finger can tell the share of a note at its key, beside its pluck force. It meets it before the
        key gives; the pluck itself is as hard as without, since wind and springs set it: it bounds nothing.
    windless : Bound
        At which a note's share opens its pallet while there is no wind: it would sound as the wind comes on.
    margin : Bound
        At which the tightest note's pallet leaves its seat at rest on some day; 0 if it does under any load.
    first_day : int
        The day on which it does.
    """

    chord: tuple[int, ...]
    chord_pull: float
    smallest: Bound
    touch: Bound
    windless: Bound
    margin: Bound
    first_day: int

    @property
    def largest(self) -> Bound:
        """The upper bound that gives first."""
        return min(self.windless, self.margin, key=lambda bound: bound.load)

    @property
    def works(self) -> bool:
        """Whether some load does both: holds the chord, and leaves every pallet on its seat, wind or none, all year."""
        return self.smallest.load <= self.largest.load


def load_window(
    held: Held,
    pulls: Mapping[int, float],
    forces: Mapping[int, float],
    tighter: Floats,
    chord: Collection[int] | None = None,
    allowed: float = PLAY,
    noticeable: float = JUST_NOTICEABLE,
    off: Held | None = None,
) -> LoadWindow:
    """Find the smallest load that a chord does not shift, and the largest that pallets bear, wind or none, all year.

    Parameters
    ----------
    held : Held
        Its rail's own load does not matter, its friction, rate and stops do.
    pulls : mapping of int to float
        Force of every note on the rail against its load at its pluck, N.
    forces : mapping of int to float
        Pluck force of every note at its key, N.
    tighter : (n, D) array
        How much wood and heat draw each note's rod tighter over the year, m, before the rail moves.
    chord : collection of int, optional
        By default the ten notes that pull most.
    allowed : float
        Play at the key of any other note, m; of a chord of all notes, of those themselves.
    noticeable : float
        Share of the pluck force that the load may add at the key.
    off : Held, optional
        The same rail and notes with the wind off; without them nothing is asked of that.
    """
    chosen = hardest(pulls) if chord is None else tuple(chord)
    played = {note: pulls[note] for note in chosen}
    margin, day = _margin_bound(held, tighter)
    return LoadWindow(
        chosen,
        sum(played.values()),
        _smallest(held, played, allowed),
        _touch(held, forces, noticeable),
        _margin_bound(held, tighter, off)[0] if off else Bound(np.inf, None),
        margin,
        day,
    )


def at_key(held: Held, load: float) -> Floats:
    """What a load lays on the key of every note at rest by its equal share, (n,), N: load / n x way / gain."""
    return np.divide(
        load / len(held.notes) * held.ways, held.gains, out=np.zeros(len(held.notes)), where=held.gains > 0
    )


def margins(held: Held, load: float, tighter: Floats, off: Held | None = None) -> Floats:
    """How much tighter every note may be drawn before its pallet leaves its seat at rest, (n, D), m at its key.

    Nuts set to this load (N), the rail following the year; infinite where no known stretch opens it. With `off`, the
    same notes without wind, they are set in the wind and then left without it.
    """
    stretch = centred(held.loaded(load)).stretch[:, None] + tighter
    held = off or held
    place = held.loaded(load).course(stretch).place
    return np.asarray((held.opens[:, None] - stretch - held.gains[:, None] * place) / held.ways[:, None])


def play_under(held: Held, load: float, played: Mapping[int, float]) -> tuple[int, float]:
    """Which other note a chord (N on the rail by note) gives most play at its key, and how much (m), under a load (N).

    Nuts set to this load, the rail at its centre, no friction. Of a chord of all notes, what those lose themselves.
    """
    loaded = held.loaded(load, friction=0.0)
    shift = shift_when_played(loaded, centred(loaded).stretch, played)
    if shift.worst:
        return shift.worst
    lost = -shift.way * held.gains / held.ways
    i = int(np.argmax(lost))
    return held.notes[i], float(lost[i])


def _smallest(held: Held, played: Mapping[int, float], allowed: float) -> Bound:
    """The smallest load; friction is added, since at its worst it carries so much of the load.

    At the load of which the chord's own shares are its pull the rail does not move at all: no more is needed.
    """
    low, high = 0.0, sum(played.values()) * len(held.notes) / len(played)
    if play_under(held, high, played)[1] > allowed:
        return Bound(np.inf, play_under(held, high, played)[0])
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (low, middle) if play_under(held, middle, played)[1] <= allowed else (middle, high)
    return Bound(high + held.rail.friction, play_under(held, low, played)[0])


def _touch(held: Held, forces: Mapping[int, float], noticeable: float) -> Bound:
    each = at_key(held, 1.0)
    bears = np.array([noticeable * forces[note] for note in held.notes])
    loads = np.divide(bears, each, out=np.full(len(bears), np.inf), where=each > 0.0)
    i = int(np.argmin(loads))
    return Bound(float(loads[i]), held.notes[i] if np.isfinite(loads[i]) else None)


def _margin_bound(held: Held, tighter: Floats, off: Held | None = None) -> tuple[Bound, int]:
    """The largest load at which no pallet leaves its seat over the year; more load never leaves more margin."""
    most = max(float(curve.at(min(at, curve.last))) for curve, at in zip(held.curves, held.opens, strict=True))
    low, high = 0.0, most * len(held.notes)
    found = margins(held, high, tighter, off)
    if np.min(found) > 0.0:
        return Bound(np.inf, None), -1
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        here = margins(held, middle, tighter, off)
        if np.min(here) > 0.0:
            low = middle
        else:
            high, found = middle, here
    note, day = np.unravel_index(int(np.argmin(found)), found.shape)
    return Bound(low, held.notes[int(note)]), int(day)
