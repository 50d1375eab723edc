"""The registry of quantities, one row each: a new quantity is a function in `quantities.py` and a row here.

Files, tables, sweeps, comparisons and checks follow from the rows; their order is that of files and of tables with no
order of their own.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from keyaction.sim.figures import quantities as q
from keyaction.sim.figures.evenness import JUST_NOTICEABLE, evenness
from keyaction.sim.figures.limits import AGREES, EMPTY, NO_FORCE
from keyaction.sim.figures.registry import Entry, Quantity, Resolution, Spot, Table, in_table, registry
from keyaction.sim.figures.verdict import FATES, Fate, Verdict

Floats = NDArray[np.float64]
_COUNTED = Resolution(counted=True)
_RATE = Resolution(step=AGREES, least=0.1)
_FORCE = Resolution(least=NO_FORCE)
_WORK = Resolution(least=1e-5)
"""J: a hundredth of what a light key takes."""
_LIFT = Resolution(least=1e-5)
"""m: a hundredth of a millimetre of pallet that has not opened."""
_SHARE = Resolution(least=0.01)
_TIME = Resolution(least=5e-3)
"""s: less than any wind takes to fill or leave a groove."""
_WAY = Resolution(against=10e-3)
"""Against the key's whole way: a threshold on a force that rings."""
_SILENT = Resolution(step=0.05, against=1.0, floor=EMPTY)
"""Against the box pressure. An empty groove is silent, whatever is left in it; a rebound shakes the rest: where a note
speaks again, SciPy at its usual tolerance was found up to 0.03 from what it gives at a hundredth of it."""

_SPEECH = (Fate.NO_WIND, Fate.MUTE, Fate.CIPHER)
"""Verdicts of notes that do not begin to speak when their key is played."""
_RELEASE = (*_SPEECH, Fate.HANGS)
"""Of those that do not fall silent when it is let go either."""

# What no key action can do, SI. Below zero as far as rounding, and a parabola through three samples, may go.
_WAYS, _FORCES, _TIMES = (-1e-4, 0.1), (-0.005, 1000.0), (-1e-6, 120.0)
_FRICTION = (-0.02, 1000.0)
"""N; friction takes from the finger down and up: below zero there is none, but 2 gf may be the press's own shake."""
_LOST, _STORED = (-1e-4, 100.0), (-10.0, 100.0)
"""J; stored energy may fall where weights sink."""
_SPEEDS = (0.0, 30.0)
"""m/s; all of 1 J, far more than any pluck lets go, in a pallet of 2 g is 32 m/s."""
_SHARES, _HELD, _PRESSURES = (0.0, float("inf")), (-0.05, 1.05), (-1.0, 5.0)
"""Over the box pressure: held, what two openings in series leave; otherwise a slamming pallet pumps."""
_WHIPS = (0.0, 2.0)
"""m; a tenth of the longest rod allowed, beyond which a bow is not small any more."""
_EITHER_WAY = (-1000.0, 1000.0)
_RATES, _MASSES = (0.0, 1e6), (0.0, 1000.0)

