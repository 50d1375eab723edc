"""Does a floating rail cure it, and what load: a year with the rail made fast beside the same with it floating."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from keyaction.models.units.quantity import System, format_value
from keyaction.sim.figures.evenness import JUST_NOTICEABLE
from keyaction.sim.floating.loads import PLAY, Bound, at_key
from keyaction.sim.floating.played import Shift
from keyaction.sim.floating.struck import Struck
from keyaction.sim.seasons.engine import seasons
from keyaction.sim.seasons.held import RailAtWork
from keyaction.sim.seasons.ranges import ends
from keyaction.sim.seasons.result import cipher_days
from keyaction.sim.seasons.season import DivisionSeason
from keyaction.sim.seasons.sheets import follows, sound
from keyaction.sim.tables.sheet import Cell, Column, Sheet, in_units, value

_NOTHING = 5e-6
"""m: below it nobody measures."""
_Said = Callable[[float], str]
"""How a force (N) is said to people."""
_NOTE = (
    "Path: range over the year, at the key, of how much shorter a run has become for what it has to join: of the mean "
    "of all notes, and of the note that moves most. Drift: widest range of play of a balanced key or level of a hung "
    "one. Margin: least of any note on any day; below 0 it sounds unplayed. Sound: notes that do on some day."
)


def made_fast(season: DivisionSeason, jobs: int = 0) -> DivisionSeason:
    """The same year with the rail made fast at its centre."""
    rail = season.frame.rail
    fixed = replace(season.frame, rail=replace(rail, fixed=True) if rail else None)
    return seasons(season.case, season.year, list(season.notes), jobs, fixed)


def cure_sheet(fixed: DivisionSeason, floating: DivisionSeason, units: System) -> Sheet:
    """The rail made fast, and floating: what is left of the paths, margins, and how many notes sound."""
    columns = [
        Column("rail", text=True),
        in_units("path,\nmean", "m", units, 2),
        in_units("path,\nworst", "m", units, 2),
        in_units("drift,\nworst", "m", units, 2),
        in_units("margin,\nleast", "m", units, 2),
        Column("of\nnote", text=True, full="note of the least margin"),
        Column("sound", "", 0, full="notes that sound unplayed"),
        Column("from", text=True, full="first day on which one sounds"),
        Column("days", "", 0, full="most days that one sounds"),
    ]
    rows = [_row("made fast", fixed, units), _row("floating", floating, units)]
    return Sheet("season-cure", "Does the floating rail cure it?", columns, rows, _NOTE)


def _row(name: str, season: DivisionSeason, units: System) -> list[Cell]:
    notes = sound(season)
    if not notes:
        return [name, *([math.nan] * 4), "-", math.nan, "-", math.nan]
    paths = np.array([one.figures["tightening"] for one in notes])
    tight = min(notes, key=lambda one: float(np.nanmin(one.figures["margin"], initial=np.inf)))
    sounding = [one for one in notes if one.cipher >= 0]
    first = min((one.cipher for one in sounding), default=-1)
    drift = max(_width(one.figures[follows(one)]) for one in notes)
    return [
        name,
        value(_width(np.mean(paths, axis=0)), "m", units),
        value(max(_width(path) for path in paths), "m", units),
        value(drift, "m", units),
        ends(tight.figures["margin"], "m", units)[0],
        tight.name,
        float(len(sounding)),
        season.year.when(first) if first >= 0 else "-",
        float(max((cipher_days(season, one) for one in sounding), default=0)),
    ]


def _width(course: np.ndarray) -> float:
    low, high = ends(course, "1", "si")
    return high - low if math.isfinite(high - low) else 0.0


def cure_told(fixed: DivisionSeason, floating: DivisionSeason, units: System) -> list[str]:
    """The answer in sentences: which notes sound, and how far play or level drifts."""
    wide, narrow = (
        max((_width(one.figures[follows(one)]) for one in sound(season)), default=0.0) for season in (fixed, floating)
    )
    before, after = (format_value(one, "m", units) if one > _NOTHING else "nothing" for one in (wide, narrow))
    return [
        _sounding(fixed, floating),
        f"Play or level drifts over {before} with the rail made fast, over {after} with it floating.",
    ]


def _sounding(fixed: DivisionSeason, floating: DivisionSeason) -> str:
    before, after = (sum(one.cipher >= 0 for one in sound(season)) for season in (fixed, floating))
    if not before:
        return "With the rail made fast no note sounds unplayed in this year: there is no cipher to cure." + (
            f" With it floating {_count(after)} do: it works against the action." if after else ""
        )
    if not after:
        return f"The floating rail cures it: {_count(before)} that sound with it made fast keep their seats."
    if after < before:
        return f"It cures part: of {_count(before)} that sound with the rail made fast {after} still do."
    return f"It does not cure it: {_count(before)} sound with the rail made fast, {after} with it floating."


def work_told(season: DivisionSeason, found: RailAtWork, units: System) -> list[str]:
    """Loads with which the rail works, and what played notes do to it, in sentences."""
    names = {note: one.name for note, one in season.notes.items()}

    def force(si: float) -> str:
        return format_value(si, "N", units)

    window, load = found.window, found.held.rail.load
    chord = _listed([names[note] for note in window.chord])
    lines = [f"The chord {chord} pulls {force(window.chord_pull)} at the rail, whose load is {force(load)}."]
    play = format_value(PLAY, "m", units)
    if math.isfinite(window.smallest.load):
        lines.append(
            f"Smallest load with which it gives no other note more than {play} of play at the key (common practice): "
            f"{force(window.smallest.load)}{_by(window.smallest, names)}."
        )
    else:
        lines.append(f"No load keeps the play that it gives other notes to {play}{_by(window.smallest, names)}.")
    lines.append(_largest(season, found, names, force))
    lines += [_verdict(found, force), _touched(found, names, force)]
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
        return format_value(si, "m", units)

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
        press = format_value(found.quiet[least].seat_load, "N", units)
        play = f"at most {m(found.greatest_play)} of play" if found.greatest_play > _NOTHING else "no play"
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


def _verdict(found: RailAtWork, force: _Said) -> str:
    window, load = found.window, found.held.rail.load
    if not window.works:
        return "No load does both: what keeps the chord from shifting the rail is more than the pallets bear."
    low, high = window.smallest.load, window.largest.load
    if low <= load <= high:
        return f"The load of {force(load)} works."
    most = f" to {force(high)}" if math.isfinite(high) else ""
    how = "too small" if load < low else "too large"
    return f"The load of {force(load)} is {how}: {force(low)}{most or ' or more'} works."


def _shift(who: str, shift: Shift, names: dict[int, str], units: System) -> str:
    way = format_value(abs(shift.way), "m", units)
    told = f"{who} moves the rail by {way} {'against' if shift.way < 0 else 'with'} its load"
    if abs(shift.way) < 1e-9:
        told = f"{who} does not move the rail"
    if shift.worst:
        note, play = shift.worst
        most = f"{names[note]} gets most play, {format_value(play, 'm', units)} at the key"
        told += f"; {most if play > _NOTHING else 'no other note gets play'}"
    if shift.lifted:
        told += f"; {_listed([names[note] for note in shift.lifted])} then sound"
    return f"{told}{'; it comes to its stop' if shift.at_stop else ''}."


def _turned(season: DivisionSeason, found: RailAtWork, names: dict[int, str], units: System) -> list[str]:
    """What becomes of nuts that are turned while the rail is not where it belongs."""
    one, every = found.turned_one, found.turned_all
    if one is None or every is None or season.rail is None:
        return []
    stands = format_value(float(season.rail.place[one.day]), "m", units)
    note, _, off = one.worst
    how = "too tight" if off > 0 else "too slack"
    far, left = format_value(abs(off), "m", units), max(every.nearer)
    told = (
        "Nuts are set with the rail at its centre and free. Turned while it is held there on "
        f"{season.year.when(one.day)}, when it would stand at {stands}, a single note's ({names[note]}) leaves it "
        f"{far} {how} at the key beside the others, in every season"
    )
    nearer = f"; all notes' bring the rail {format_value(left, 'm', units)} nearer to a stop" if left > _NOTHING else ""
    return [f"{told}{nearer}."]


def _by(bound: Bound, names: dict[int, str]) -> str:
    return f" ({names[bound.note]})" if bound.note in names else ""


def _listed(names: Sequence[str]) -> str:
    return " ".join(names[:12]) + (f" and {len(names) - 12} more" if len(names) > 12 else "")


def _count(notes: int) -> str:
    return f"{notes} note{'s' if notes != 1 else ''}"
