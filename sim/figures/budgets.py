"""Which part gave how much before the pluck: the key's way to the pluck point, shared out."""

from __future__ import annotations

import numpy as np

from keyaction.sim.figures.measure import value_at
from keyaction.sim.figures.quantities import lost_motion, pluck_point
from keyaction.sim.figures.record import Record


def _stretch(record: Record, element: str) -> float:
    """Stretch under load at the pluck beyond that at rest; a slack rod at rest counts from taut."""
    slow = record.slow
    course = slow[f"stretch_{element}"]
    return value_at(slow.t, course, record.pluck_time) - max(float(course[0]), 0.0)


def compliance_budget(record: Record) -> dict[str, float]:
    """Key travel (m) that each part's giving way took up before the pluck; the shares add up to the pluck point.

    Returns
    -------
    dict
        ``lost motion``, every rod (its own stretch, and ``NAME ends`` for hooks, nuts and cloths), every
        roller's twist, ``pallet seat``, and ``friction and geometry``: what the taut, loaded train needs beyond
        these (bushings that give before they slip, arms out of square, rest felt). Empty where nothing plucks.
    """
    if not np.isfinite(record.pluck_time):
        return {}
    slow, train = record.slow, record.model.train
    i = int(np.searchsorted(slow.t, record.pluck_time))
    q = record.coordinates(slow, min(i, len(slow.t) - 1))
    ratios = record.kinematics.way_ratios(q, record.model.parameters())
    budget = {"lost motion": lost_motion(record)}
    for link, ratio in zip(record.kinematics.links, ratios, strict=True):
        part = link.element.split("-piece")[0] if link.kind == "bar" else link.element
        gave = _stretch(record, link.element) / ratio
        for name, share in _split(record, part, link.kind).items():
            budget[name] = budget.get(name, 0.0) + share * gave
    pallet = train.role("pallet")
    turned = value_at(slow.t, slow[f"q_{pallet.name}"], record.pluck_time) - float(slow[f"q_{pallet.name}"][0])
    last = record.kinematics.ratios(q, record.model.parameters())[record.kinematics.links[-1].downstream]
    budget["pallet seat"] = turned / last
    budget["friction and geometry"] = pluck_point(record) - sum(budget.values())
    return budget


def _split(record: Record, element: str, kind: str) -> dict[str, float]:
    """A rod's give between its own stretch and its ends, by their compliance."""
    if kind == "twist":
        return {element.removesuffix("-twist") + " twist": 1.0}
    parts = {part.name: part for part in record.model.train.parts}
    name = next((n for n in (element, element.rsplit("-", 1)[0]) if n in parts), element)
    figures = parts[name].values.derived if name in parts else {}
    if kind == "bar" or "EA" not in figures or "k_piece" in figures:
        return {name: 1.0}
    own = figures["k"].value * parts[name].values.number("length") / figures["EA"].value
    return {name: own, f"{name} ends": 1.0 - own} if own <= 1.0 else {name: 1.0}
