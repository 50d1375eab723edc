"""Fields that take a figure of the layout: they wait until it is known."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from keyaction.cases.fields.context import Context, Course, Scope
from keyaction.cases.text.defects import BadValue, Place
from keyaction.cases.text.near import hint
from keyaction.models.fields.fields import Field
from keyaction.models.fields.values import Given

ORIGIN = "layout"


@dataclass(frozen=True)
class Asked(Given):
    """A value that the layout will give: its `figure` by name, empty where it is called as the field is."""

    figure: str = ""


def ask_layout(
    context: Context, scope: Scope, place: Place, field: Field, path: str, value: Mapping[str, object]
) -> Course:
    """Read ``{ layout = true }`` or ``{ layout = "roller.length" }``.

    Raises
    ------
    BadValue
        If the field can take no figure of a layout, or the figure is no name.
    """
    if not scope.of_train:
        raise BadValue("only fields of the train take figures of the layout")
    if field.kind != "quantity" or not field.varies:
        raise BadValue("no figure of the layout goes here; give a value")
    for key, one in value.items():
        if key != "layout":
            place.defect(f"{path}.{key}", f"unknown field{hint(key, ('layout',))}; beside layout nothing stands", one)
    figure = value["layout"]
    if figure is not True and not (isinstance(figure, str) and figure):
        raise BadValue('write layout = true, or a figure by its name, such as layout = "roller.length"')
    context.asked.append(f"{place.table} {path}")
    asked = Asked(math.nan, ORIGIN, figure="" if figure is True else str(figure))
    return dict.fromkeys(scope.notes, asked)
