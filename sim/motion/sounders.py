"""The pallets of a train, each with its spring, its groove and its box, and what is recorded of them."""

from __future__ import annotations

from dataclasses import dataclass

from keyaction.models.algebra.names import Name
from keyaction.models.train.train import Train
from keyaction.sim.code.layout import Layout


@dataclass(frozen=True)
class Sounder:
    """A pallet with what belongs to it, by the parts' names.

    Attributes
    ----------
    pallet, spring, groove, box : str
    gap, lift, pressure : str
        Observables: gap under the pallet at its eye, its lift there, pressure in its groove.
    box_pressure : float
        Of its box, Pa.
    feet : float
        Toe area of the stops that are drawn on its groove, m2.
    """

    pallet: str
    spring: str
    groove: str
    box: str
    gap: str
    lift: str
    pressure: str
    box_pressure: float
    feet: float


def sounders(train: Train, layout: Layout) -> tuple[Sounder, ...]:
    """The pallets of a train in its order, the played division's first."""
    found = []
    for i, part in enumerate(train.parts):
        if part.role != "pallet":
            continue
        spring, groove, box = (
            next(one for one in train.parts[i:] if one.role == role) for role in ("spring", "groove", "box")
        )
        found.append(
            Sounder(
                part.name,
                spring.name,
                groove.name,
                box.name,
                layout.seen_of(part.name, "seat_gap"),
                layout.seen_of(part.name, "pallet_lift"),
                layout.seen_of(groove.name, "groove_pressure"),
                train.parameters[Name(box.name, "p_box")].value,
                groove.figure("feet"),
            )
        )
    return tuple(found)


def stage_names(train: Train, layout: Layout) -> list[tuple[str, str, str]]:
    """Of every stage of a key's way whose it is, what it does in words, and what is recorded that passes 0 there."""
    found = []
    for part in train.parts:
        for place, what in part.part.stages:
            stretches = [one.stretch for one in layout.elements if (one.part, one.place) == (part.name, place)]
            found.append((part.name, what, stretches[0] if stretches else layout.seen_of(part.name, place)))
    return found
