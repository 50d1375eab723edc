"""Repeated strokes as C watches them: how close the verdict was, and when enough is known to end them."""

from __future__ import annotations

import ast
from collections.abc import Sequence

from keyaction.sim.code.folding import name_of, row_of
from keyaction.sim.code.parsed import parsed
from keyaction.sim.code.watch import ALIKE_ROW, REPEAT_ROWS, WILD, close_watch


def _rows_of(statements: Sequence[ast.Assign], name: str) -> list[int]:
    """Rows that a name is loaded from."""
    return [row for s in statements if name_of(s) == name and (row := row_of(s.value)) is not None]


def enough(statements: Sequence[ast.Assign]) -> str:
    """Ends repeated strokes once one of them has failed, or went as the one before, if no body has turned too far."""
    wide = _rows_of(statements, "wide")
    failed, alike = (_rows_of(statements, f"R{k}") for k in (REPEAT_ROWS - 1, ALIKE_ROW))
    ends = [" && ".join([f"A{row} != 0", *(f"A{k} < calm" for k in wide)]) for row in failed]
    ends += [" && ".join([f"A{row} == 1", *(f"A{k} < (real){WILD[0]!r}" for k in wide)]) for row in alike]
    return f"if ({' || '.join(ends)}) break;"


def closely(statements: Sequence[ast.Assign]) -> list[ast.Assign]:
    """Repeated strokes whose record tells how close the verdict was too."""
    named = {name_of(s): s for s in statements}
    first = row_of(next(s.value for s in statements if name_of(s) == "R0"))
    most = named["hollow"].value.right.left  # type: ignore[attr-defined]  # ... & (most < empty_at)
    gap = named["R3"].value.args[0].right.left  # type: ignore[attr-defined]  # pick(hollow & (gap <= 0.0), 1.0, R3)
    assert first is not None
    parts = close_watch(first, most.id, gap.id)
    begin, judging, hollow, end = (
        [s for s in parsed("\n".join(one)).body if isinstance(s, ast.Assign)] for one in parts
    )
    found = list(begin)
    for one in statements:
        found += judging if name_of(one) == "fault" and "R3" in ast.unparse(one.value) else []
        found.append(one)
        found += hollow if one is named["hollow"] else []
    return [*found, *end]
