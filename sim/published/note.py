"""What was seen on whole actions, against a note of the shipped case as it is played."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache, partial

import numpy as np

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.models.fields.values import Scalar
from keyaction.models.formulas.spans import REPETITION_BAND
from keyaction.sim.figures.evenness import JUST_NOTICEABLE
from keyaction.sim.figures.limits import FULL
from keyaction.sim.figures.measure import crossing
from keyaction.sim.figures.play import NotPlayed, confirm_repetition, press_note, search_repetition
from keyaction.sim.figures.quantities import pallet_speed, pluck_force
from keyaction.sim.figures.record import Record
from keyaction.sim.figures.repetition import Repetition
from keyaction.sim.figures.sketch import rigid
from keyaction.sim.lanes.repetition import lane_rates
from keyaction.sim.motion import drives
from keyaction.sim.motion.integrate import Motion
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.motion.strokes import standard_stroke
from keyaction.sim.published.observation import AtLeast, Between, Near, Observation, Source

PLAYED, PLAYER = "A note as it is played (C4 of demo-wood)", "What a player does and can tell"
RULED = "A note whose pallet is as a rule has it (C4 of demo-wood, changed)"
RUBS = "the pins rub under their load"
CASE, NOTE = "demo-wood", "C4"
Changes = tuple[tuple[str, Scalar], ...]
AT_THE_EDGES: Changes = (
    ("pallet.hinge_to_opening", "0 mm"), ("pallet.sealing_margin", "0 mm"), ("pallet.eye", "185 mm"),
)  # fmt: skip
"""The pallet as the rule has it: hinged and pulled at the edges of its opening, where it also seals."""

WOOLLEY = Source("A. G. Woolley, PhD thesis, Edinburgh, 2006, abstract: the time before the pluck varies widely with "
                 "the player; after it the pallet's motion is nearly constant (no figure: read as less than half as "
                 "much)", "read")  # fmt: skip
STORED = Source("The same abstract: the flexing action stores energy and lets it go at the pluck (no figure: read as "
                "more than twice as quick, and quicker under more wind)", "read")  # fmt: skip
PYKETT = Source("C. E. Pykett, abstract on the longest run of trackers: designed for six notes a second", "read")
RULE = Source("H. Kooiker, Het ORGEL 100 (2004) no. 5, 5-9: in the rule for the pluck stand the opening and the wind, "
              "no stops", "derived")  # fmt: skip
HALF = Source("The same rule, half of area times pressure at the eye, by the levers of the train. For this row alone "
              "the pallet is changed to what the rule takes: hinged at the near edge of its opening (shipped: 12 mm "
              "before it), sealing there (1.5 mm outside), pulled at the far edge, 185 mm (170 mm). As shipped it is "
              "half as much again: the row of moments above", "derived")  # fmt: skip
MOMENTS = Source("Moments about the hinge, as shipped: 17 mm of sealed width from 10.5 to 198.5 mm from it, pulled at "
                 "170 mm; over the rule's half of the opening, 14 x 185 mm", "derived")  # fmt: skip
ENERGY = Source("Conservation of energy: what finger and wind give is stored or lost", "derived")
PANG = Source("X. D. Pang, H. Z. Tan and N. I. Durlach, Perception & Psychophysics 49, 1991, abstract (volume and year "
              "from memory): about 7 % from 2.5 to 10 N; taken over", "read")  # fmt: skip
REACH = Source("T. Flash and N. Hogan, J. Neurosci. 5 (1985) 1688-1703: least-jerk motion, 1.875 times its mean speed "
               "at the most", "from memory")  # fmt: skip
TAPPING = Source("Neuroscience Letters, 2009, doi 10.1016/j.neulet.2009.04.055, abstract: one finger 5 to 7 taps a "
                 "second; taken over", "read")  # fmt: skip
TURNS = Source("Ergonomics, 2001, doi 10.1080/00140130110107452, abstract: two fingers by turns are 50 % faster; taken "
               "over", "derived")  # fmt: skip


@lru_cache(maxsize=8)
def model(changes: Changes = ()) -> NoteModel:
    """The note, with other values of some fields."""
    return NoteModel(train_of(read_case(CASE, set_=dict(changes)), NOTE))


@lru_cache(maxsize=8)
def _record(changes: Changes = ()) -> Record:
    """Its slow press and standard stroke."""
    one, strokes = model(changes), read_case(CASE).strokes
    stroke = one.play(standard_stroke(one, strokes))
    if not stroke.status.ok:
        raise NotPlayed(str(stroke.status))
    return Record(one, strokes, press_note(one, strokes).press, stroke, {}, Repetition(float("nan"), "", 0))


def before_and_after(down: float) -> np.ndarray:
    """Times (s) from the key's first 0.1 mm to the pluck, and on to a groove at 90 %; `down` is the finger's time."""
    one = model()
    motion: Motion = one.play(drives.stroke(down, 0.15, 0.04, 1.15 * one.train.dip))
    travel = motion["key_travel"] - motion["key_travel"][0]
    pluck = crossing(motion.t, motion["seat_gap"], 0.0)
    full = crossing(motion.t, motion["groove_pressure"], FULL * one.train.box_pressure, after=pluck)
    return np.array([pluck - crossing(motion.t, travel, 1e-4), full - pluck])


def spread() -> float:
    """By how much more a slow finger (150 ms) takes than a quick one (40 ms): after the pluck, over before it."""
    before, after = before_and_after(0.150) / before_and_after(0.040) - 1
    return float(after / before)


def thrown() -> float:
    """Highest speed of the eye in 0.1 s after the pluck of a press at 10 mm/s, over what the levers give it."""
    one, speed = model(), 0.010
    slow = one.play(drives.press(speed, 0.5 * one.train.dip, 2e4, release=False, ease=0.03))
    pluck = crossing(slow.t, slow["seat_gap"], 0.0)
    soon = (slow.t > pluck) & (slow.t < pluck + 0.1)
    lift = np.diff(slow["pallet_lift"][soon]) / np.diff(slow.t[soon])
    return float(np.max(lift)) / (abs(rigid(one.train).last) * speed)


def stops_left() -> float:
    """Pluck force with all four stops drawn over that with one."""
    one, four = (_record(tuple((f"groove.stops.{i}.drawn", i >= 4 - drawn) for i in range(4))) for drawn in (1, 4))
    return pluck_force(four) / pluck_force(one)


def wind_share(changes: Changes = ()) -> float:
    """Rise of the pluck force from 60 to 80 mmH2O over what half of area times pressure gives by levers."""
    low, high = (_record((*changes, ("box.pressure", pressure))) for pressure in ("60 mmH2O", "80 mmH2O"))
    rule = high.of("pallet", "half_area_rule") - low.of("pallet", "half_area_rule")
    return (pluck_force(high) - pluck_force(low)) / (rule * abs(rigid(low.model.train).last))


def quicker() -> float:
    """Speed of the pallet in a stroke under 90 mmH2O over that under 50."""
    low, high = (pallet_speed(_record((("box.pressure", pressure),))) for pressure in ("50 mmH2O", "90 mmH2O"))
    return high / low


def accounted() -> float:
    """Work in over energy stored and lost, in the standard stroke."""
    audit = _record().stroke.audit
    return 1.0 + audit.residual / audit.throughput


def rate() -> float:
    """Highest rate at which it repeats, Hz."""
    one, strokes = model(), read_case(CASE).strokes
    if not one.kernel().compiled:
        return search_repetition(one, strokes).rate
    return confirm_repetition(one, strokes, lane_rates({0: one.train}, strokes)[0]).rate


def reaching() -> float:
    """Highest speed of the finger's way between two places of rest, over its mean speed."""
    way = drives.quintic(0.0, 1.0, 0.0, 1.0).way
    return float(np.polynomial.Polynomial(way).deriv()(0.5))


