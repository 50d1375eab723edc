"""What a chord does to its notes and its boxes: one definition each."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from keyaction.sim.chord.places import Groove
from keyaction.sim.chord.steady import Opening, scales_that_carry, steady_pressures, trunk_that_carries
from keyaction.sim.chord.together import BoxCourse, Together
from keyaction.sim.figures.limits import EMPTY, FULL, HALF, SPEECH_START
from keyaction.sim.figures.measure import crossing
from keyaction.sim.motion.integrate import Floats, Motion
from keyaction.sim.wind.supplies import Supply

STILL = 1e-3
"""Share of a box's pressure by which it may still swing where it counts as still."""


@dataclass(frozen=True)
class Times:
    """When a groove speaks and falls silent in the standard stroke, s; NaN where it does not.

    Attributes
    ----------
    opening : float
        From the key passing 1 mm to the groove passing 50 % of the box with no key down.
    speech : float
        The same to 90 %.
    release : float
        From the finger's lift to the groove falling below 10 % of it.
    """

    opening: float
    speech: float
    release: float


def times_of(motion: Motion, groove: Groove, pressure: float) -> Times:
    """The times of a groove in a stroke; `pressure` (Pa) is that of the box with no key down.

    None without wind, and no release of a groove that is silent already when the finger lifts.
    """
    if pressure <= 0.0:
        return Times(math.nan, math.nan, math.nan)
    travel = np.asarray(motion["key_travel"] - motion["key_travel"][0])
    start, lift = crossing(motion.t, travel, SPEECH_START), motion.drive.mark("lift")
    course = pressure_of(motion, groove)

    def reaches(share: float) -> float:
        return crossing(motion.t, course, share * pressure, after=start) - start

    sounds = float(np.interp(lift, motion.t, course)) > EMPTY * pressure
    silent = crossing(motion.t, course, EMPTY * pressure, after=lift, rising=False) - lift if sounds else math.nan
    return Times(reaches(HALF), reaches(FULL), silent)


def pressure_of(motion: Motion, groove: Groove) -> Floats:
    """Pressure in a groove of a motion, Pa."""
    return motion[motion.kernel.seen_of(groove.name, "groove_pressure")]


@dataclass(frozen=True)
class InChord:
    """A groove of a chord: alone, and under it.

    Attributes
    ----------
    name : str
        The note; of several pallets of one key, the pallet after it.
    note, groove, box : str
        The note, the part of its train, and the box of the chord.
    pluck_alone, pluck_under : float
        Pluck force of its key in the slow press, N: by itself, and while all other notes of the chord are held.
    alone, under : Times
        In the standard stroke: by itself at the full pressure of its box, and struck with the chord.
    of_rest : float
        Pressure in the groove over that of the box with no key down, the chord held until all is still.
    of_now : float
        The same over that of the box as it then is.
    opening, toes : float
        Gap and slot in series, the key held; toes of the drawn stops and leak: each times its flow coefficient, m2.
    scale : float
        By how much all openings of the chord may be smaller (below 1) or must be larger for `of_rest` to be just 90 %;
        NaN where no pallet can help, as the box itself falls so far.
    """

    name: str
    note: str
    groove: str
    box: str
    pluck_alone: float
    pluck_under: float
    alone: Times
    under: Times
    of_rest: float
    of_now: float
    opening: float
    toes: float
    scale: float

    @property
    def carries(self) -> bool:
        """Whether the groove reaches 90 % of the box with no key down."""
        return self.of_rest >= FULL

    @property
    def carries_now(self) -> bool:
        """Whether it reaches 90 % of the box as it then is."""
        return self.of_now >= FULL


