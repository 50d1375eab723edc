"""A train with other values of some fields."""

from __future__ import annotations

from collections.abc import Mapping

from keyaction.models.fields.values import Given
from keyaction.models.train.train import Train, build_train


def remade(train: Train, changes: Mapping[str, Mapping[str, Given]]) -> Train:
    """The train with other values of some fields, built anew so that all that comes of them follows.

    Parameters
    ----------
    train : Train
    changes : mapping
        Part by name to fields with their values.

    Raises
    ------
    keyaction.TrainProblem
        When a part cannot be so.
    """
    parts = [
        (part.part, part.name, {**part.values.given, **changes.get(part.name, {})}, member.after, member.to)
        for part, member in zip(train.parts, train.structure, strict=True)
    ]
    libraries = {part.name: part.values.library for part in train.parts}
    return build_train(parts, train.parts[0].values.library, libraries)
