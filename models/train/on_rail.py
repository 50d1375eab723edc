"""A train whose levers sit on a rail that moves."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from keyaction.models.algebra.names import Name
from keyaction.models.fields.values import Derived
from keyaction.models.parts.rail_levers import ON_RAIL, SHARE_IN, SHARE_OUT, STILL
from keyaction.models.train.train import Train, TrainPart

ORIGIN = "by the directions of the rail and its rods"


def on_rail(train: Train, shares: Mapping[str, tuple[float, float]]) -> Train:
    """The same train with levers on a rail; standing still at its centre it changes nothing.

    Parameters
    ----------
    train : Train
    shares : mapping of str to (float, float)
        By lever: how far the end of its in arm, and that of its out arm, go in the playing direction per way of the
        rail, m/m.

    Raises
    ------
    ValueError
        If a part of that name is not there, or cannot sit on a rail.
    """
    unknown = [name for name in shares if name not in {part.name for part in train.parts}]
    if unknown:
        raise ValueError(f"no part {', '.join(unknown)} in this train; it has {', '.join(p.name for p in train.parts)}")
    wrong = [f"{name} is a {train.part(name).kind}" for name in shares if train.part(name).kind not in ON_RAIL]
    if wrong:
        raise ValueError(f"{', '.join(wrong)}; a rail carries {' and '.join(ON_RAIL)}")
    own = {name: _figures(*both) for name, both in shares.items()}
    parts = tuple(_seated(part, own[part.name]) if part.name in own else part for part in train.parts)
    structure = tuple(
        replace(member, part=ON_RAIL[member.part.kind]) if member.name in own else member for member in train.structure
    )
    more = {Name(part, name): one for part, figures in own.items() for name, one in figures.items()}
    return replace(train, parts=parts, structure=structure, parameters={**train.parameters, **more})


def _figures(near: float, far: float) -> dict[str, Derived]:
    given = {SHARE_IN: near, SHARE_OUT: far}
    return {one.name: replace(one, value=given[one.name], origin=ORIGIN) if one.name in given else one for one in STILL}


def _seated(part: TrainPart, figures: Mapping[str, Derived]) -> TrainPart:
    values = replace(part.values, derived={**part.values.derived, **figures})
    return replace(part, part=ON_RAIL[part.kind], values=values)
