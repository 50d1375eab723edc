"""A note that sounds in a dry spell, or has too little margin: what to adjust first, and what that does later on.

The season is taken with its rail where it stood: one nut of many hardly moves a rail that all notes hold.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from keyaction.models.climate.year import DAY, YEAR, Year
from keyaction.models.notes import note_name
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.seasons.advice import THREAD, Advice, Common, First, Limits, RailState, Window
from keyaction.sim.seasons.allowed import figure, window
from keyaction.sim.seasons.bench import Bench, bench_of
from keyaction.sim.seasons.joints import joints, opposite
from keyaction.sim.seasons.season import DivisionSeason, NoteSeason
from keyaction.sim.seasons.together import MOST, common, neighbours, ordered, rail_state, share_of_mean

_WHOLE = 330 * DAY
"""s: a climate at least that long is taken to come round again."""


class CannotAdjust(ValueError):
    """A note for which there is nothing to go by; the message says why."""


def adjust(
    season: DivisionSeason,
    note: int,
    day: int | None = None,
    limits: Limits | None = None,
    pitch: float = THREAD,
    bench: Bench | None = None,
    spells: Sequence[tuple[int, int, str]] = (),
) -> Advice:
    """What to do about one note.

    Parameters
    ----------
    season : DivisionSeason
        With the note's neighbours, whose margins tell a common fault from one of its own.
    note : int
    day : int, optional
        An instant of the year; by default the one on which the note has least margin.
    limits : Limits, optional
    pitch : float
        Of the nuts' thread, m.
    bench : Bench, optional
        By default that of the division.
    spells : sequence of (int, int, str)
        First and last instants of what is outside published guidance, and what it says.

    Raises
    ------
    CannotAdjust
        If the season does not hold the note, or has no figures of it.
    """
    limits, bench = limits or Limits(), bench or bench_of(season)
    one = _checked(season, note, bench)
    day = int(np.nanargmin(figure(one, "margin"))) if day is None else day
    sound = {n: other for n, other in season.notes.items() if not other.failed and n in bench.eyes}
    margin, moved = ({n: float(figure(other, what)[day]) for n, other in sound.items()} for what in _WHAT)
    windows = {n: window(other, abs(bench.eyes[n]), limits) for n, other in sound.items()}
    beside = [margin[n] for n in neighbours(list(sound), note)]
    typical = float(np.median(beside)) if beside else math.nan
    commons = ordered([found for place in bench.places if (found := common(place, moved, margin, windows))])
    lacking = sum(value < limits.keep for value in margin.values())
    alone = bool(beside) and typical >= limits.keep
    share = share_of_mean(np.array(list(moved.values())))
    together = not alone and len(sound) > 1 and share > MOST and lacking > MOST * len(sound)
    lacks, own = max(limits.keep - margin[note], 0.0), windows[note]
    other = opposite(one, bench, lacks, own.middle, limits, together)
    back = returns(season.year, figure(one, "margin"), day, limits.keep)
    spell = next((text for first, last, text in spells if first <= day <= last), "")
    moved_more = moved[note] - float(np.median([moved[n] for n in neighbours(list(sound), note)])) if beside else 0.0
    rail = rail_state(season.rail, day, next((c.undoes for c in commons if c.place.kind == "rail"), 0.0))
    first = _first(lacks, bool(spell) and back <= limits.short, together, commons, own, rail)
    return Advice(
        season.division, note, one.name or note_name(note), day, one.balanced, margin[note], limits, pitch,
        share, lacking, len(sound), alone, typical - margin[note], moved_more,
        joints(one, day, bench, margin[note], limits, own, pitch), commons, own, other, back, spell, rail, first,
    )  # fmt: skip


_WHAT = ("margin", "tightening")


def _checked(season: DivisionSeason, note: int, bench: Bench) -> NoteSeason:
    if note not in season.notes:
        raise CannotAdjust(f"{note_name(note)} is not among the notes of this season")
    one = season.notes[note]
    if one.failed or one.tightness is None or note not in bench.ways:
        raise CannotAdjust(f"{one.name}: {one.failed or 'has no resting states'}")
    if np.all(np.isnan(figure(one, "margin"))):
        raise CannotAdjust(f"{one.name}: has no margin on any day of the year")
    return one


def _first(lacks: float, waits: bool, together: bool, commons: Sequence[Common], own: Window, rail: RailState) -> First:
    """What is to be done first: nothing, to wait, the floating rail, a common place, its own nut, another material."""
    if lacks == 0.0:
        return "nothing"
    if waits:
        return "wait"
    if together and rail not in ("none", "fixed"):
        return "rail"
    if together and commons:
        return "common"
    return "nut" if own.open else "material"


def returns(year: Year, margin: Floats, day: int, keep: float) -> float:
    """Seconds from an instant until the margin is enough again by itself.

    Parameters
    ----------
    year : Year
        Comes round again if it is nearly a year long.
    margin : (D,) array
        m.
    day : int
    keep : float
        m.

    Returns
    -------
    float
        0 where it is enough on that day; NaN where it does not come back within what is known.
    """
    enough = np.flatnonzero(margin >= keep)
    later = enough[enough >= day]
    if len(later):
        return float(year.seconds[later[0]] - year.seconds[day])
    if not len(enough) or year.seconds[-1] < _WHOLE:
        return math.nan
    return float(YEAR + year.seconds[enough[0]] - year.seconds[day])
