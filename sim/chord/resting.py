"""Notes and boxes before anything is played: what leaks past seats pulls a box down a little."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from keyaction.models.algebra.names import Name
from keyaction.models.formulas.supply import steady_box
from keyaction.sim.chord.places import Player, grooves_of
from keyaction.sim.motion.drives import HANDS_OFF
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.wind.supplies import Supply

_RESTED, _TRIES = 1e-6, 20
"""Share of its pressure within which a box rests, and how often that is tried."""


def at_pressures(model: NoteModel, boxes: Mapping[str, str], pressures: Mapping[str, float]) -> NoteModel:
    """A note whose boxes stand at other pressures (Pa) while its pallets sit as they are made.

    Parameters
    ----------
    model : NoteModel
    boxes : mapping of str to str
        The boxes of its train, to those of `pressures`.
    pressures : mapping of str to float
    """
    train = model.train
    for box, name in boxes.items():
        train = train.with_parameter(Name(box, "p_box"), pressures[name], "as the chord leaves it")
    return NoteModel(train, model.tolerances, model.plain)


def resting(
    players: Sequence[Player], supplies: Mapping[str, Supply]
) -> tuple[list[Player], dict[str, tuple[float, float]]]:
    """The notes as they rest in their boxes, and the pressure (Pa) and flow (m3/s) of each box."""
    pressures = {name: supply.pressure for name, supply in supplies.items()}
    resting, flows = list(players), dict.fromkeys(supplies, 0.0)
    for _ in range(_TRIES):
        flows = _leaking(resting, supplies)
        found = {name: _left(supply, pressures[name], flows[name]) for name, supply in supplies.items()}
        if all(abs(found[name] - old) <= _RESTED * max(old, 1.0) for name, old in pressures.items()):
            break
        pressures = found
        resting = [replace(one, model=at_pressures(one.model, one.boxes, pressures)) for one in players]
    return resting, {name: (pressures[name], flows[name]) for name in supplies}


def _leaking(players: Sequence[Player], supplies: Mapping[str, Supply]) -> dict[str, float]:
    """What flows out of each box into the grooves of notes at rest, m3/s."""
    flows = dict.fromkeys(supplies, 0.0)
    for one in players:
        kernel, still = one.model.kernel(), one.model.vector(HANDS_OFF, HANDS_OFF.pieces[0])
        shown = kernel.observe(np.zeros(1), one.model.rest()[None, :], one.model.parameters(), still)[0]
        for groove in grooves_of(one.model):
            flows[one.boxes[groove.box]] += float(
                shown[kernel.observables.index(kernel.seen_of(groove.name, "flow_in"))]
            )
    return flows


def _left(supply: Supply, pressure: float, flow: float) -> float:
    """The pressure that a box comes to when it leaks as now."""
    if supply.holds or flow <= 0.0 or pressure <= 0.0:
        return supply.pressure
    area = flow / math.sqrt(2 * pressure / supply.density)
    return steady_box(supply.pressure, supply.fall, supply.orifice, area, supply.density)
