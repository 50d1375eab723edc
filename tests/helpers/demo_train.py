"""The train that the tests play: an invented note of key, two squares, roller, pallet and groove.

Seven bodies (key, two squares, both ends of the roller, pallet, groove's air), joined by four rods.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import lru_cache

from spellings import names

from keyaction.models.fields.fields import Field
from keyaction.models.fields.values import Given
from keyaction.models.materials.library import default_library
from keyaction.models.parts import PARTS
from keyaction.models.train.train import Train, build_train
from keyaction.models.units.quantity import parse_quantity
from keyaction.sim.motion.integrate import Tolerances
from keyaction.sim.motion.note import NoteModel

LIBRARY = default_library()


def _pin(diameter: str, breakaway: str, coefficient: float) -> dict[str, object]:
    return {"pin.diameter": diameter, "pin.breakaway": breakaway, "pin.coefficient": coefficient}


def _felt(name: str, squeeze: str, force: str, alpha: float) -> dict[str, object]:
    return {f"{name}.squeeze": squeeze, f"{name}.force": force, f"{name}.alpha": alpha}


# Whatever rests on common practice is given here, so that a better default does not move what the tests compare.
_STIFF = {"bending": False}
_ENDS = {"end_stiffness": "40 N/mm", "end_mass": "0.5 g", "damping": 3.0}
_STRIP = {"material": "western-redcedar", "section": "rectangle", "width": "10 mm", "thickness": "1.2 mm", **_ENDS}
_SQUARE = {
    "in_arm": "50 mm",
    "out_arm": "50 mm",
    "material": "sugar-maple",
    "width": "15 mm",
    "thickness": "6 mm",
    **_STIFF,
    **_pin("2 mm", "0.2 N*mm", 0.25),
}
_KEY = {
    "balance": "balanced",
    "front": "230 mm",
    "arm": "150 mm",
    "dip": "9.5 mm",
    "stick_front": "250 mm",
    "stick_tail": "200 mm",
    "width": "22 mm",
    "height": "24 mm",
    "material": "sitka-spruce",
    "leads.0.mass": "20 g",
    "leads.0.at": "-150 mm",
    **_STIFF,
    **_felt("rest_felt", "0.5 mm", "1.3 N", 1.5),
    **_felt("bottom_felt", "0.5 mm", "1.8 N", 1.5),
    **_pin("2.5 mm", "0.5 N*mm", 0.25),
}
_ROLLER = {
    "length": "600 mm",
    "material": "sitka-spruce",
    "section": "square",
    "width": "25 mm",
    "in_arm": "60 mm",
    "out_arm": "60 mm",
    "arm_material": "sugar-maple",
    "arm_width": "15 mm",
    "arm_thickness": "8 mm",
    "loss": 0.02,
    "pin_to_arm": "20 mm",
    **_STIFF,
    **_pin("3 mm", "0.3 N*mm", 0.25),
}
_PULL_DOWN = {
    "length": "250 mm",
    "material": "phosphor-bronze",
    "section": "round",
    "diameter": "1.5 mm",
    "moves": "down",
    **_ENDS,
    "end_stiffness": "60 N/mm",
}
_PALLET = {
    "opening_length": "220 mm",
    "opening_width": "17 mm",
    "hinge_to_opening": "15 mm",
    "sealing_margin": "1.5 mm",
    "eye": "200 mm",
    "opens": "down",
    "thickness": "22 mm",
    "overlap": "3 mm",
    "material": "sitka-spruce",
    **_STIFF,
    **_felt("seat", "0.3 mm", "3.8 N", 2.0),
    **_pin("2 mm", "0.5 N*mm", 0.5),
}
_GROOVE = {
    "length": "900 mm",
    "width": "18 mm",
    "depth": "80 mm",
    "feet_area": "150 mm^2",
    "leak": "2 mm^2",
    "gap_flow": 0.61,
    "feet_flow": 0.6,
}
_BOX = {"pressure": "75 mmH2O", "temperature": "20 degC", "humidity": 0.5, "atmosphere": "101325 Pa"}

DEMO: tuple[tuple[str, str, Mapping[str, object]], ...] = (
    ("key", "key", _KEY),
    ("tracker", "t1", {"length": "600 mm", **_STRIP, "moves": "up"}),
    ("square", "sq1", _SQUARE),
    ("tracker", "t2", {"length": "1800 mm", **_STRIP, "moves": "level"}),
    ("square", "sq2", _SQUARE),
    ("tracker", "t3", {"length": "1200 mm", **_STRIP, "moves": "down", "lost_motion": "0.3 mm"}),
    ("roller", "roller", _ROLLER),
    ("pull-down", "pd", _PULL_DOWN),
    ("pallet", "pallet", _PALLET),
    ("spring", "spring", {"at": "120 mm", "force": "2.3 N", "rate": "12 N/m"}),
    ("groove", "groove", _GROOVE),
    ("box", "box", _BOX),
)
"""Kind, name and fields of each part; dotted paths for nested fields."""

BENDING = {f"{part}.bending": True for part in ("key", "sq1", "sq2", "roller", "pallet")}
"""Overrides that let what bends bend; the demo train's levers are stiff."""