@dataclass(frozen=True)
class BoxFigures:
    """A box under a chord.

    Attributes
    ----------
    name : str
    pressure : float
        With no key down, Pa.
    steady : float
        While the chord is held and all is still, Pa, by orifices in series.
    held : float
        The same found by playing, Pa: mean over the last whole swings of a hold until all is still.
    unstill : float
        By what share of `pressure` the box still swings about that, up or down.
    deepest : float
        Lowest in the stroke, Pa, from its beginning until the first key is let go.
    after : float
        Lowest from then on, Pa, as box and trunk swing back.
    flow : float
        What the held chord takes, m3/s, steady.
    trunk : float
        Clear section of the smallest trunk with which every groove has 90 % of `pressure`, m2; 0 where any will do, NaN
        where none does.
    swing : float
        Frequency at which box and trunk swing against each other, Hz: sqrt(1 / (inertance x capacity)) / 2 pi, without
        loss; NaN without a trunk. Strokes repeated at a whole part of it shake the wind.
    holds : bool
        Whether it is taken to hold its pressure, as nothing is said of what feeds it.
    """

    name: str
    pressure: float
    steady: float
    held: float
    unstill: float
    deepest: float
    after: float
    flow: float
    trunk: float
    swing: float
    holds: bool

    @property
    def sag(self) -> float:
        """Share of its pressure that the held box has lost."""
        return 1.0 - self.steady / self.pressure if self.pressure > 0.0 else math.nan

    @property
    def deepest_sag(self) -> float:
        """Share of its pressure that the box has lost at its lowest while all keys are down."""
        return 1.0 - self.deepest / self.pressure if self.pressure > 0.0 else math.nan


def last_swings(played: Together, supply: Supply) -> NDArray[np.bool_]:
    """Which instants (N,) of a held chord lie within the last whole swings of a box, in the second half of the hold."""
    drive = next(iter(played.notes.values())).drive
    bottom, lift = drive.mark("bottom"), drive.mark("lift")
    long = (lift - bottom) / 2
    swings = math.floor(long * supply.swing) if math.isfinite(supply.swing) else 0
    if swings:
        long = swings / supply.swing
    found: NDArray[np.bool_] = (played.t >= lift - long) & (played.t <= lift)
    return found


def held_pressure(held: Together, box: str) -> tuple[float, float]:
    """Mean pressure (Pa) of a box of a held chord at the end, and how far it still swings about it, Pa."""
    supply, pressure, t = held.boxes[box].supply, held.boxes[box].pressure, held.t
    last = last_swings(held, supply)
    one = last if not math.isfinite(supply.swing) else last & (t >= t[last][-1] - 1 / supply.swing)
    return float(np.mean(pressure[last])), float(np.ptp(pressure[one])) / 2


def is_still(held: Together) -> bool:
    """Whether no box of a held chord swings any more by more than `STILL` of its pressure."""
    return all(held_pressure(held, name)[1] <= STILL * course.supply.pressure for name, course in held.boxes.items())


def box_figures(name: str, played: Together, held: Together, openings: Sequence[Opening]) -> BoxFigures:
    """The figures of a box of a chord that was played, and held."""
    stroke = played.boxes[name]
    supply, mine = stroke.supply, [one for one in openings if one.box == name]
    steady = steady_pressures(mine, {name: supply})[name]
    out = sum(one.through for one in mine)
    mean, unstill = held_pressure(held, name)
    let_go = min(motion.drive.mark("lift") for motion in played.notes.values())
    down = played.t <= let_go
    return BoxFigures(
        name,
        supply.pressure,
        steady,
        mean,
        unstill / supply.pressure if supply.pressure > 0.0 else math.nan,
        float(np.min(stroke.pressure[down])),
        float(np.min(stroke.pressure[~down])) if not np.all(down) else math.nan,
        out * math.sqrt(2 * max(steady, 0.0) / supply.density),
        trunk_that_carries(mine, supply),
        supply.swing,
        supply.holds,
    )


def scales_of(openings: Sequence[Opening], boxes: Mapping[str, BoxCourse]) -> list[float]:
    """Of every opening by how much it may be smaller, box by box."""
    found = dict[int, float]()
    for name, course in boxes.items():
        mine = [i for i, one in enumerate(openings) if one.box == name]
        found.update(zip(mine, scales_that_carry([openings[i] for i in mine], course.supply), strict=True))
    return [found[i] for i in range(len(openings))]


def lowest_held(held: Together, grooves: Mapping[str, Sequence[Groove]], boxes: Mapping[str, str]) -> float:
    """Lowest mean pressure of a groove over the last swings of a hold, as a share of its box with no key down.

    Parameters
    ----------
    held : Together
    grooves : mapping of str to sequence of Groove
        Of every note.
    boxes : mapping of str to str
        Of every note and box of its train ("NOTE BOX") the box of the chord.
    """
    found = []
    for note, motion in held.notes.items():
        for groove in grooves[note]:
            supply = held.boxes[boxes[f"{note} {groove.box}"]].supply
            mean = float(np.mean(pressure_of(motion, groove)[last_swings(held, supply)]))
            found.append(mean / supply.pressure if supply.pressure > 0.0 else math.nan)
    return min(found)
