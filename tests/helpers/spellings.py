"""Parameters of a train by the way their symbols are spelled, which is shortest in a test."""

from keyaction.models.algebra.names import Name, spelled
from keyaction.models.train.train import Train


def names(train: Train) -> dict[str, Name]:
    """Spelling to name; those of the box and those that all share go by their own word too."""
    alone = {part.name for part in train.parts if part.role == "box"} | {""}
    found = {spelled(name): name for name in train.parameters}
    return found | {name.what: name for name in train.parameters if name.part in alone}


def figures(train: Train):
    """Spelling to derived figure."""
    return {spelling: train.parameters[name] for spelling, name in names(train).items()}
