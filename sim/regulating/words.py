"""The work in words: what is done at one place, by how much and in which sense."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from keyaction.models.readings.figures import BY_NAME
from keyaction.models.readings.rounded import as_read
from keyaction.models.units.quantity import System, format_value
from keyaction.sim.regulating.cause import Cause, joined
from keyaction.sim.regulating.plan import FRAME
from keyaction.sim.regulating.steps import Common, Move

_WORKS = {"spring": "bend-spring", "nut": "turn-nut", "rest": "dip-washer", "bottom": "dip-washer"}
Said = Callable[[float, str], str]
Named = Callable[[int], str]
_MANY = 8
LISTS = "lists"
"""The sheet that has all names where a sentence has the first of them."""


def names(found: Sequence[str]) -> str:
    """Some names, the first of many and where the others stand."""
    more = len(found) - _MANY
    return ", ".join(found) if more <= 1 else f"{', '.join(found[:_MANY])} and {more} more (--out: {LISTS}.csv)"


def said_in(units: System) -> Said:
    """What says a quantity in the reader's units; forces as well as a balance reads them."""
    return lambda si, unit: as_read(si, unit, units) if unit == "N" else format_value(si, unit, units)


def seen_in(units: System) -> Said:
    """What says a figure as well as it is read: 0.1 mm, 1 gf."""
    return lambda si, unit: as_read(si, unit, units)


def cause_words(one: Cause, said: Said) -> str:
    """Why a note is not regulated, with the figures that stand against each other."""
    if not one.apart:
        return one.said
    parts = [
        f"{BY_NAME[name].said} {said(read, BY_NAME[name].unit)} is read, and "
        f"{said(wanted, BY_NAME[name].unit)} goes with what else was read here"
        for name, read, wanted in one.apart
    ]
    return f"{joined(parts)}; if it stays so, `keyaction diagnose` says what can make it"


def work_of(one: Move | Common) -> str:
    """The kind of work, a key of `keyaction.models.historic.works.WORKS`."""
    if one.kind == "pressure":
        return "pressure"
    return "common-adjuster" if isinstance(one, Common) else _WORKS[one.kind]


def turns(number: float) -> str:
    """Turns of a nut: "1.75 turns tighter"."""
    many = f"{abs(number):g} turn{'s' * (abs(number) > 1.0)}"
    return f"{many} {'looser' if number > 0.0 else 'tighter'}"


def move_words(one: Move, said: Said) -> str:
    """One thing that is done at a note, in words."""
    way = said(abs(one.amount), "m") if one.kind != "spring" else ""
    if one.kind == "nut":
        return f"nut of {one.part}: {turns(one.turns)} ({way})"
    if one.kind == "rest":
        return f"rest of the key: {way} {'higher' if one.amount > 0.0 else 'lower'} at its front"
    if one.kind == "bottom":
        return f"bottom of the key: {'take out' if one.amount > 0.0 else 'lay in'} {way} at its front"
    before, after = one.forces
    share = 100.0 * (after / before - 1.0) if before else math.nan
    return f"{one.part}: from {said(before, 'N')} to {said(after, 'N')} at the eye ({share:+.0f}\u00a0%)"


def lead_words(one: Move, said: Said) -> str:
    """What lead does the same at the key as a spring."""
    mass = said(abs(one.lead), "kg")
    return f"{mass} of lead {'laid on' if one.lead > 0.0 else 'taken off'} at the key front"


def common_words(one: Common, said: Said) -> str:
    """A move that many notes share, in words."""
    if one.kind == "pressure":
        return f"from {said(one.from_to[0], 'Pa')} to {said(one.from_to[1], 'Pa')}"
    way = said(abs(one.amount), "m")
    if one.kind == "nut":
        sense = "looser" if one.amount > 0.0 else "tighter"
        place = f"the {one.place}" if one.place else "the common adjuster of the run"
        return f"{place}: every run {way} {sense}, counted at {one.part}"
    if one.kind == FRAME:
        return f"key frame, with rests, pins and bottom: {way} {'higher' if one.amount > 0.0 else 'lower'}"
    if one.kind == "rest":
        return f"rest rail: all keys {way} {'higher' if one.amount > 0.0 else 'lower'} at the front"
    return f"dip rail: all keys {way} {'deeper' if one.amount > 0.0 else 'shallower'} at the front"