FRICTIONLESS = {
    f"{part}.pin.{what}": 0.0
    for part in ("key", "sq1", "sq2", "roller", "pallet")
    for what in ("breakaway", "coefficient")
}
"""Overrides that take every pin's friction away."""

LOSSLESS = (
    FRICTIONLESS
    | {f"{rod}.damping": 0.0 for rod in ("t1", "t2", "t3", "pd")}
    | {
        "roller.loss": 0.0,
        "key.rest_felt.alpha": 0.0,
        "key.bottom_felt.alpha": 0.0,
        "pallet.seat.alpha": 0.0,
    }
)
"""Overrides that take friction and every damping away."""


def _leaves(fields: Iterable[Field], prefix: str = "") -> Iterable[tuple[str, Field]]:
    for field in fields:
        if field.kind in ("table", "rows"):
            yield from _leaves(field.fields, f"{prefix}{field.name}." + ("*." if field.kind == "rows" else ""))
        else:
            yield prefix + field.name, field


def given(kind: str, fields: Mapping[str, object]) -> dict[str, Given]:
    """Text with a unit is read in the field's unit; numbers are SI; None takes a field (or default) away."""
    known = dict(_leaves(PARTS[kind].fields))
    found = {
        path: Given(field.default, f"default: {field.source}")
        for path, field in known.items()
        if field.default is not None and "*" not in path
    }
    for path, value in fields.items():
        field = known[".".join("*" if step.isdigit() else step for step in path.split("."))]
        if value is None:
            found.pop(path, None)
        elif field.kind == "quantity" and isinstance(value, str):
            found[path] = Given(parse_quantity(value, field.unit), "case")
        else:
            found[path] = Given(value, "case")
    return found


def train_of(parts: Iterable[tuple[str, str, Mapping[str, object]]], **overrides: object) -> Train:
    """A train from parts with dotted overrides such as ``**{"roller.length": "600 mm"}``."""
    own: dict[str, dict[str, object]] = {}
    for path, value in overrides.items():
        name, field = path.split(".", 1)
        own.setdefault(name, {})[field] = value
    listed = list(parts)
    unknown = own.keys() - {name for _, name, _ in listed}
    if unknown:
        raise KeyError(f"no such part: {', '.join(sorted(unknown))}")
    return build_train(
        [(kind, name, given(kind, {**fields, **own.get(name, {})})) for kind, name, fields in listed],
        LIBRARY,
    )


@lru_cache(maxsize=128)
def _demo(overrides: tuple[tuple[str, object], ...]) -> Train:
    return train_of(DEMO, **dict(overrides))


def demo(**overrides: object) -> Train:
    """The demo train with dotted overrides; remembered for the session."""
    return _demo(tuple(sorted(overrides.items())))


def tuned(train: Train, **values: float) -> Train:
    """The same train with parameters of its equations set straight to `values`."""
    known = names(train)
    for spelling, value in values.items():
        train = train.with_parameter(known[spelling], value, "set by a test")
    return train


@lru_cache(maxsize=128)
def _model(
    overrides: tuple[tuple[str, object], ...], tune: tuple[tuple[str, float], ...], tolerances: Tolerances
) -> NoteModel:
    return NoteModel(tuned(_demo(overrides), **dict(tune)), tolerances)


def demo_model(
    tune: Mapping[str, float] | None = None, tolerances: Tolerances | None = None, **overrides: object
) -> NoteModel:
    """The demo train ready to play, its state of rest remembered for the session."""
    return _model(tuple(sorted(overrides.items())), tuple(sorted((tune or {}).items())), tolerances or Tolerances())
