"""Which part gave how much before the pluck: the key's way to the pluck point, shared out."""

from __future__ import annotations

import math

import numpy as np

from keyaction.models.train.train import Train, TrainPart
from keyaction.sim.code.layout import Recorded
from keyaction.sim.figures.quantities import lost_motion, pluck_point
from keyaction.sim.figures.record import Pressed
from keyaction.sim.statics.kinematics import Link


def _stretch(record: Pressed, element: Recorded) -> float:
    """Stretch under load at the pluck beyond that at rest; a slack rod at rest counts from taut."""
    return record.at_pluck(element.stretch) - max(float(record.press.down[element.stretch][0]), 0.0)


def compliance_budget(record: Pressed) -> dict[str, float]:
    """Key travel (m) that each part's giving way took up before the pluck; the shares add up to the pluck point.

    Returns
    -------
    dict
        ``lost motion``, every rod (its own stretch, and ``NAME ends`` for hooks, nuts and cloths), ``NAME bending``
        of key, levers, rollers and pallet, every roller's twist, ``pallet seat``, and ``friction and geometry``:
        what the taut, loaded train needs beyond these (bushings that give before they slip, arms out of square,
        rest felt). What a wind of its own moves costs the key no way. Empty where nothing plucks.
    """
    place = record.press.pluck_place
    if not np.isfinite(place):
        return {}
    down, train = record.press.down, record.model.train
    q = down.states[math.ceil(place), : len(record.kinematics.coordinates)]
    ratios = record.kinematics.way_ratios(q, record.model.parameters())
    budget = {"lost motion": lost_motion(record)}
    pallet = train.role("pallet")
    path = record.kinematics.to(pallet.name)
    for link, ratio in ((record.kinematics.links[i], ratios[i]) for i in path if ratios[i] != 0.0):
        gave = _stretch(record, link.element) / ratio
        joined = [record.kinematics.layout.bodies[i].part for i in (link.upstream, link.downstream)]
        for name, share in _split(train.part(link.element.part), link, joined).items():
            budget[name] = budget.get(name, 0.0) + share * gave
    way = record.kinematics.layout.body(pallet.name).way
    turned = record.at_pluck(way) - float(down[way][0])
    last = record.kinematics.ratios(q, record.model.parameters())[record.kinematics.links[path[-1]].downstream]
    budget["pallet seat"] = turned / last if last != 0.0 else 0.0
    budget["friction and geometry"] = pluck_point(record) - sum(budget.values())
    return budget


def owners(train: Train) -> dict[str, str]:
    """The part that every share of the compliance budget belongs to; those of the whole train have none."""
    found = {"pallet seat": train.role("pallet").name}
    for part in train.parts:
        shares = (part.name, f"{part.name} ends", f"{part.name} twist", f"{part.name} bending")
        found |= dict.fromkeys(shares, part.name)
    return found


def _split(part: TrainPart, link: Link, joined: list[str]) -> dict[str, float]:
    """A link's give between a rod's own stretch, its ends and the bending of the `joined` parts, by compliance."""
    if link.kind == "twist":
        return {f"{part.name} twist": 1.0}
    figures = {name: item.value for name, item in part.values.derived.items()}
    if link.kind == "bar" or "give_near" not in figures:  # within a rod, or a rod of a script's own
        return {part.name: 1.0}
    stiffness = figures["k_far"] if "k_far" in figures and link.element.place == "out" else figures["k"]
    sides = {"in": (True, False), "out": (False, True)}.get(link.element.place, (True, True))
    gives = (figures["give_near"], figures["give_far"])
    bent = [stiffness * give if there else 0.0 for give, there in zip(gives, sides, strict=True)]
    if sum(bent) >= 1.0:  # a stiffness set straight that the bending does not allow
        bent = [0.0, 0.0]
    shares = {f"{name} bending": share for name, share in zip(joined, bent, strict=True) if share > 0}
    rod = 1.0 - sum(bent)
    slant = figures.get("cos_splay", 1.0) ** 2
    own = stiffness * part.values.number("length") / (figures["EA"] * slant) if "EA" in figures else rod
    if "k_piece" in figures or not own < rod:
        return {part.name: rod, **shares}
    return {part.name: own, f"{part.name} ends": rod - own, **shares}
