"""Repeated strokes: how close the verdict was, when enough is known to end them, steps at each lane's own time."""

from __future__ import annotations

import ast
from collections.abc import Sequence

from keyaction.sim.code.folding import name_of, row_of
from keyaction.sim.code.parsed import parsed
from keyaction.sim.code.watch import ALIKE_ROW, CLOSE_ROWS, REPEAT_ROWS, WILD, close_watch

TIME_ROWS = 2
"""Rows of a lane's own time."""


def _rows_of(statements: Sequence[ast.Assign], name: str) -> list[int]:
    """Rows that a name is loaded from."""
    return [row for s in statements if name_of(s) == name and (row := row_of(s.value)) is not None]


def enough(statements: Sequence[ast.Assign]) -> str:
    """Ends repeated strokes once one of them has failed, or went as the one before while no body turned too far."""
    wide = _rows_of(statements, "wide")
    failed, alike = (_rows_of(statements, f"R{k}") for k in (REPEAT_ROWS - 1, ALIKE_ROW))
    ends = [f"A{row} != 0" for row in failed]
    ends += [" && ".join([f"A{row} == 1", *(f"A{k} < (real){WILD[0]!r}" for k in wide)]) for row in alike]
    return f"if ({' || '.join(ends)}) break;"


def closely(lines: Sequence[str]) -> list[str]:
    """Repeated strokes whose record tells how close the verdict was too."""
    statements = _assignments(lines)
    named = {name_of(s): s for s in statements}
    first = row_of(next(s.value for s in statements if name_of(s) == "R0"))
    most = named["hollow"].value.right.left  # type: ignore[attr-defined]  # ... & (most < empty_at)
    gap = named["R3"].value.args[0].right.left  # type: ignore[attr-defined]  # pick(hollow & (gap <= 0.0), 1.0, R3)
    assert first is not None
    parts = close_watch(first, most.id, gap.id)
    begin, judging, hollow, end = (_assignments(one) for one in parts)
    found = list(begin)
    for one in statements:
        found += judging if name_of(one) == "fault" and "R3" in ast.unparse(one.value) else []
        found.append(one)
        found += hollow if one is named["hollow"] else []
    return [ast.unparse(one) for one in (*found, *end)]


def _assignments(lines: Sequence[str]) -> list[ast.Assign]:
    return [one for one in parsed("\n".join(lines)).body if isinstance(one, ast.Assign)]


def stepped(record: int) -> list[str]:
    """The function that makes steps of repeated strokes, their record being from that row on.

    A lane may begin while its neighbours are under way, so each has a time of its own, in two rows behind the record:
    the steps made, and how many seconds these are.
    """
    made, time = (f"A[{record + CLOSE_ROWS + k}*W + j]" for k in range(TIME_ROWS))
    return [
        "def repeat(n, h, A):",
        '    """Repeated strokes, judged one by one, each lane at its own time."""',
        "    half = 0.5*h",
        "    for _ in range(n):",
        "        for j in range(W):",
        f"            repeat_closely_step({time}, h, half, j, A)",
        f"            {made} = {made} + 1.0",
        f"            {time} = {made}*h",
    ]
