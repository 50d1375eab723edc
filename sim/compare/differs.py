"""What differs between the variants of a comparison, in words: parts, their material and section, other fields."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from keyaction.cases.action.case import PartSpec
from keyaction.cases.fields.tables import field_at
from keyaction.models.fields.values import Values
from keyaction.models.parts.common import on_edge
from keyaction.models.train.train import Train
from keyaction.models.units.quantity import System, format_value
from keyaction.sim.compare.rod_choice import guided
from keyaction.sim.compare.variants import Variant

Trains = Sequence[Mapping[int, Train]]
"""For each variant the trains of its notes."""

_MOST = 5
"""Things that are told of a variant before the rest is counted."""
_OF_BARS = ("material", "section", "diameter", "wall", "width", "thickness", "lies")
"""Fields that are told together, as material and section."""


def described(values: Values) -> tuple[str, str]:
    """Material and section of a rod or roller."""
    if not values.has("material", "section"):
        return "measured", "measured"
    shape = values.text("section")
    fields = {"round": ("diameter",), "tube": ("diameter", "wall"), "square": ("width",)}
    sizes = " x ".join(f"{values.number(name) * 1e3:g}" for name in fields.get(shape, ("width", "thickness")))
    if shape == "rectangle":
        return values.material("material").name, f"strip {sizes} mm {'on edge' if on_edge(values) else 'flat'}"
    return values.material("material").name, f"{shape} {sizes} mm"


def differences(variants: Sequence[Variant], trains: Trains, notes: Sequence[int], units: System) -> list[str]:
    """For each variant what it has otherwise than another; empty where nothing is told apart by fields of parts."""
    alike: dict[tuple[str, ...], list[str]] = {}
    for part in variants[0].case.parts:
        for texts in _of_part(part, variants, trains, notes, units):
            alike.setdefault(texts, []).append(part.name)
    every = [part.name for part in guided(variants[0].case)]
    word = "rods" if any(part.kind == "sticker" for part in guided(variants[0].case)) else "trackers"
    told: list[dict[str, list[str]]] = [{} for _ in variants]
    for texts, names in alike.items():
        whose = word if len(every) > 1 and names == every else ", ".join(names)
        for own, text in zip(told, texts, strict=True):
            if text:
                own.setdefault(whose, []).append(text)
    return [_joined(own) for own in told]


def _joined(own: Mapping[str, Sequence[str]]) -> str:
    pairs = [(whose, text) for whose, texts in own.items() for text in texts]
    kept: dict[str, list[str]] = {}
    for whose, text in pairs[:_MOST]:
        kept.setdefault(whose, []).append(text)
    told = [f"{whose}: {', '.join(texts)}" for whose, texts in kept.items()]
    return "; ".join([*told, *([f"and {len(pairs) - _MOST} more"] if len(pairs) > _MOST else [])])


def _of_part(
    part: PartSpec, variants: Sequence[Variant], trains: Trains, notes: Sequence[int], units: System
) -> list[tuple[str, ...]]:
    """Texts of what differs at one part, one of each variant."""
    specs = [variant.case.part(part.name) for variant in variants]
    is_bar = field_at(part.part.fields, "section") is not None
    paths = dict.fromkeys(path for spec in specs for path in spec.fields)
    differing = [path for path in paths if len({_over(spec, path, notes) for spec in specs}) > 1]
    found = []
    if is_bar and any(path in _OF_BARS for path in differing):
        made = [described(one[notes[0]].part(part.name).values) for one in trains]
        found.append(tuple(", ".join(dict.fromkeys(words)) for words in made))
    single = [path for path in differing if not (is_bar and path in _OF_BARS)]
    return found + [tuple(_shown(spec, path, notes, units) for spec in specs) for path in single]


def _over(spec: PartSpec, path: str, notes: Sequence[int]) -> tuple[object, ...]:
    """Values of a field at these notes; None where it has none."""
    course = spec.fields.get(path, {})
    return tuple(course[note].value if note in course else None for note in notes)


def _shown(spec: PartSpec, path: str, notes: Sequence[int], units: System) -> str:
    """A field with its value, or the ends of its values; empty where it has none."""
    values = [one for one in _over(spec, path, notes) if one is not None]
    if not values:
        return ""
    field = field_at(spec.part.fields, path)
    numbers = [one for one in values if isinstance(one, int | float) and not isinstance(one, bool)]
    if len(numbers) == len(values):
        ends = dict.fromkeys((min(numbers), max(numbers)))
        unit = (field.unit if field else "") or ""
        return f"{path} {' to '.join(format_value(float(one), unit, units) for one in ends)}"
    words = dict.fromkeys(str(one).lower() if isinstance(one, bool) else str(one) for one in values)
    return f"{path} {', '.join(words)}"
