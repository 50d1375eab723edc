"""A rail at work in sentences: the load that it needs and bears, its guides, what played and struck notes do to it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np

from keyaction.models.units.quantity import System, format_value
from keyaction.sim.figures.evenness import JUST_NOTICEABLE
from keyaction.sim.floating.closed import rail_stiffness
from keyaction.sim.floating.loads import PLAY, Bound, at_key
from keyaction.sim.floating.played import Shift
from keyaction.sim.floating.struck import Struck
from keyaction.sim.seasons.held import RailAtWork, regulated
from keyaction.sim.seasons.said import force as force_said
from keyaction.sim.seasons.said import length
from keyaction.sim.seasons.said import load as load_said
from keyaction.sim.seasons.season import NOTHING, DivisionSeason

BAND = 0.1e-3
"""m at the key, either way, within which friction of its guides may hold a rail: half of `PLAY` (assumed)."""
_Said = Callable[[float], str]
"""How a force (N) is said to people."""


def friction_allowed(season: DivisionSeason, found: RailAtWork) -> float:
    """Friction of the guides with which the rail stands within `BAND` at the key of where its load puts it, N.

    BAND x way / gain, the smallest over the notes, x (sum(k g^2) + rate): valid while every rod stays taut, nuts as on
    the day of regulation.
    """
    held = found.held
    rest = np.array([regulated(season.notes[note]) for note in held.notes])
    on = held.gains > 0.0
    return float(BAND * np.min(held.ways[on] / held.gains[on]) * rail_stiffness(held, rest))


def work_told(season: DivisionSeason, found: RailAtWork, units: System, friction: float = math.nan) -> list[str]:
    """Whether the load works, which loads do, and what played notes do to the rail, in sentences, the verdict first.

    Parameters
    ----------
    season : DivisionSeason
    found : RailAtWork
    units : {"trade", "si"}
    friction : float
        What `friction_allowed` says, N; NaN leaves it out.
    """
    names = {note: one.name for note, one in season.notes.items()}

    def force(si: float) -> str:
        return force_said(si, units)

    def weighed(si: float) -> str:
        return load_said(si, units)

    window, load = found.window, found.held.rail.load
    chord = _listed([names[note] for note in window.chord])
    lines = [_verdict(found, force, weighed)]
    if math.isfinite(friction):
        lines.append(_guides(found, friction, force, units))
    lines += [f"The chord {chord} pulls {force(window.chord_pull)} at the rail, whose load is {force(load)}."]
    play = format_value(PLAY, "m", units)
    if math.isfinite(window.smallest.load):
        lines.append(
            f"Smallest load with which it gives no other note more than {play} of play at the key (common practice), "
            f"friction taken at its worst: {weighed(window.smallest.load)}{_by(window.smallest, names)}."
        )
    else:
        lines.append(f"No load keeps the play that it gives other notes to {play}{_by(window.smallest, names)}.")
    lines += [_largest(season, found, names, weighed), _touched(found, names, force)]
    lines += [_shift("The chord", found.chord, names, units)]
    if len(names) > 1:
        alone = names[found.alone.played[0]]
        lines.append(
            _shift(f"Of single notes {alone} shifts it so that another has most play: it", found.alone, names, units)
        )
    lines += _turned(season, found, names, units)
    lines += [f"Not played: {why}." for why in found.left_out.values()]
    return lines


def struck_told(found: Struck, slowly: Struck | None, units: System) -> list[str]:
    """What a chord does in the motion, in sentences, and `slowly` where quiet notes sound."""

    def m(si: float) -> str:
        return length(si, units)

    def way(si: float) -> str:
        return f"{m(abs(si))} {'against' if si < 0 else 'with'} its load"

    chord = _listed(found.struck)
    lines = [
        f"Struck, {chord} moves the rail {way(found.at_pluck)} until the last pallet has opened, {way(found.farthest)} "
        f"at most. Held, it is {way(found.held)} of where it stood; after the keys are let go {way(found.rebound)} at "
        "most."
    ]
    if found.hits:
        lines.append("The rail comes to an end stop.")
    if not found.stops:
        lines.append("It has not come to a stop at the end: give its guides more friction or damping.")
    if not found.quiet:
        return lines
    if not found.sounding:
        least = min(found.quiet, key=lambda name: found.quiet[name].seat_load)
        press = force_said(found.quiet[least].seat_load, units)
        play = f"at most {m(found.greatest_play)} of play" if found.greatest_play > NOTHING else "no play"
        return [*lines, f"No quiet note sounds: {least} presses least, {press}; the others get {play} at the key."]
    told = f"{_listed(found.sounding)} sound though nobody plays them"
    alone = found.by_motion(slowly) if slowly else ()
    if alone:
        told += f"; {_listed(alone)} by the rail's motion alone: pressed slowly the same keys leave them silent"
    return [*lines, f"{told}."]


def _largest(season: DivisionSeason, found: RailAtWork, names: dict[int, str], force: _Said) -> str:
    windless, margin, day = found.window.windless, found.window.margin, found.window.first_day
    parts = []
    if math.isfinite(windless.load):
        parts.append(f"{force(windless.load)} with the wind off{_by(windless, names)}, whose pallet it then opens")
    if math.isfinite(margin.load):
        when = season.year.when(day) if day >= 0 else "some day"
        parts.append(f"{force(margin.load)} over the year{_by(margin, names)}, whose pallet leaves its seat on {when}")
    return f"Largest load: {'; '.join(parts)}." if parts else "Nothing bounds the load from above."


def _touched(found: RailAtWork, names: dict[int, str], force: _Said) -> str:
    """What a finger tells of the load: firmer at the very beginning of the way, no harder at the pluck."""
    touch, load = found.window.touch, found.held.rail.load
    shares = at_key(found.held, load)
    most = int(np.argmax(shares))
    told = (
        f"Of that load {names[found.held.notes[most]]} has most at its key, {force(float(shares[most]))}, which a "
        "finger meets before the key gives; the pluck is as hard as without"
    )
    if not math.isfinite(touch.load):
        return f"{told}."
    share = f"{100 * JUST_NOTICEABLE:.0f} % of a pluck"
    return f"{told}. A finger can tell it from {force(touch.load)} on{_by(touch, names)}: {share}."


def _guides(found: RailAtWork, friction: float, force: _Said, units: System) -> str:
    """What the guides may rub with."""
    rail = found.held.rail
    now = f"They rub with {force(rail.friction)}." if rail.friction > 0.0 else "None is stated of them."
    return (
        f"Its guides may rub with {force(friction)} at most, which holds it within \u00b1{length(BAND, units)} at the "
        f"key of where its load puts it; their friction must stay well below the load as well. {now}"
    )


def _verdict(found: RailAtWork, force: _Said, weighed: _Said) -> str:
    window, load = found.window, found.held.rail.load
    if not window.works:
        return "No load does both: what keeps the chord from shifting the rail is more than the pallets bear."
    low, high = window.smallest.load, window.largest.load
    if low <= load <= high:
        return f"The load of {weighed(load)} works."
    most = f" to {force(high)}" if math.isfinite(high) else ""
    how = "too small" if load < low else "too large"
    return f"The load of {weighed(load)} is {how}: {force(low)}{most or ' or more'} works."


def _shift(who: str, shift: Shift, names: dict[int, str], units: System) -> str:
    way = length(abs(shift.way), units)
    told = f"{who} moves the rail by {way} {'against' if shift.way < 0 else 'with'} its load"
    if abs(shift.way) < 1e-9:
        told = f"{who} does not move the rail"
    if shift.worst:
        note, play = shift.worst
        most = f"{names[note]} gets most play, {length(play, units)} at the key"
        told += f"; {most if play > NOTHING else 'no other note gets play'}"
    if shift.lifted:
        told += f"; {_listed([names[note] for note in shift.lifted])} then sound"
    return f"{told}{'; it comes to its stop' if shift.at_stop else ''}."


def _turned(season: DivisionSeason, found: RailAtWork, names: dict[int, str], units: System) -> list[str]:
    """What becomes of nuts that are turned while the rail is not where it belongs."""
    one, every = found.turned_one, found.turned_all
    if one is None or every is None or season.rail is None:
        return []
    stands = length(float(season.rail.place[one.day]), units)
    note, _, off = one.worst
    how = "too tight" if off > 0 else "too slack"
    far, left = length(abs(off), units), max(every.nearer)
    told = (
        "Nuts are set with the rail at its centre and free. Turned while it is held there on "
        f"{season.year.when(one.day)}, when it would stand at {stands}, a single note's ({names[note]}) leaves it "
        f"{far} {how} at the key beside the others, in every season"
    )
    nearer = f"; all notes' bring the rail {length(left, units)} nearer to a stop" if left > NOTHING else ""
    return [f"{told}{nearer}."]


def _by(bound: Bound, names: dict[int, str]) -> str:
    return f" ({names[bound.note]})" if bound.note in names else ""


def _listed(names: Sequence[str]) -> str:
    return " ".join(names[:12]) + (f" and {len(names) - 12} more" if len(names) > 12 else "")
