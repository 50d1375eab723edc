"""The [[keyboard]] tables."""

from __future__ import annotations

from typing import Any

from keyaction.cases.action.header import read_compass
from keyaction.cases.fields.context import Context
from keyaction.cases.text.defects import Place
from keyaction.models.instrument.keyboard import Keyboard


def read_keyboard(context: Context, name: str, place: Place, row: dict[str, Any]) -> Keyboard:
    """A [[keyboard]] table without its name; defects go into the log of `place`."""
    compass = read_compass(place, {"compass": {k: row[k] for k in ("low", "high") if k in row}}, context.compass.naming)
    return Keyboard(name, compass.notes, 0.165)
