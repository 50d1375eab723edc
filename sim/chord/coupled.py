"""Notes of a chord with couplers drawn: each key with all that it moves, every note that sounds counted once."""

from __future__ import annotations

from collections.abc import Sequence

from keyaction.cases.instrument.coupled import CoupledNote, joined_note
from keyaction.cases.instrument.instrument import Instrument
from keyaction.models.notes import note_name
from keyaction.models.train.train import Train, TrainProblem
from keyaction.sim.chord.chord import Member
from keyaction.sim.files.division_notes import full_name
from keyaction.sim.wind.supplies import boxes_of

Spot = tuple[str, int]
"""A division and a note of it."""


def box_of(instrument: Instrument, division: str) -> str:
    """The box of a division: its own, or that of the division on whose chest it stands."""
    return instrument.entries[division].shares or division


def coupled_members(
    instrument: Instrument, notes: Sequence[Spot], drawn: Sequence[str]
) -> tuple[list[Member], tuple[str, ...]]:
    """The keys of a chord as coupled trains, and what is said of notes that two of them reach, or that couple nothing.

    A note that another key of the chord plays, or that one before moves, is left to that one.

    Raises
    ------
    keyaction.TrainProblem
        Where a note cannot be built.
    """
    members, told, defects = list[Member](), list[str](), list[str]()
    moved = {spot: spot for spot in notes}
    for spot in notes:
        name = _named(instrument, spot)
        made = joined_note(instrument, *spot, drawn, others=[one for one in moved if one != spot])
        told += [_left(instrument, one, moved[one], name) for one in made.moved]
        told += [f"{text}." for text in made.couples_nothing]
        moved |= {(one.division, one.note): spot for one in made.soundings}
        try:
            train = made.train()
        except TrainProblem as problem:
            defects += [f"{name}: {text}" for text in problem.defects]
            continue
        strokes, titles = instrument.divisions[spot[0]].strokes, _titles(instrument, made)
        members.append(Member(name, train, strokes, _boxes(instrument, made, train), titles))
    if defects:
        raise TrainProblem(defects)
    return members, tuple(dict.fromkeys(told))


def _left(instrument: Instrument, spot: Spot, mover: Spot, name: str) -> str:
    """Why a key is played without a note that it would move."""
    does = "played" if mover == spot else f"moved by {_named(instrument, mover)}"
    return f"{_named(instrument, spot)} is {does} already: the key of {name} is played without it."


def _named(instrument: Instrument, spot: Spot) -> str:
    return full_name(spot[0], note_name(spot[1], instrument.naming))


def _titles(instrument: Instrument, made: CoupledNote) -> dict[str, str]:
    """What each pallet of a key sounds: its own note, and others with the key that moves them."""
    key, found = _named(instrument, (made.division, made.note)), dict[str, str]()
    for one in made.soundings:
        sounds = _named(instrument, (one.division, one.note))
        title = f"{sounds} by {key}" if one.prefix else sounds
        for part in instrument.divisions[one.division].parts:
            if part.part.role == "pallet":
                found[one.part(part.name)] = title
    return found


def _boxes(instrument: Instrument, made: CoupledNote, train: Train) -> dict[str, str]:
    """The chord's boxes by the names of the train's own."""
    owners = {
        one.part(part.name): one.division for one in made.soundings for part in instrument.divisions[one.division].parts
    }
    return {part.name: box_of(instrument, owners[part.name]) for part in boxes_of(train)}