QUANTITIES = registry(
    Quantity(
        q.key_dip, "m", "key dip", "dip", 1, always=True, possible=_WAYS,
        tables=(Spot("notes", 50), Spot("figures", 70), Spot("regulation", 50)),
    ),
    Quantity(
        q.lost_motion, "m", "lost motion", "play", 2, sense="less", resolution=_WAY, possible=_WAYS,
        tables=(Spot("figures", 10), Spot("regulation", 10), Spot("compared", 50)),
    ),
    Quantity(
        q.pluck_point, "m", "pluck point", "plucks\nat", 2, sense="less", possible=_WAYS,
        tables=(
            Spot("notes", 10, "pluck\nat", 1), Spot("figures", 20), Spot("regulation", 20, "plucks at"),
            Spot("compared", 30), Spot("brief", 20, "at"), Spot("pictures", 50),
        ),
    ),
    Quantity(
        q.pluck_force, "N", "pluck force", "pluck", 0, sense="less", felt=True, resolution=_FORCE,
        possible=_FORCES,
        tables=(
            Spot("notes", 20), Spot("figures", 30), Spot("regulation", 30), Spot("compared", 10), Spot("brief", 10),
            Spot("pictures", 10), Spot("front", 10),
        ),
    ),
    Quantity(
        q.follow_through_force, "N", "follow-through force", "follow", 0, sense="less", felt=True, resolution=_FORCE,
        possible=_FORCES,
        tables=(Spot("notes", 30), Spot("figures", 50), Spot("regulation", 40), Spot("compared", 20)),
    ),
    Quantity(q.pluck_ratio, "", "pluck ratio", "pluck\nratio", 2, resolution=_SHARE, possible=_SHARES),
    Quantity(
        q.friction_at_key, "N", "friction at the key", "friction", 1, sense="less", resolution=_FORCE,
        possible=_FRICTION,
        without=(Fate.HANGS,),
        tables=(Spot("figures", 60), Spot("compared", 60)),
    ),
    Quantity(
        q.loop_work, "J", "work lost in a slow stroke", "work\nlost", 1, sense="less", resolution=_WORK, possible=_LOST
    ),
    Quantity(
        q.stored_energy, "J", "energy stored before the pluck", "stored", 1, sense="less", resolution=_WORK,
        possible=_STORED,
        tables=(Spot("compared", 150),),
    ),
    Quantity(
        q.opening_time, "s", "opening time", "opens", 1, source="stroke", sense="less", resolution=_TIME,
        possible=_TIMES,
        without=_SPEECH, watched=True,
        tables=(Spot("notes", 70, "open"), Spot("figures", 90), Spot("compared", 90), Spot("pictures", 30)),
    ),
    Quantity(
        q.speech_delay, "s", "speech delay", "speech\ndelay", 1, source="stroke", sense="less", resolution=_TIME,
        possible=_TIMES,
        without=_SPEECH, watched=True,
        tables=(Spot("notes", 80, "delay"), Spot("figures", 100), Spot("compared", 100), Spot("brief", 30, "delay")),
    ),
    Quantity(
        q.release_delay, "s", "release delay", "release", 0, source="stroke", sense="less", resolution=_TIME,
        possible=_TIMES,
        without=_RELEASE, watched=True,
        tables=(Spot("notes", 90), Spot("figures", 110), Spot("compared", 120), Spot("pictures", 40)),
    ),
    Quantity(
        q.steady_lift, "m", "pallet lift", "pallet\nlift", 1, sense="more", resolution=_LIFT,
        possible=_WAYS,
        tables=(Spot("notes", 60, "lift"), Spot("figures", 80), Spot("compared", 83)),
    ),
    Quantity(
        q.overshoot, "", "overshoot", "overshoot", 2, source="stroke", sense="less", watched=True, possible=_SHARES
    ),
    Quantity(
        q.bounce, "", "bounce", "bounce", 0, source="stroke", sense="less", resolution=_COUNTED, watched=True,
        possible=_SHARES,
        without=(Fate.HANGS, Fate.CIPHER),
    ),
    Quantity(
        q.speech_after_release, "", "speech after release", "speaks\nagain", 2, source="stroke", sense="less",
        possible=_PRESSURES,
        without=_RELEASE,
        resolution=_SILENT, watched=True,
    ),
    Quantity(
        q.peak_force, "N", "peak key force", "peak", 0, source="stroke", sense="less", resolution=_FORCE, watched=True,
        possible=_FORCES,
        always=True, tables=(Spot("pictures", 60),),
    ),
    Quantity(
        q.pallet_speed, "m/s", "pallet speed after the pluck", "pallet\nspeed", 2, source="stroke", sense="more",
        watched=True, possible=_SPEEDS, tables=(Spot("compared", 140),),
    ),
    Quantity(q.side_way, "m", "sideways way of a rod", "whips", 2, source="sideways", sense="less",
             resolution=_LIFT, possible=_WHIPS),
    Quantity(q.slaps, "", "slaps of a rod", "slaps", 0, source="sideways", sense="less", resolution=_COUNTED,
             possible=_SHARES),
    Quantity(q.slap_speed, "m/s", "speed of the slap", "slap\nspeed", 2, source="sideways", sense="less",
             possible=_SPEEDS),
    Quantity(
        q.groove_share, "", "groove pressure share", "groove", 2, sense="more", resolution=_SHARE,
        possible=_HELD,
        tables=(Spot("compared", 85),),
    ),
    Quantity(
        q.repetition_rate, "Hz", "repetition rate", "repeats", 1, source="repetition", sense="more", resolution=_RATE,
        possible=_RATES,
        without=(*_RELEASE, Fate.WEAK),
        tables=(
            Spot("notes", 100, "repeat"), Spot("figures", 120), Spot("compared", 130), Spot("brief", 40, "repeat"),
            Spot("pictures", 20), Spot("front", 20),
        ),
    ),
    Quantity(
        q.effective_mass, "kg", "effective mass", "mass", 0, source="train", sense="less",
        possible=_MASSES,
        tables=(Spot("figures", 130), Spot("compared", 70), Spot("brief", 50, places=1)),
    ),
    Quantity(
        q.closing_force, "N", "closing force at zero wind", "closing", 0, source="train", sense="more",
        possible=_EITHER_WAY,
        resolution=_FORCE, tables=(Spot("glance"),),
    ),
    Quantity(
        q.wave_time, "s", "travel time of a pull", "wave", 2, source="train", sense="less",
        possible=_TIMES, tables=(Spot("compared", 110),),
    ),
    Quantity(
        q.train_frequency, "Hz", "train frequency", "train", 0, source="train", sense="more",
        possible=_RATES,
        tables=(Spot("compared", 160),),
    ),
)  # fmt: skip
"""Quantities of one note by name: `compute` takes its `Record`."""

OVER_COMPASS = registry(
    Quantity(
        evenness, "", "step of pluck force from the note below", "step", 1, source="neighbours", sense="less",
        limit=JUST_NOTICEABLE, percent=True, tables=(Spot("notes", 40, places=0), Spot("figures", 40)),
    ),
)  # fmt: skip
"""Quantities of a note among its neighbours: `compute` takes semitone numbers (n,) and figures by name, each (n,)."""


def of_verdict(figures: Mapping[str, float], told: Verdict) -> dict[str, float]:
    """The figures of a note, NaN for those that a note of such a verdict does not have."""
    return {name: float("nan") if told.fate in QUANTITIES[name].without else value for name, value in figures.items()}


def of_fates(figures: Mapping[str, Floats], found: NDArray[np.int64]) -> dict[str, Floats]:
    """As `of_verdict` for many: (N,) figures by name, and fates as places in `FATES`."""
    lacking = {name: np.array([fate in QUANTITIES[name].without for fate in FATES]) for name in figures}
    return {name: np.where(lacking[name][found], np.nan, values) for name, values in figures.items()}


def shown_in(table: Table) -> list[Entry]:
    """What stands in a table of notes, in its order."""
    return in_table(table, (*QUANTITIES.values(), *OVER_COMPASS.values()))


def forces_felt() -> tuple[str, ...]:
    """Names of the forces for which the just-noticeable difference holds."""
    return tuple(name for name, one in QUANTITIES.items() if one.felt)