def _played() -> Iterator[Observation]:
    nearly = "'nearly constant' is read as less than half as much"
    yield Observation(PLAYED, "spread of times, after/before", Between(high=0.5, why=nearly), "", WOOLLEY, spread)
    yield Observation(PLAYED, "pallet's speed over levers'", AtLeast(2, why="read as more than twice"), "",
                      STORED, thrown)  # fmt: skip
    yield Observation(PLAYED, "its speed, 90 over 50 mmH2O", AtLeast(1), "", STORED, quicker)
    yield Observation(PLAYED, "strokes a second", AtLeast(6), "Hz", PYKETT, rate)
    yield Observation(PLAYED, "pluck, four stops over one", Near(1.0, relative=0.01, why="a press at 10 mm/s"), "",
                      RULE, stops_left)  # fmt: skip
    yield Observation(PLAYED, "pluck per wind over half area", Near(1.517, relative=0.1, why=RUBS), "", MOMENTS,
                      wind_share)  # fmt: skip
    yield Observation(PLAYED, "work in over stored and lost", Near(1.0, absolute=1e-3, why="integrator"), "", ENERGY,
                      accounted)  # fmt: skip


def _ruled() -> Iterator[Observation]:
    yield Observation(RULED, "pluck per wind over the rule's", Near(1.0, relative=0.1, why=RUBS), "", HALF,
                      partial(wind_share, AT_THE_EDGES))  # fmt: skip


def _player() -> Iterator[Observation]:
    yield Observation(PLAYER, "force that can be told apart", Near(7, absolute=0.05), "%", PANG,
                      lambda: 100 * JUST_NOTICEABLE)  # fmt: skip
    yield Observation(PLAYER, "highest over mean speed", Near(1.875, relative=1e-9), "", REACH, reaching)
    yield Observation(
        PLAYER, "slowest of one finger", Near(5, absolute=0.05), "Hz", TAPPING, lambda: REPETITION_BAND[0]
    )
    yield Observation(PLAYER, "fastest of two", Near(10.5, absolute=0.05), "Hz", TURNS, lambda: REPETITION_BAND[1])


OBSERVATIONS = (*_played(), *_ruled(), *_player())
