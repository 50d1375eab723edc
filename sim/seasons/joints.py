"""Nuts of a note, ranked by what a turn does; and what turns do at the other end of the year."""

from __future__ import annotations

import math
from collections.abc import Mapping

from keyaction.sim.seasons.advice import FIGURES, Joint, Limits, Opposite, Window
from keyaction.sim.seasons.allowed import as_regulated, figure
from keyaction.sim.seasons.bench import REST, Bench
from keyaction.sim.seasons.season import NoteSeason
from keyaction.sim.tightening.tightness import Tightness

_SAME = 1e-6
"""m below which a limit is not exceeded: presses know plays no better."""
_NEAR, _TRIES = 0.01e-3, 12
"""m within which a lift is found, and presses after which it is given up."""


def joints(
    one: NoteSeason, day: int, bench: Bench, margin: float, limits: Limits, window: Window, pitch: float
) -> tuple[Joint, ...]:
    """The nuts of a note, the one first whose turn does most: of alike ones where play is written, then at the key.

    Parameters
    ----------
    one : NoteSeason
        With its `Tightness`.
    day : int
    bench : Bench
    margin : float
        Of the note on that day, m at the key.
    limits : Limits
    window : Window
    pitch : float
        Of the nuts' thread, m.

    Returns
    -------
    tuple of Joint
        One turn of pitch p at a rod of way w per key way makes the run p/w looser at the key.
    """
    now = figures_at(one, bench, day)
    found = []
    for rod, way in bench.ways[one.note].items():
        turn = pitch / abs(way)
        after = figures_at(one, bench, day, rod, turn)
        later = after["pluck_point"] - now["pluck_point"] + (now["level"] - after["level"])
        clears, keeps = (max(wanted - margin, 0.0) / turn for wanted in (0.0, limits.keep))
        written = rod in bench.written.get(one.note, ())
        found.append(Joint(rod, abs(way), turn, clears, keeps, window.middle / turn, after, later, written))
    return tuple(sorted(found, key=lambda joint: (-round(joint.turn, 8), not joint.written)))


def tighter_to_speak(one: NoteSeason, bench: Bench, day: int, wanted: float) -> float:
    """How much tighter a run is to be drawn for its pallet to lift as wanted (m), counted at the key, m; by presses.

    NaN where nothing that was tried does it.
    """
    by, known = 0.0, one.tightness
    if known is None or not wanted > 0.0:
        return math.nan
    for _ in range(_TRIES):
        touch = bench.feel(known, float(one.stretch[day]) + by * known.way, "", 0.0)
        lift = touch.get("steady_lift", 0.0)
        missing = wanted - (max(lift, 0.0) if math.isfinite(lift) else 0.0)
        if abs(missing) <= _NEAR:
            return by
        by += missing / bench.eyes[one.note]
    return math.nan


def figures_at(one: NoteSeason, bench: Bench, day: int, rod: str = "", looser: float = 0.0) -> dict[str, float]:
    """`FIGURES` of a note on a day, with a rod let out so that the run is so much looser at the key (m).

    The rail stays, and the key's own wood is as on that day. Without a name it is the rod that stands for all.
    """
    known = one.tightness
    if known is None:
        return dict.fromkeys(FIGURES, math.nan)
    stretch, drawn = float(one.stretch[day]), looser * known.way
    touch = (
        bench.feel(known, stretch, rod, looser * bench.ways[one.note][rod])
        if rod
        else bench.feel(known, stretch - drawn, "", 0.0)
    )
    sinks = _rests(known, stretch - drawn, touch) - _rests(known, stretch, bench.feel(known, stretch, "", 0.0))
    rest = {
        "margin": float(figure(one, "margin")[day]) + looser,
        "level": float(figure(one, "level")[day]) - sinks,
    }
    return {name: {**touch, **rest}.get(name, math.nan) for name in FIGURES}


def _rests(known: Tightness, stretch: float, touch: Mapping[str, float]) -> float:
    """Way of the key front at rest, m: of the press, else by what is known of the resting states."""
    return touch[REST] if REST in touch else float(known.at(known.travel, stretch))


def opposite(one: NoteSeason, bench: Bench, cleared: float, year: float, limits: Limits, evenly: bool) -> Opposite:
    """What letting a run out does at the other end of the climate, or drawing it in.

    Parameters
    ----------
    one : NoteSeason
    bench : Bench
    cleared, year : float
        How much looser the run is made at the key by the turns that keep the margin on the day asked for, and by
        those that are least bad over the year, m; below 0 tighter.
    limits : Limits
    evenly : bool
        Whether its neighbours are let out as well, so that a hung key does not stand out.
    """
    day = int(one.stretch.argmax() if cleared < 0.0 else one.stretch.argmin())
    now, then, middle = (figures_at(one, bench, day, looser=x) for x in (0.0, cleared, year))
    lift = limits.lift * as_regulated(one, "steady_lift")
    faults = (_faults(one, found, lift, 0.0 if evenly else x, limits) for found, x in ((then, cleared), (middle, year)))
    return Opposite(day, now, then, middle, *faults)


def _faults(
    one: NoteSeason, found: Mapping[str, float], lift: float, stands_out: float, limits: Limits
) -> tuple[str, ...]:
    faults = []
    if found["lost_motion"] > limits.play(one.balanced)[1] + _SAME:
        faults.append("play")
    if found["steady_lift"] < lift - _SAME:
        faults.append("lift")
    if not one.balanced and abs(stands_out) > limits.level + _SAME:
        faults.append("level")
    if found["margin"] < limits.keep - _SAME:
        faults.append("margin")
    return tuple(faults)
