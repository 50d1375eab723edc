"""How names and values are written in TOML."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence

Names = tuple[str, ...]
"""Names of tables from outside in, and of a key."""
_BARE = re.compile(r"[A-Za-z0-9_-]+")


def quoted(text: str) -> str:
    """A text as a TOML value."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def dotted(names: Sequence[str]) -> str:
    """Names as in a header or before an equals sign, in quotes where they need them."""
    return ".".join(name if _BARE.fullmatch(name) else quoted(name) for name in names)


def entry(names: Sequence[str], value: str) -> str:
    """A line that gives a text value."""
    return f"{dotted(names)} = {quoted(value)}"


def value_at(data: object, names: Names) -> object:
    """What stands under these names; None if nothing does."""
    for name in names:
        data = data.get(name) if isinstance(data, dict) else None
    return data
