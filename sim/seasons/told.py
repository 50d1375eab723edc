"""What a year does to a division, in sentences."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from keyaction.models.units.quantity import System, format_value
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.seasons.drift import Drift, fastest
from keyaction.sim.seasons.months import days_of
from keyaction.sim.seasons.rail_sheets import without_rail
from keyaction.sim.seasons.result import cipher_days, mute_at, span
from keyaction.sim.seasons.said import length, spells_said
from keyaction.sim.seasons.season import NOTHING, DivisionSeason, NoteSeason
from keyaction.sim.seasons.sheets import follows, sound

RODS_ALONE = (
    "The case states no [[member]]: key, frame and chest are taken to stand still, and rods alone move. State what "
    "the axes stand on, each with material, length, direction and grain, and only the differences count."
)
ASSUMED = "Assumed: the day of regulation found wood and air at rest; warmth is followed at once, moisture with a lag."
FEW = 6
"""Notes that are named one by one."""


def sentences(season: DivisionSeason, units: System, drift: float) -> list[str]:
    """All that is to be said of a division's year.

    Parameters
    ----------
    season : DivisionSeason
    units : {"trade", "si"}
    drift : float
        m at the key: by how much play or level may drift.
    """
    found = [climate_told(season, units), *ciphers_told(season, units), *mute_told(season)]
    if sound(season):
        found.append(drift_told(season, units, drift))
    if season.rail:
        found += rail_told(season, units)
    if not season.frame.members:
        found.append(RODS_ALONE)
    source = [f"Figures of the climate: {season.year.source.rstrip('.')}."] if season.year.source else []
    return [*found, ASSUMED, *source, *season.frame.warnings]


def climate_told(season: DivisionSeason, units: System) -> str:
    """The climate in a line: its name, ends and length; and the air of the day of regulation."""
    year, frame = season.year, season.frame
    warm, damp = _range(year.temperature, "K", units), _range(100 * year.humidity, "1", units)
    whole = f"{math.ceil(float(year.days[-1]) + 1e-9)} days" if len(year) > 1 else "one instant"
    set_at = f"{format_value(frame.temperature, 'K', units)}, {100 * frame.humidity:.0f} %"
    return f"Climate: {year.name}, {warm}, {damp} % RH, {whole}. Regulated at {set_at} RH."


def ciphers_told(season: DivisionSeason, units: System) -> list[str]:
    """Which notes sound unplayed, the first with its day; or the least margin of all."""
    found = [f"{one.name} has no figures: {one.failed}." for one in season.notes.values() if one.failed]
    notes = sound(season)
    if not notes:
        return found
    when = season.year.when
    sounding = sorted((one for one in notes if one.cipher >= 0), key=lambda one: (one.cipher, one.note))
    if not sounding:
        return [*found, _margin_told(season, notes, units)]
    first = sounding[0].cipher
    at_once = [one for one in sounding if one.cipher == first]
    most = max(sounding, key=lambda one: cipher_days(season, one))
    days = cipher_days(season, most)
    told = f"First to sound unplayed: {_names(at_once)}, on {when(first)}"
    count = f"{len(sounding)} of {len(notes)} notes do on some day, longest {most.name}, on {_days(days)}"
    tight = int(min(sounding, key=lambda one: float(np.nanmin(one.figures["margin"]))).note)
    worst = season.notes[tight].figures["margin"]
    over = length(-float(np.nanmin(worst)), units)
    deepest = f"{season.notes[tight].name} is too tight by {over} at the key on {when(int(np.nanargmin(worst)))}"
    return [*found, f"{told}; {count}. {deepest}."]


def _margin_told(season: DivisionSeason, notes: Sequence[NoteSeason], units: System) -> str:
    known = [one for one in notes if np.any(np.isfinite(one.figures["margin"]))]
    if not known:
        return "No note sounds unplayed, and none comes near to it."
    least = min(known, key=lambda one: float(np.nanmin(one.figures["margin"])))
    margin = least.figures["margin"]
    left, day = length(float(np.nanmin(margin)), units), season.year.when(int(np.nanargmin(margin)))
    return f"No note sounds unplayed; the least margin is {left} at the key, of {least.name} on {day}."


def mute_told(season: DivisionSeason) -> list[str]:
    """Which notes do not speak when they are played, and when; nothing where all do."""
    year, notes = season.year, sound(season)
    mute = [one for one in notes if np.any(mute_at(season, one))]
    if not mute:
        return []
    if len(mute) == 1:
        when = spells_said(year, mute_at(season, mute[0]))
        return [f"{mute[0].name} does not speak when played {when}: its run is too slack."]
    when = "; ".join(f"{one.name} {spells_said(year, mute_at(season, one))}" for one in mute[:FEW])
    more = f"; and {len(mute) - FEW} others" if len(mute) > FEW else ""
    return [f"{len(mute)} of {len(notes)} notes do not speak when played, their runs too slack: {when}{more}."]


def drift_told(season: DivisionSeason, units: System, by: float) -> str:
    """Which note drifts soonest by so much."""
    found = {one.note: fastest(season.year.days, one.figures[follows(one)], by) for one in sound(season)}
    note = min(found, key=lambda one: found[one].days)
    amount = format_value(by, "m", units)
    if not math.isfinite(found[note].days):
        widest = max(sound(season), key=lambda one: _width(one.figures[follows(one)]))
        width = _width(widest.figures[follows(widest)])
        most = length(width, units) if width > NOTHING else "nothing to speak of"
        return f"Play or level of no note drifts by {amount} over the whole; that of {widest.name} by {most}."
    return _soonest(season, season.notes[note], found[note], amount)


def _soonest(season: DivisionSeason, one: NoteSeason, drift: Drift, amount: str) -> str:
    what = "play" if one.balanced else "level"
    count = math.ceil(drift.days)
    return f"The {what} of {one.name} drifts by {amount} in {_days(count)}, from {season.year.when(drift.since)} on."


def rail_told(season: DivisionSeason, units: System) -> list[str]:
    """Where the rail goes, at which stops it stands, what it takes up and what is left."""
    rail = season.rail
    assert rail is not None
    if rail.rail.fixed:
        return ["The rail is made fast: it takes up nothing."]
    band = float(np.max(rail.upper - rail.lower))
    held = f", held by friction within {length(band, units)} at most" if band > 0 else ""
    low, high = float(np.min(rail.place)), float(np.max(rail.place))
    places = (
        f"between {length(low, units).rpartition(' ')[0]} and {length(high, units)}"
        if high - low > NOTHING
        else f"at {length(low, units)}"
    )
    found = [f"The rail stands {places} from its centre{held}."]
    for stop, name in ((1, "ahead"), (-1, "behind")):
        days = days_of(season.year, rail.at_stop == stop)
        if days:
            first = season.year.when(int(np.argmax(rail.at_stop == stop)))
            found.append(f"It stands at its stop {name} on {_days(days)}, first on {first}: there it takes up no more.")
    notes = sound(season)
    if notes:
        fixed = max(_width(without_rail(season, one)) for one in notes)
        left = max(notes, key=lambda one: _width(one.figures["tightening"]))
        rest = length(_width(left.figures["tightening"]), units)
        most = length(fixed, units)
        found.append(f"With the rail fixed a path changes by up to {most} at the key; {rest} is left ({left.name}).")
    return found


def _width(course: Floats) -> float:
    low, high = span(course[None, :])
    return float(high[0] - low[0]) if np.isfinite(high[0]) else 0.0


def _range(values: Floats, si: str, units: System) -> str:
    low, high = (format_value(float(one), si, units, 3) for one in (np.min(values), np.max(values)))
    return low if low == high else f"{low.rpartition(' ')[0] or low} to {high}"


def _days(count: int) -> str:
    return f"{count} day{'s' if count != 1 else ''}"


def _names(notes: Sequence[NoteSeason]) -> str:
    names = [one.name for one in notes]
    return ", ".join(names[:FEW]) + (f" and {len(names) - FEW} others" if len(names) > FEW else "")
