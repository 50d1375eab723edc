"""The action cases that ship with the program, without its instruments."""

from __future__ import annotations

from pathlib import Path

from keyaction.cases.instrument.reader import is_instrument
from keyaction.cases.text.find import shipped


def shipped_cases() -> dict[str, Path]:
    """Name to path."""
    return {name: path for name, path in shipped().items() if not is_instrument(path)}
