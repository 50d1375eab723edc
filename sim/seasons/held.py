"""The rail of a division as all its notes hold it, from its year: loads that work, and what played notes do to it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from keyaction.models.train.train import Train
from keyaction.sim.figures.play import NotPlayed, press_note
from keyaction.sim.floating.equilibrium import Held, pulls_on_rail
from keyaction.sim.floating.loads import LoadWindow, load_window
from keyaction.sim.floating.played import Shift, chord, each_alone
from keyaction.sim.floating.pressed import pulls_when_pressed
from keyaction.sim.floating.struck import Struck, pressed_slowly, strike
from keyaction.sim.floating.turned import Turned, turned_off_centre
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.seasons.places import run_of
from keyaction.sim.seasons.season import NOTHING, DivisionSeason, NoteSeason
from keyaction.sim.tightening.tightness import Tightness, stretched, tightness
from keyaction.sim.weighing.weighoff import wind_off

COARSE = 0.1e-3
"""m of stretch between resting states without wind."""
FINGERS, FEET = 10, 4
"""Notes of the chord that is tried where none is stated: ten fingers; two feet, heel and toe."""
THIRD = 3
"""Semitones between two of them at least."""


@dataclass(frozen=True)
class RailAtWork:
    """What played notes do to a rail on the day of regulation, and the loads with which it works.

    Attributes
    ----------
    held : Held
    pulls : mapping of int to float
        Of every note at its pluck, N against the load; with the key held down where that is more.
    forces : mapping of int to float
        Pluck force at its key, N.
    window : LoadWindow
    chord : Shift
        What the chord does, all its notes at once.
    alone : Shift
        Of all notes played by themselves that which gives another most play.
    left_out : mapping of int to str
        Notes that cannot be pressed, and why; they are not played.
    turned_one, turned_all : Turned, optional
        The nut of the first note, and all nuts, turned while the rail is held at its centre, on the day on which it
        would stand farthest from it; None where it never leaves it.
    """

    held: Held
    pulls: Mapping[int, float]
    forces: Mapping[int, float]
    window: LoadWindow
    chord: Shift
    alone: Shift
    left_out: Mapping[int, str]
    turned_one: Turned | None = None
    turned_all: Turned | None = None


def rail_at_work(season: DivisionSeason, notes: Sequence[int] | None = None) -> RailAtWork:
    """Play the notes of a division against its rail, and look for the loads with which it works.

    Parameters
    ----------
    season : DivisionSeason
        Of all notes that hold the rail.
    notes : sequence of int, optional
        The chord; by default those that pull most, a third apart or more, as many as `at_once`.

    Raises
    ------
    ValueError
        If no rail floats, a note of the chord is not on it, or none of its notes can be pressed.
    """
    held = held_of(season)
    rest = {one.note: regulated(one) for one in _known(season)}
    stretch = np.array([rest[note] for note in held.notes])
    pulls, forces, left_out = _pressed(season, rest)
    if not pulls:
        raise ValueError(f"no note can be pressed: {next(iter(left_out.values()))}")
    if lacking := [note for note in notes or () if note not in pulls]:
        raise ValueError("; ".join(left_out.get(note, f"{note} is not on the rail") for note in lacking))
    chosen = spread_out(pulls, at_once(season)) if notes is None else tuple(notes)
    singles = each_alone(held, stretch, pulls).values()
    worst = max(singles, key=lambda one: one.worst[1] if one.worst else -math.inf)
    # A load window asks for the pull of every note; one that cannot be pressed is not played and bounds no touch.
    felt = {note: forces.get(note, math.inf) for note in held.notes}
    window = load_window(held, pulls, felt, _tighter(season, held), chosen, off=_wind_off(season, held))
    one, every = (_turned(season, held, stretch, notes) for notes in (held.notes[:1], held.notes))
    return RailAtWork(held, pulls, forces, window, chord(held, stretch, pulls, chosen), worst, left_out, one, every)


def _turned(season: DivisionSeason, held: Held, rest: Floats, notes: Sequence[int]) -> Turned | None:
    """Nuts turned while the rail is held at its centre, on the day on which it would stand farthest from it."""
    assert season.rail is not None
    day = int(np.argmax(np.abs(season.rail.place)))
    if abs(season.rail.place[day]) < NOTHING:
        return None
    return turned_off_centre(held, rest[:, None] + _tighter(season, held), rest, notes, day, place=0.0)


def spread_out(pulls: Mapping[int, float], count: int) -> tuple[int, ...]:
    """Notes that pull most (N by note) of those that lie under fingers or feet: none nearer than a third to another."""
    found = list[int]()
    for note in sorted(pulls, key=lambda one: -pulls[one]):
        if len(found) < count and all(abs(note - other) >= THIRD for other in found):
            found.append(note)
    return tuple(sorted(found))


def at_once(season: DivisionSeason) -> int:
    """Notes that one player holds at once: ten fingers, or two feet with heel and toe."""
    known = _known(season)
    pedals = bool(known) and getattr(_sure(known[0]).train.key.part, "keyboard", "") == "pedal"
    return FEET if pedals else FINGERS


def _wind_off(season: DivisionSeason, held: Held) -> Held:
    """The same rail and notes without wind."""
    assert season.rail is not None
    notes = {note: _sure(season.notes[note]) for note in held.notes}
    low, high = (pick(one.stretch[end] for one in notes.values()) for pick, end in ((max, 0), (min, -1)))
    known = tightness(
        {note: wind_off(one.train) for note, one in notes.items()},
        {note: one.rod for note, one in notes.items()},
        {note: one.way for note, one in notes.items()},
        np.arange(float(low), float(high), COARSE),
    )
    return _held(season, list(known.values()))


def held_of(season: DivisionSeason) -> Held:
    """The rail of a season with the notes that hold it.

    Raises
    ------
    ValueError
        If no rail floats.
    """
    if season.rail is None:
        raise ValueError("no rail floats")
    return _held(season, [_sure(one) for one in _known(season)])


def _held(season: DivisionSeason, known: Sequence[Tightness]) -> Held:
    assert season.rail is not None
    rail = season.rail.rail
    pulled = {one.note: pulls_on_rail(rail, one, run_of(season, one.note, one.train)) for one in known}
    return Held.of(rail, {one.note: one for one in known}, season.rail.gains, pulled)


def regulated(one: NoteSeason) -> float:
    """Stretch of the rod that stands for all as the nuts are set on the day of regulation, m."""
    offset = one.stretch - _sure(one).way * one.figures["tightening"]
    return float(offset[0])


def _tighter(season: DivisionSeason, held: Held) -> Floats:
    """What wood and heat alone do to every note, (n, D), m at the rod that stands for all."""
    assert season.rail is not None
    rows = []
    for note in held.notes:
        one = season.notes[note]
        rows.append(_sure(one).way * one.figures["tightening"] - season.rail.gains[note] * season.rail.place)
    return np.array(rows)


def _pressed(
    season: DivisionSeason, rest: Mapping[int, float]
) -> tuple[dict[int, float], dict[int, float], dict[int, str]]:
    """Pull on the rail and force at the key of every note at its pluck, N, and why others have none."""
    assert season.rail is not None
    pulls, forces, left_out = dict[int, float](), dict[int, float](), dict[int, str]()
    for one in _known(season):
        train = as_regulated(one, rest[one.note])
        try:
            record = press_note(NoteModel(train), season.case.strokes)
        except NotPlayed as problem:
            left_out[one.note] = f"{one.name}: {problem}"
            continue
        press = record.press
        found = pulls_when_pressed(season.rail.rail, press, run_of(season, one.note, train))
        if not math.isfinite(press.pluck_force):
            left_out[one.note] = f"{one.name}: its pallet does not pluck"
            continue
        known = [pull for pull in (found.pluck, found.held) if math.isfinite(pull)]
        pulls[one.note] = max(known, default=0.0)
        forces[one.note] = float(press.pluck_force)
    return pulls, forces, left_out


def as_regulated(one: NoteSeason, rest: float) -> Train:
    """The train of a note with its nuts as they are set on the day of regulation."""
    known = _sure(one)
    return stretched(known.train, known.rod, rest)


def _known(season: DivisionSeason) -> list[NoteSeason]:
    return [one for one in season.notes.values() if one.tightness is not None and "tightening" in one.figures]


def _sure(one: NoteSeason) -> Tightness:
    assert one.tightness is not None
    return one.tightness


def strike_chord(season: DivisionSeason, notes: Sequence[int]) -> tuple[Struck, Struck | None]:
    """Strike notes in the motion, all others that hold the rail quiet, nuts as on the day of regulation.

    Where quiet notes sound the same keys are pressed slowly as well: what sounds then does so by statics.

    Raises
    ------
    ValueError
        If no rail floats, or notes and rail do not come to rest.
    """
    if season.rail is None:
        raise ValueError("no rail floats")
    known = _known(season)
    trains = {one.name: as_regulated(one, regulated(one)) for one in known}
    rods = {one.name: run_of(season, one.note, trains[one.name]) for one in known}
    struck = [season.notes[note].name for note in notes]
    asked = trains, rods, season.rail.rail, struck, season.case.strokes
    found = strike(*asked)
    return found, strike(*asked, pressed_slowly(trains, struck, season.case.strokes)) if found.sounding else None
