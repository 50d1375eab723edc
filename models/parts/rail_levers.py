"""Squares and backfalls whose pins sit on a rail that moves: the rail's place and speed come from outside.

No case writes them: a case's squares and backfalls become such (`keyaction.models.train.on_rail`) where their rail's
motion is asked for. A lever's own mass and the pull of its weight belong to the rail.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from keyaction.models import algebra
from keyaction.models.fields.values import Derived, Values
from keyaction.models.parts.levers import Backfall, Lever, Square

if TYPE_CHECKING:
    from keyaction.models.algebra.builder import Builder, Port

ACCOUNT = "rail"
"""Account of the work that the rail does on the train."""
HOLD = "hold"
"""The impulse by which a lever's rods hold the rail back."""
PLACE, SPEED, SHARE_IN, SHARE_OUT = "rail", "rail_speed", "rail_in", "rail_out"
"""Parameters of a lever on a rail."""
STILL: tuple[Derived, ...] = (
    Derived(PLACE, 0.0, "m", "place of the rail from its centre, towards its load", "at its centre"),
    Derived(SPEED, 0.0, "m/s", "speed of the rail", "stands still"),
    Derived(SHARE_IN, 0.0, "", "way of the in arm's end in the playing direction, per way of the rail", "not on it"),
    Derived(SHARE_OUT, 0.0, "", "way of the out arm's end in the playing direction, per way of the rail", "not on it"),
)
"""A lever whose rail does nothing: by its name the value that each parameter has before it is set."""
_SHARES = {"in": SHARE_IN, "out": SHARE_OUT}


class RailLever(Lever):
    """What levers on a rail share: the ends of both arms go with the rail."""

    @classmethod
    def resolve(cls, values: Values) -> None:
        super().resolve(values)
        for one in STILL:
            values.set(one.name, one.value, one.unit, one.doc, one.origin)

    @classmethod
    def mounted(cls, builder: Builder, port: Port) -> Port:
        told = {one.name: one for one in STILL}
        share = _SHARES[port.name.rpartition(".")[2]]
        place, speed, along = (builder.param(name, told[name].unit, told[name].doc) for name in (PLACE, SPEED, share))
        hold = builder.impulse(HOLD, "impulse of its rods against the rail's load")
        return replace(port, shift=algebra.Shift(along * place, along * speed, ACCOUNT, hold, along))


class RailSquare(RailLever, Square):
    """A square on a rail that moves."""

    kind = "rail-square"
    title = "square on a rail"


class RailBackfall(RailLever, Backfall):
    """A backfall on a rail that moves."""

    kind = "rail-backfall"
    title = "backfall on a rail"


ON_RAIL: Mapping[str, type[RailLever]] = {Square.kind: RailSquare, Backfall.kind: RailBackfall}
"""Kind of a lever: what it is on a rail."""
