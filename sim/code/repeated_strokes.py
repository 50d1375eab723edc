"""Repeated strokes: how close the verdict was, when enough is known to end them, and trials in lanes that do so."""

from __future__ import annotations

import ast
from collections.abc import Sequence

from keyaction.sim.code.folding import name_of, row_of
from keyaction.sim.code.parsed import parsed
from keyaction.sim.code.watch import ALIKE_ROW, CLOSE_ROWS, FAR_OFF, REPEAT_ROWS, WILD, close_watch

LOOK, TIME_ROWS = 32, 2
"""Steps after which lanes are looked at whether their trials are decided; rows of a lane's own time."""


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


def trials(fixed: int, turns: int, record: int) -> list[str]:
    """The function that plays trials in lanes, from the rows where states, turns and their record begin.

    No lane waits for its neighbours: once a trial is decided, the next one takes its place. So each lane has a time of
    its own, in two rows behind the record: the steps made, and how many seconds these are.
    """
    rows = record + CLOSE_ROWS
    verdict, alike, away = (f"A[{record + k}*W + j]" for k in (REPEAT_ROWS - 1, ALIKE_ROW, CLOSE_ROWS - 1))
    made, time = (f"A[{rows + k}*W + j]" for k in range(TIME_ROWS))
    return f"""\
def repeat(first, apart, steps, h, calm, ends_alike, height, given, here, left, A):
    \"\"\"Trials of every `apart`-th of the lanes given, in the places of one block; the steps that it made.\"\"\"
    half = 0.5*h
    following, busy, steps_made = first, 0, 0
    while True:
        for j in range(W):
            if here[j] >= 0:
                wide = 0.0*h
                for k in range({turns}, {record}):
                    wide = max(wide, A[k*W + j])
                done = ({verdict} != 0.0) & (wide < calm)
                done |= ends_alike & ({alike} == 1.0) & (wide < {WILD[0]!r}) & ({away} >= 1.0)
                if done | (left[j] <= 0):
                    place = here[j]//W*height*W + here[j]%W
                    for k in range({fixed}, height):
                        given[place + k*W] = A[k*W + j]
                    here[j], busy = -1, busy - 1
            if (here[j] < 0) & (following < len(steps)):
                place = following//W*height*W + following%W
                for k in range({rows + TIME_ROWS}):
                    A[k*W + j] = given[place + k*W] if k < height else 0.0*h
                for k in range({record + REPEAT_ROWS}, {rows}):
                    A[k*W + j] = {FAR_OFF!r}
                here[j], left[j], busy = following, steps[following], busy + 1
                following += apart
            left[j] -= {LOOK}
        if busy == 0:
            return steps_made
        steps_made += {LOOK}
        for i in range({LOOK}):
            for j in range(W):
                repeat_closely_step({time}, h, half, j, A)
                {made} = {made} + 1.0
                {time} = {made}*h""".split("\n")
