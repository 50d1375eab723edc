"""Boxes that several trains of a chord share."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields

from keyaction.models.train.train import Train
from keyaction.sim.chord.problem import ChordProblem
from keyaction.sim.wind.supplies import Supply, boxes_of, supply_of


def shared_boxes(trains: Mapping[str, Train], boxes: Mapping[tuple[str, str], str]) -> dict[str, Supply]:
    """The supplies of the boxes that trains share.

    Parameters
    ----------
    trains : mapping of str to Train
        By the names of their notes.
    boxes : mapping of (str, str) to str
        A note and the name of a box of its train, to the name of the box that it is.

    Raises
    ------
    ChordProblem
        Where what is one box is fed differently for two notes.
    """
    found: dict[str, tuple[str, Supply]] = {}
    wrong: dict[str, None] = {}
    for note, train in trains.items():
        for part in boxes_of(train):
            name, mine = boxes[note, part.name], supply_of(part)
            first, other = found.setdefault(name, (note, mine))
            for text in _apart(mine, other):
                wrong[f"{name}: {note} and {first} do not share one box: {text}"] = None
    if wrong:
        raise ChordProblem(list(wrong))
    return {name: one for name, (_, one) in found.items()}


def _apart(mine: Supply, other: Supply) -> list[str]:
    """What is told differently of two."""
    pairs = [(one.name, getattr(mine, one.name), getattr(other, one.name)) for one in fields(Supply)]
    return [f"{name} {a:g} against {b:g} (SI)" for name, a, b in pairs if a != b and not (a != a and b != b)]
