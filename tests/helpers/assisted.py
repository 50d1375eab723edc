"""The shipped cases of assisted pallets, with values set and without what rubs."""

from __future__ import annotations

from functools import cache

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.models.train.train import Train
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.statics.press import StaticPress, press

ASSISTED = ("two-pallets", "relief-pallet", "two-stage-beam", "pneumatic-lever")
"""The cases, in the order of the README."""
PINS = {
    "two-pallets": ("key", "pallet", "second-pallet"),
    "relief-pallet": ("key", "pallet"),
    "two-stage-beam": ("key", "pallet"),
    "pneumatic-lever": ("key", "lever", "pallet"),
}
"""Parts that have a pin."""


def assisted(kind: str, **fields: object) -> Train:
    """The lowest note of a case, without friction at its pins; ``lever__bellows__arm`` is ``lever.bellows.arm``."""
    smooth = {
        f"{part}.pin.{what}": 0.0 if what == "coefficient" else "0 N*mm"
        for part in PINS[kind]
        for what in ("coefficient", "breakaway")
    }
    given = {path.replace("__", ".").replace("_dash_", "-"): value for path, value in fields.items()}
    case = read_case(kind, set_={**smooth, **given})
    return train_of(case, case.compass[0])


@cache
def pressed(kind: str) -> StaticPress:
    """Its slow press."""
    return press(NoteModel(assisted(kind)))


def where(course, name: str, level: float) -> int:
    """Number of the equilibrium nearest to where an observable first passes a level."""
    return round(course.place(name, level))
