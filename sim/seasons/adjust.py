"""A note that sounds in a dry spell, wants margin or is mute: what to adjust first, and what that does later on.

The season is taken with its rail where it stood: one nut of many hardly moves a rail that all notes hold.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from keyaction.models.climate.guidance import DAMP, DRY, ORGANS
from keyaction.models.climate.year import DAY, YEAR, Year
from keyaction.models.notes import note_name
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.seasons.advice import THREAD, Advice, Common, First, Limits, Place, RailState, Window
from keyaction.sim.seasons.allowed import as_regulated, figure, mutes, window
from keyaction.sim.seasons.bench import Bench, bench_of
from keyaction.sim.seasons.joints import joints, opposite, tighter_to_speak
from keyaction.sim.seasons.season import DivisionSeason, NoteSeason
from keyaction.sim.seasons.together import MOST, common, neighbours, ordered, rail_state, share_of_mean, that_serve

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
) -> Advice:
    """What to do about one note.

    Parameters
    ----------
    season : DivisionSeason
        With the note's neighbours, whose margins tell a common fault from one of its own.
    note : int
    day : int, optional
        An instant of the year; by default the one on which the note has least margin, or if that is enough the slackest
        of those on which it is mute.
    limits : Limits, optional
    pitch : float
        Of the nuts' thread, m.
    bench : Bench, optional
        By default that of the division.

    Raises
    ------
    CannotAdjust
        If the season does not hold the note, or has no figures of it.
    """
    limits, bench = limits or Limits(), bench or bench_of(season)
    one = _checked(season, note, bench)
    day = _worst(one, limits) if day is None else day
    there = _Division.on(season, bench, day, limits)
    margin, own = there.margin[note], there.windows[note]
    beside = neighbours(list(there.margin), note)
    less, moved = (there.apart(note, beside, what) for what in (there.margin, there.moved))
    alone = bool(beside) and margin - less >= limits.keep
    together = not alone and there.together
    commons = ordered([found for place in bench.places if (found := there.common(place))])
    further = next((found.undoes for found in commons if found.place.kind == "rail"), 0.0)
    rail = rail_state(season.frame.rail, season.rail, day, further)
    commons = that_serve(commons, rail)
    lacks, spell = max(limits.keep - margin, 0.0), outside(season.year, day)
    silent = mutes(one)
    mute = bool(silent[day]) and not lacks
    speaks = tighter_to_speak(one, bench, day, limits.lift * _lift(season, note)) if mute else 0.0
    together = together if not mute else there.mostly_mute
    back = returns(season.year, figure(one, "margin"), day, limits.keep)
    otherwise = _first(lacks, together, commons, own, rail) if not mute else _tighter(together, commons, speaks)
    waits = bool(spell) and lacks > 0.0 and back <= limits.short
    turned = -speaks if mute and not math.isnan(speaks) else lacks
    return Advice(
        season.division, note, one.name, day, one.balanced, margin, limits, pitch,
        there.share, there.lacking, len(there.margin), alone, -less, moved,
        joints(one, day, bench, margin, limits, own, pitch), commons, further, own,
        opposite(one, bench, turned, own.middle, limits, together), back, spell, rail,
        "wait" if waits else otherwise, otherwise, figure(one, "margin"),
        mute, speaks, int(np.argmax(silent)) if np.any(silent) else -1,
    )  # fmt: skip


def adjust_all(
    season: DivisionSeason,
    day: int | None = None,
    limits: Limits | None = None,
    pitch: float = THREAD,
    bench: Bench | None = None,
) -> tuple[Advice, ...]:
    """What to do about every note that lacks margin or is mute on a day, by default on any day of the year.

    Parameters
    ----------
    season, day, limits, pitch, bench
        As of `adjust`.
    """
    limits, bench = limits or Limits(), bench or bench_of(season)
    lacking = [note for note, one in season.notes.items() if note in bench.ways and _lacks(one, day, limits)]
    return tuple(adjust(season, note, day, limits, pitch, bench) for note in lacking)


def _lacks(one: NoteSeason, day: int | None, limits: Limits) -> bool:
    wrong = (figure(one, "margin") < limits.keep) | mutes(one)
    return not one.failed and bool(np.any(wrong if day is None else wrong[day]))


def _worst(one: NoteSeason, limits: Limits) -> int:
    """The instant of least margin, or if that is enough the slackest on which the note is mute."""
    margin, silent = figure(one, "margin"), mutes(one)
    if np.nanmin(margin) < limits.keep or not np.any(silent):
        return int(np.nanargmin(margin))
    return int(np.argmin(np.where(silent, one.stretch, np.inf)))


def _lift(season: DivisionSeason, note: int) -> float:
    """Lift of a note as regulated, m; of one that is mute then the median of the others."""
    lifts = {other: as_regulated(one, "steady_lift") for other, one in season.notes.items() if not one.failed}
    sound = [lift for lift in lifts.values() if lift > 0.0]
    return lifts[note] if lifts[note] > 0.0 else float(np.median(sound)) if sound else math.nan


@dataclass(frozen=True)
class _Division:
    """All notes of a division on a day: margin and tightening at the key (m), windows over the year, which are mute."""

    margin: Mapping[int, float]
    moved: Mapping[int, float]
    windows: Mapping[int, Window]
    keep: float
    mute: frozenset[int]

    @classmethod
    def on(cls, season: DivisionSeason, bench: Bench, day: int, limits: Limits) -> _Division:
        sound = {note: one for note, one in season.notes.items() if not one.failed and note in bench.eyes}
        margin, moved = (
            {note: float(figure(one, what)[day]) for note, one in sound.items()} for what in ("margin", "tightening")
        )
        windows = {note: window(one, bench.eyes[note], limits) for note, one in sound.items()}
        mute = frozenset(note for note, one in sound.items() if mutes(one)[day])
        return cls(margin, moved, windows, limits.keep, mute)

    @property
    def lacking(self) -> int:
        return sum(value < self.keep for value in self.margin.values())

    @property
    def share(self) -> float:
        return share_of_mean(np.array(list(self.moved.values())))

    @property
    def together(self) -> bool:
        """Whether most notes lack margin, and moved alike."""
        return len(self.margin) > 1 and self.share > MOST and self.lacking > MOST * len(self.margin)

    @property
    def mostly_mute(self) -> bool:
        return len(self.margin) > 1 and len(self.mute) > MOST * len(self.margin)

    def apart(self, note: int, beside: Sequence[int], of: Mapping[int, float]) -> float:
        """How much more a note has of something than the median of its neighbours; 0 without any."""
        return of[note] - float(np.median([of[other] for other in beside])) if beside else 0.0

    def common(self, place: Place) -> Common | None:
        return common(place, self.moved, self.margin, self.windows)


def _checked(season: DivisionSeason, note: int, bench: Bench) -> NoteSeason:
    if note not in season.notes:
        raise CannotAdjust(f"{note_name(note)} is not among the notes of this season")
    one = season.notes[note]
    if one.failed or one.tightness is None or note not in bench.ways:
        raise CannotAdjust(f"{one.name}: {one.failed or 'has no resting states'}")
    if np.all(np.isnan(figure(one, "margin"))):
        raise CannotAdjust(f"{one.name}: has no margin on any day of the year")
    return one


def _first(lacks: float, together: bool, commons: Sequence[Common], own: Window, rail: RailState) -> First:
    """What is to be done first: nothing, the floating rail, a common place, its own nut, another material."""
    if lacks == 0.0:
        return "nothing"
    if together and rail not in ("none", "fixed"):
        return "rail"
    if together and commons:
        return "common"
    return "nut" if own.open else "material"


def _tighter(together: bool, commons: Sequence[Common], speaks: float) -> First:
    """What is to be done first about a note that is mute."""
    if math.isnan(speaks):
        return "material"
    return "common" if together and commons else "nut"


def comes_round(year: Year) -> bool:
    """Whether a climate is a year that comes round again: long enough, and not a steady state."""
    swings = np.ptp(year.temperature) > 0.0 or np.ptp(year.humidity) > 0.0
    return bool(year.seconds[-1] >= _WHOLE and swings)


def outside(year: Year, day: int) -> str:
    """What the air of a day is outside of, in words; empty inside published guidance."""
    humidity = float(year.humidity[day])
    return "" if DRY <= humidity <= DAMP else f"The air of this day holds {humidity:.0%}, outside {ORGANS}"


def returns(year: Year, margin: Floats, day: int, keep: float) -> float:
    """Seconds from an instant until the margin is enough again by itself.

    Parameters
    ----------
    year : Year
        Comes round again as `comes_round` has it.
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
    if not len(enough) or not comes_round(year):
        return math.nan
    return float(YEAR + year.seconds[enough[0]] - year.seconds[day])
