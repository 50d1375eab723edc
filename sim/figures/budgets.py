"""Which part gave how much before the pluck: the key's way to the pluck point, shared out."""

from __future__ import annotations

import math

import numpy as np

from keyaction.models.train.train import Train, TrainPart
from keyaction.sim.code.layout import Recorded
from keyaction.sim.figures.quantities import lost_motion, pluck_point
from keyaction.sim.figures.record import Pressed


def _stretch(record: Pressed, element: Recorded) -> float:
    """Stretch under load at the pluck beyond that at rest; a slack rod at rest counts from taut."""
    return record.at_pluck(element.stretch) - max(float(record.press.down[element.stretch][0]), 0.0)


def compliance_budget(record: Pressed) -> dict[str, float]:
    """Key travel (m) that each part's giving way took up before the pluck; the shares add up to the pluck point.

    Returns
    -------
    dict
        ``lost motion``, every rod (its own stretch, and ``NAME ends`` for hooks, nuts and cloths), every
        roller's twist, ``pallet seat``, and ``friction and geometry``: what the taut, loaded train needs beyond
        these (bushings that give before they slip, arms out of square, rest felt). Empty where nothing plucks.
    """
    place = record.press.pluck_place
    if not np.isfinite(place):
        return {}
    down, train = record.press.down, record.model.train
    q = down.states[math.ceil(place), : len(record.kinematics.coordinates)]
    ratios = record.kinematics.way_ratios(q, record.model.parameters())
    budget = {"lost motion": lost_motion(record)}
    for link, ratio in zip(record.kinematics.links, ratios, strict=True):
        gave = _stretch(record, link.element) / ratio
        for name, share in _split(train.part(link.element.part), link.kind).items():
            budget[name] = budget.get(name, 0.0) + share * gave
    pallet = train.role("pallet")
    way = record.kinematics.layout.body(pallet.name).way
    turned = record.at_pluck(way) - float(down[way][0])
    last = record.kinematics.ratios(q, record.model.parameters())[record.kinematics.links[-1].downstream]
    budget["pallet seat"] = turned / last
    budget["friction and geometry"] = pluck_point(record) - sum(budget.values())
    return budget


def owners(train: Train) -> dict[str, str]:
    """The part that every share of the compliance budget belongs to; those of the whole train have none."""
    found = {"pallet seat": train.role("pallet").name}
    for part in train.parts:
        found |= dict.fromkeys((part.name, f"{part.name} ends", f"{part.name} twist"), part.name)
    return found


def _split(part: TrainPart, kind: str) -> dict[str, float]:
    """A rod's give between its own stretch and its ends, by their compliance."""
    if kind == "twist":
        return {f"{part.name} twist": 1.0}
    figures = part.values.derived
    if kind == "bar" or "EA" not in figures or "k_piece" in figures:
        return {part.name: 1.0}
    own = figures["k"].value * part.values.number("length") / figures["EA"].value
    return {part.name: own, f"{part.name} ends": 1.0 - own} if own <= 1.0 else {part.name: 1.0}
