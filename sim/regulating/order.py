"""The trade's order of work, a line for each stage: what is done there, what is nothing, what was not read."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from keyaction.models.readings.figures import BY_NAME
from keyaction.models.readings.rounded import step_of
from keyaction.models.units.quantity import System
from keyaction.sim.regulating.aims import STAGES
from keyaction.sim.regulating.regulate import Regulation
from keyaction.sim.regulating.words import Named, Said, common_words, names, said_in, seen_in

_SINGLE = {
    ("springs", "spring"): "spring{s} to be bent",
    ("rail", "nut"): "nut{s} to be loosened before {its} moved, else {it} pull{v}",
    ("level", "nut"): "nut{s} to be turned for the level",
    ("level", "rest"): "key{s} to be set where {it} rest{v}",
    ("dip", "bottom"): "key{s} with another washer or cloth at the bottom",
    ("pluck point", "nut"): "nut{s} to be turned for the play",
}
_NOTHING = {
    "pressure": "nothing to do",
    "pallets seat": "nothing stands out",
    "springs": "nothing to bend",
    "pull-downs": "no friction stands out",
    "rollers": "none gives way more than drawn",
    "rail": "no offset that the notes share",
    "level": "no single key to be set",
    "dip": "as drawn",
    "pluck point": "even",
}
_NEEDS = {
    "pallets seat": ("seal", "pluck with hold and up-weight"),
    "springs": ("spring", "hold and up-weight beside the pluck"),
    "pull-downs": ("friction", "hold and up-weight"),
    "rollers": ("soft-run", "play and pluck point"),
}
_SHOWN_BY = {"level": "level", "dip": "dip", "pluck point": "play"}


def stages(
    one: Regulation, name: Named, units: System = "trade", couplers: Sequence[str] = ()
) -> list[tuple[str, str]]:
    """The trade's order, a name and a line each: what is done there, what is nothing, and what was not read.

    Parameters
    ----------
    one : Regulation
    name : callable
    units : {"trade", "si"}
    couplers : sequence of str
        Couplers that take hold of the division.
    """
    said = said_in(units), seen_in(units)
    return [
        (stage, _stage(one, stage, name, said) if stage in _NOTHING else _last(one, stage, couplers))
        for stage in STAGES
    ]


def _stage(one: Regulation, stage: str, name: Named, said: tuple[Said, Said]) -> str:
    parts = [
        f"{common_words(step, said[0])} ({_does(step.change, said[1])})"
        for step in one.steps.commons
        if step.stage == stage
    ]
    if stage == "level" and one.datum:
        parts.insert(0, "check first what the straightedge lay on; no rail is moved for it")
    if stage == "rail" and any(step.kind == "nut" and step.stage != stage for step in one.steps.commons):
        parts.append("all runs are set after the level, with the pluck point: before it they would pull")
    moves = [move for move in one.steps.moves if move.stage == stage]
    for kind in dict.fromkeys(move.kind for move in moves):
        own = [move for move in moves if move.kind == kind]
        parts.append(f"{_counted(stage, kind, len(own))}: {names([name(move.note) for move in own])}")
    sent = [cause for cause in one.causes if cause.stage == stage and cause.sent == "diagnose"]
    if sent:
        parts.append(f"find the cause first at {names(list(dict.fromkeys(name(cause.note) for cause in sent)))}")
    if parts:
        return "; ".join(parts)
    return _unknown(one, stage) or _NOTHING[stage]


def _counted(stage: str, kind: str, count: int) -> str:
    many = {"s": "s", "it": "they", "v": "", "its": "their keys are"}
    words = many if count > 1 else {"s": "", "it": "it", "v": "s", "its": "its key is"}
    return f"{count} {_SINGLE[stage, kind].format(**words)}"


def _does(change: Mapping[str, float], said: Said) -> str:
    """What a common move does to level, play, lift and pluck."""
    parts = []
    for figure in ("level", "play", "dip", "lift", "pluck"):
        about, by = BY_NAME[figure], float(change[figure])
        if math.isfinite(by) and abs(by) >= step_of(about.unit, "trade") / 2:
            parts.append(f"{about.heading} {'+' if by > 0.0 else '-'}{said(abs(by), about.unit)}")
    return ", ".join(parts) or "no figure at the key changes"


def _unknown(one: Regulation, stage: str) -> str:
    """That nothing is known of a stage, and which reading would tell; empty where enough was read."""
    if stage == "pressure":
        if one.wind.contradicts:
            return "measure it again: the plucks contradict what is written on the sheet"
        if one.wind.measure:
            return "measure it; what was read does not tell it from springs and friction"
        return "not written on the sheet; measure it first" if math.isnan(one.readings.head.pressure) else ""
    if stage in _NEEDS:
        kind, needs = _NEEDS[stage]
        return "" if np.any(one.state.tells(kind) & one.state.known) else f"not told by what was read; read {needs}"
    if stage in _SHOWN_BY:
        figure = _SHOWN_BY[stage]
        if stage == "pluck point" and np.all(one.table.hung):
            return "a hung key has no play to set; its level sets the run"
        return (
            "" if np.any(one.state.shows(figure) & one.state.known) else f"not told by what was read; read the {figure}"
        )
    return ""


def _last(one: Regulation, stage: str, couplers: Sequence[str]) -> str:
    """Couplers, pedal, and the second measuring."""
    moved = sum(any(move.kind in ("nut", "rest", "bottom") for move in one.steps.of(note)) for note in one.notes)
    shared = any(step.kind != "pressure" for step in one.steps.commons)
    reach = f"{len(one.notes) if shared else moved} notes stand otherwise afterwards"
    if stage == "recheck":
        touched = one.steps.moves or one.steps.commons
        return "measure a new sheet and hold it against this one (--before)" if touched else "nothing was changed"
    if stage == "pedal":
        return "its couplers to this division last, if it has any" if moved or shared else "nothing to follow"
    if not couplers:
        return "none take hold of this division" if not (moved or shared) else "any that take hold here, again"
    then = f"; {reach}: set their play again from above (`keyaction tune --coupler-play`)" if moved or shared else ""
    return f"{', '.join(couplers)}{then}"
