"""How names and values are written in TOML."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence

Names = tuple[str, ...]
"""Names of tables from outside in, and of a key."""
Written = str | bool | int | float | Sequence["Written"] | Mapping[str, "Written"]
"""A value that can be written."""
_BARE = re.compile(r"[A-Za-z0-9_-]+")


def quoted(text: str) -> str:
    """A text as a TOML value."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def dotted(names: Sequence[str]) -> str:
    """Names as in a header or before an equals sign, in quotes where they need them."""
    return ".".join(name if _BARE.fullmatch(name) else quoted(name) for name in names)


def literal(value: Written) -> str:
    """A value as TOML has it; tables are written in braces."""
    if isinstance(value, Mapping):
        inner = ", ".join(f"{dotted([name])} = {literal(one)}" for name, one in value.items())
        return f"{{ {inner} }}" if inner else "{}"
    if isinstance(value, str):
        return quoted(value)
    if isinstance(value, Sequence):
        return f"[{', '.join(map(literal, value))}]"
    return json.dumps(value) if not isinstance(value, float) else repr(value)


def entry(names: Sequence[str], value: Written) -> str:
    """A line that gives a value; of a list of several tables a line for each."""
    return f"{dotted(names)} = {laid_out(value)}"


def laid_out(value: Written) -> str:
    """A value as TOML has it, a list of several tables with one of them a line."""
    if isinstance(value, str | Mapping) or not isinstance(value, Sequence):
        return literal(value)
    if len(value) < 2 or not all(isinstance(one, Mapping) for one in value):
        return literal(value)
    return "[\n" + "".join(f"  {literal(one)},\n" for one in value) + "]"


def value_at(data: object, names: Names) -> object:
    """What stands under these names; None if nothing does."""
    for name in names:
        data = data.get(name) if isinstance(data, dict) else None
    return data
