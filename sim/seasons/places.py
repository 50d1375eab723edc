"""Places that carry axes of many notes: the rail, members, the pins of a kind of lever; what moving them does."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np

from keyaction.cases.action.case import Case
from keyaction.models.frame.changes import RunRod, shift_of
from keyaction.models.frame.member import KEY_FRONT, VECTORS, Direction, Member
from keyaction.models.frame.places import chain
from keyaction.models.frame.rods import run_change, run_rods
from keyaction.models.train.train import Train
from keyaction.sim.seasons.advice import Kind, Place
from keyaction.sim.seasons.season import DivisionSeason

Ways = Mapping[int, Mapping[str, float]]
"""By note: way of every rod of the strand per way of the key front."""
_WAYS: tuple[Direction, ...] = ("up", "back", "right")
"""Directions in which pins are tried; the others are these backwards."""


def places_of(season: DivisionSeason, ways: Ways) -> tuple[Place, ...]:
    """Everything by which all notes of a division can be adjusted at once.

    Parameters
    ----------
    season : DivisionSeason
    ways : mapping of int to mapping of str to float
        By note, of the rods of its strand.

    Returns
    -------
    tuple of Place
        The rail of the case; members that carry neither pallets nor what stands on the rail (a chest is not moved for
        this); and what carries the pins of one kind of lever, or the keys, where no member or rail does.
    """
    trains = {note: one.tightness.train for note, one in season.notes.items() if one.tightness is not None}
    runs = {note: run_of(season, note, train) for note, train in trains.items()}
    rail = season.frame.rail
    found = [Place("rail", "rail", rail.towards, _of_pins(rail.carries, rail.towards, runs, ways))] if rail else []
    members = [one for one in season.frame.members if _may_be_shimmed(one, season.frame.members, trains.values())]
    found += [_of_member(one, season.frame.members, runs, ways, trains) for one in members]
    carried = {thing for one in members for thing in one.carries} | {*(rail.carries if rail else ())}
    kinds = dict.fromkeys((p.name, p.role) for train in trains.values() for p in train.parts)
    found += [
        _best_way(name, "frame" if role == "key" else "levers", runs, ways)
        for name, role in kinds
        if role in ("key", "lever") and name not in carried
    ]
    return tuple(found)


def run_of(season: DivisionSeason, note: int, train: Train) -> tuple[RunRod, ...]:
    """The rods of a note's run as the seasons see them."""
    return run_in(season.case, note, train)


def run_in(case: Case, note: int, train: Train) -> tuple[RunRod, ...]:
    """The same of a case alone."""
    after = {member.name: member.after[0] for member in train.structure if member.after}
    return run_rods(train.parts, case.layout.paths.get(note) if case.layout else None, after)


def _may_be_shimmed(member: Member, members: Iterable[Member], trains: Iterable[Train]) -> bool:
    """Whether it carries something, and no pallet with it."""
    every = list(members)
    things = {t for one in every if member in chain(every, one.name) for t in one.carries} - {KEY_FRONT}
    pallets = {part.name for train in trains for part in train.parts if part.role == "pallet"}
    return bool(things) and not things & pallets


def _of_pins(
    levers: Iterable[str], towards: Direction, runs: Mapping[int, tuple[RunRod, ...]], ways: Ways
) -> dict[int, float]:
    """How much tighter each run is drawn, counted at the key, per way of the pins of these levers."""
    return {note: sum(_of_pin(one, towards, runs[note], ways[note]) for one in levers) for note in runs}


def _of_pin(lever: str, towards: Direction, rods: Iterable[RunRod], ways: Mapping[str, float]) -> float:
    own = [rod for rod in rods if rod.name in ways]
    before = next((rod for rod in own if rod.behind == lever), None)
    behind = next((rod for rod in own if rod.before == lever), None)
    shifts = zip((before, behind), shift_of(VECTORS[towards], before, behind), strict=True)
    return float(sum(shift / ways[rod.name] for rod, shift in shifts if rod is not None))


def _best_way(name: str, kind: Kind, runs: Mapping[int, tuple[RunRod, ...]], ways: Ways) -> Place:
    """The pins of a kind of lever, moved the way that does most."""
    tried = {towards: _of_pins([name], towards, runs, ways) for towards in _WAYS}
    best = max(tried, key=lambda towards: float(np.median(np.abs(list(tried[towards].values())))))
    return Place("key frame" if kind == "frame" else f"pins of {name}", kind, best, tried[best])


def _of_member(
    member: Member,
    members: tuple[Member, ...],
    runs: Mapping[int, tuple[RunRod, ...]],
    ways: Ways,
    trains: Mapping[int, Train],
) -> Place:
    """A member with a shim under it, and all that stands on it."""
    gains = {}
    for note, rods in runs.items():
        growth = {one.name: np.array([1.0 / one.length[note] if one is member else 0.0]) for one in members}
        change = run_change(members, rods, note, growth, {})
        by_rod = zip(change.rods, change.tighter[:, 0], strict=True)
        gains[note] = float(sum(moved / ways[note][rod] for rod, moved in by_rod if rod in ways[note]))
    keys = {part.name for train in trains.values() for part in train.parts if part.role == "key"}
    every = {thing for one in members if member in chain(members, one.name) for thing in one.carries}
    return Place(member.name, "frame" if keys & every else "member", member.towards, gains)
