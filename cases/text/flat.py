"""Nested tables as dotted paths."""

from __future__ import annotations

from collections.abc import Mapping


def flattened(table: Mapping[str, object], prefix: str = "") -> list[tuple[str, object]]:
    """Dotted paths and values of nested tables: ``{roller = {width = "20 mm"}}`` gives ``roller.width``."""
    found: list[tuple[str, object]] = []
    for key, value in table.items():
        if isinstance(value, dict):
            found += flattened(value, f"{prefix}{key}.")
        else:
            found.append((prefix + key, value))
    return found
