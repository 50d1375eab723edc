"""The train that the tests play: an invented note of key, two squares, roller, pallet and groove.

Seven bodies (key, two squares, both ends of the roller, pallet, groove's air), joined by four rods.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import lru_cache

from keyaction.models.fields import Field
from keyaction.models.materials import default_library
from keyaction.models.parts import PARTS
from keyaction.models.train import Train, build_train
from keyaction.models.units import parse_quantity
from keyaction.models.values import Given
from keyaction.sim.integrate import Tolerances
from keyaction.sim.note import NoteModel

LIBRARY = default_library()

_STRIP = {"material": "western-redcedar", "section": "rectangle", "width": "10 mm", "thickness": "1.2 mm"}
_SQUARE = {
    "in_arm": "50 mm",
    "out_arm": "50 mm",
    "material": "sugar-maple",
    "width": "15 mm",
    "thickness": "6 mm",
}

DEMO: tuple[tuple[str, str, Mapping[str, object]], ...] = (
    (
        "key",
        "key",
        {
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
            "rest_felt.material": "key-felt",
            "rest_felt.thickness": "4 mm",
            "rest_felt.area": "1.5 cm^2",
            "bottom_felt.material": "key-felt",
            "bottom_felt.thickness": "4 mm",
            "bottom_felt.area": "2 cm^2",
        },
    ),
    ("tracker", "t1", {"length": "600 mm", **_STRIP, "moves": "up"}),
    ("square", "sq1", _SQUARE),
    ("tracker", "t2", {"length": "1800 mm", **_STRIP, "moves": "level"}),
    ("square", "sq2", _SQUARE),
    ("tracker", "t3", {"length": "1200 mm", **_STRIP, "moves": "down", "lost_motion": "0.3 mm"}),
    (
        "roller",
        "roller",
        {
            "length": "600 mm",
            "material": "sitka-spruce",
            "section": "square",
            "width": "25 mm",
            "in_arm": "60 mm",
            "out_arm": "60 mm",
            "arm_material": "sugar-maple",
            "arm_width": "15 mm",
            "arm_thickness": "8 mm",
        },
    ),
    (
        "pull-down",
        "pd",
        {
            "length": "250 mm",
            "material": "phosphor-bronze",
            "section": "round",
            "diameter": "1.5 mm",
            "moves": "down",
        },
    ),
    (
        "pallet",
        "pallet",
        {
            "opening_length": "220 mm",
            "opening_width": "17 mm",
            "hinge_to_opening": "15 mm",
            "sealing_margin": "1.5 mm",
            "eye": "200 mm",
            "opens": "down",
            "thickness": "22 mm",
            "material": "sitka-spruce",
            "seat.material": "pallet-felt",
            "seat.thickness": "3 mm",
            "seat.area": "20 cm^2",
        },
    ),
    ("spring", "spring", {"at": "120 mm", "force": "2.3 N", "rate": "12 N/m"}),
    ("groove", "groove", {"length": "900 mm", "width": "18 mm", "depth": "80 mm", "feet_area": "150 mm^2"}),
    (
        "box",
        "box",
        {"pressure": "75 mmH2O", "temperature": "20 degC", "humidity": 0.5, "atmosphere": "101325 Pa"},
    ),
)
"""Kind, name and fields of each part; dotted paths for nested fields."""

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


def _given(kind: str, fields: Mapping[str, object]) -> dict[str, Given]:
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
        [(kind, name, _given(kind, {**fields, **own.get(name, {})})) for kind, name, fields in listed],
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
    known = dict(train.parameters)
    for name, value in values.items():
        known[name] = replace(known[name], value=value, origin="set by a test")
    return replace(train, parameters=known)


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
