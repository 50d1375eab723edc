"""What a search found, for an 80-column terminal and as CSV."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table
from rich.text import Text

from keyaction.models.units.quantity import System, convert, format_value
from keyaction.sim.analysis.reasons import counted_by_cause
from keyaction.sim.commands.common import WIDTH
from keyaction.sim.commands.sheet_tables import paragraph
from keyaction.sim.files.labelled import Result
from keyaction.sim.files.problem import unwritten
from keyaction.sim.files.replace import replacing
from keyaction.sim.files.taken import refuse_taken, table
from keyaction.sim.tables.sheet import Column, Sheet

Floats = NDArray[np.float64]
_REASONS = 4
_DIGITS = 3
"""Of figures; one more where designs would look alike that are not."""


@dataclass(frozen=True)
class Aim:
    """One aim of a search, as its result tells it."""

    told: str
    more: bool
    unit: str
    label: str

    def written(self, value: float, units: System, digits: int = _DIGITS) -> str:
        """A value for people."""
        if self.told.partition("@")[0] == "evenness":
            return format_value(100.0 * value, "1", digits=digits) + " %"
        return format_value(value, self.unit or "1", units, digits)


@dataclass(frozen=True)
class Front:
    """What a search offers, read from its result."""

    result: Result

    @cached_property
    def aims(self) -> list[Aim]:
        """What was wanted."""
        return [Aim(*one) for one in self.about("aims")]

    @property
    def designs(self) -> list[int]:
        """Numbers of the offered designs."""
        return [int(one) for one in self.result["offered"]]

    @cached_property
    def values(self) -> Floats:
        """(offered, aims): their confirmed figures, SI."""
        names = [f"confirmed_aim_{one.told}" for one in self.aims]
        return np.column_stack([self.result[name] for name in names]) if self.designs else np.empty((0, len(names)))

    @cached_property
    def compromise(self) -> int | None:
        """Which of them gives up least of any aim; None where each gives up all of one."""
        marks = self.result["compromise"]
        return int(np.argmax(marks)) if np.any(marks) else None

    def written(self, k: int, value: float, units: System) -> str:
        """A value of an aim, with a digit more where offered designs would else look alike."""
        aim = self.aims[k]
        few, more = ({aim.written(float(v), units, n) for v in self.values[:, k]} for n in (_DIGITS, _DIGITS + 1))
        return aim.written(value, units, _DIGITS if len(few) == len(more) else _DIGITS + 1)

    def about(self, name: str) -> Any:
        """What the search says of itself, as plain data."""
        return json.loads(self.result.about[name])

    def best(self, k: int) -> int:
        """Which of them is best in an aim."""
        return int(np.argmax(self.values[:, k]) if self.aims[k].more else np.argmin(self.values[:, k]))

    def inputs(self, design: int, units: System) -> list[tuple[str, str]]:
        """Names and values of what varies, of a design."""
        found = []
        for name, unit, factor, chosen in self.about("varied"):
            value = self.result[f"input_{name}"][design]
            text = str(value) if chosen else format_value(float(value), unit or "1", units)
            found.append((name, f"× {text}" if factor else text))
        return found

    @cached_property
    def drawn(self) -> dict[str, Any]:
        """The case as it is drawn."""
        found: dict[str, Any] = self.about("drawn")
        return found


def show(console: Console, result: Result, units: System) -> None:
    """Print what a search found."""
    front = Front(result)
    console.print("")
    paragraph(console, _looked(front))
    if front.designs:
        console.print(_table(front, units))
        for line in _costs(front, units):
            paragraph(console, line)
    else:
        for line in _nothing(front, units):
            paragraph(console, line)
    for line in _remarks(front):
        paragraph(console, line)


def _looked(front: Front) -> str:
    count, on_front = len(front.result["design"]), int(np.sum(front.result["front"]))
    how = (
        (f"all {count} designs that there are" if count > 1 else "the one design that there is")
        if front.about("whole")
        else f"{count} designs in {int(np.max(front.result['generation']))} generations, seed {front.about('seed')}"
    )
    offered = len(front.designs)
    held = int(np.sum(front.result["short"] == 0.0))
    if not held:
        return f"looked at {how}: none keeps every limit"
    told = f"looked at {how}: {held} keep{'s' * (held == 1)} every limit, {on_front} of them no other beats"
    return f"{told}; {offered} played again one by one (SciPy) and offered" if offered else told


def _table(front: Front, units: System) -> Table:
    one = len(front.aims) == 1
    beaten = "no other" if front.about("whole") else "no other of these"
    title = "The best design" if one else f"The front: designs that {beaten} beats, and the case as it is drawn"
    made = Table(
        title=Text(f"\n{title}", style="italic"),
        title_justify="left",
        box=SIMPLE_HEAD,
        show_edge=False,
        pad_edge=False,
        padding=(0, 1, 0, 0),
        width=WIDTH,
    )
    made.add_column("design", justify="right", no_wrap=True)
    for aim in front.aims:
        made.add_column(
            Text(f"{aim.label}\n{'more' if aim.more else 'less'} is better"),
            justify="right",
            max_width=14,
            overflow="fold",
        )
    made.add_column("what varies", ratio=1, overflow="fold")
    for i, design in enumerate(front.designs):
        figures = [front.written(k, float(value), units) for k, value in enumerate(front.values[i])]
        told = ", ".join(f"{name} {value}" for name, value in front.inputs(design, units))
        mark = "*" if i == front.compromise and len(front.designs) > 1 else " "
        made.add_row(f"{design}{mark}", *figures, Text(told))
    if front.drawn:
        values = [math.nan if value == "none" else float(value) for value in front.drawn["aims"]]
        figures = [front.written(k, value, units) if math.isfinite(value) else "-" for k, value in enumerate(values)]
        missed = f"; misses {', '.join(front.drawn['missed'])}" if front.drawn["missed"] else ""
        made.add_row("drawn ", *figures, Text(f"as in the case{missed}"))
    return made


def _costs(front: Front, units: System) -> list[str]:
    """What each aim costs in the others."""
    if len(front.designs) < 2:
        return []
    lines, hardly, alike = [], front.about("hardly"), front.about("alike")
    for k, aim in enumerate(front.aims):
        i, own = front.best(k), front.values[:, k]
        told = f"best {aim.label}, {front.written(k, float(own[i]), units)}: design {front.designs[i]}"
        if aim.told in alike:
            reach = aim.written(float(np.ptp(own)), units)
            told += f"; all that is offered is alike in this, within {reach}: {alike[aim.told]}"
        elif aim.told in hardly:
            second, why = hardly[aim.told]
            by = aim.written(abs(float(own[i] - own[front.designs.index(second)])), units)
            told += f", by {by} before design {second}: {why}"
        given = _given_up(front, i, units)
        lines.append(f"{told}; it costs {given}" if given else told)
    if front.compromise is None:
        if len(alike) == len(front.aims):
            return [*lines, "no compromise: what is offered is alike in every aim"]
        return [*lines, "no compromise: each design gives up all that another has in some aim; choose by what counts"]
    given = _given_up(front, front.compromise, units)
    told = f"* compromise: design {front.designs[front.compromise]}"
    return [*lines, f"{told}; it costs {given}" if given else told]


def _given_up(front: Front, i: int, units: System) -> str:
    """By how much a design is off the best of each aim; nothing of what is written alike."""
    found = []
    for k, aim in enumerate(front.aims):
        own, best = float(front.values[i, k]), float(front.values[front.best(k), k])
        if front.written(k, own, units) != front.written(k, best, units):
            word = "less" if aim.more else "more"
            found.append(f"{aim.written(abs(own - best), units)} {word} {aim.label} than the best")
    return ", ".join(found)


def _nothing(front: Front, units: System) -> list[str]:
    """Why nothing is offered: which limits stand against it, and how far the nearest design is."""
    lines = ["nothing is offered"]
    told = front.about("shortfalls")
    held = int(np.sum(front.result["short"] == 0.0))
    if held:
        return ["nothing is offered: played again, no design of the front holds and is better than the case as drawn"]
    count = len(front.result["design"])
    for one in told[:-1]:
        limit, own = one["limit"], one["in_unit_of_limit"]
        if one["met"] == 0:
            lines.append(f"no design has {limit}: the best of {count} has {own['best']}")
        else:
            kept = f"kept by {one['met']} of {count} designs"
            lines.append(f"{limit}: {kept}; the nearest to all limits has {own['nearest']}")
    if told:
        design = told[-1]["nearest"]
        values = ", ".join(f"{name} {value}" for name, value in front.inputs(design, units))
        lines.append(f"nearest: design {design} ({values})")
    return lines


def _remarks(front: Front) -> list[str]:
    """What else is to be known: aims that say nothing, and why designs are not offered."""
    lines = [
        f"{one} does not depend on what varies: it says nothing of which design is better"
        for one in front.about("still")
    ]
    lines += [
        f"design {design}: its layout follows what varies, so its case differs from what was looked at ({told}); the "
        "figures above are those of its case"
        for design, told in front.about("apart").items()
    ]
    lines += [
        f"design {design}: played again it differs from what was looked at ({told}), in no aim, and keeps its limits"
        for design, told in front.about("differs").items()
    ]
    lines += [
        f"design {design}, a warning of its case: {one.removeprefix('[[train]] ')}"
        for design, told in front.about("warned").items()
        for one in told
    ]
    if front.about("cut"):
        count = int(np.max(front.result["generation"]))
        lines.append(
            f"ended after {count} generation{'s' * (count > 1)}, as asked, before the front stood still: more "
            "(--generations, with --resume) may find better designs"
        )
    reasons = counted_by_cause(front.about("reasons")).most_common()
    for reason, count in reasons[:_REASONS]:
        lines.append(f"not offered: {count} design{'s' * (count > 1)}: {reason}")
    if len(reasons) > _REASONS:
        lines.append(f"and {sum(count for _, count in reasons[_REASONS:])} for other reasons")
    for design, why in list(front.about("refused").items())[:_REASONS]:
        lines.append(f"not offered: design {design}: {why}")
    return lines


# -- as a table for other programs -------------------------------------------------------------------------
def _sheet(front: Front, units: System) -> Sheet:
    columns = [Column("design", text=True)]
    cells: list[list[float | str]] = [[str(design)] for design in front.designs]
    for k, aim in enumerate(front.aims):
        shown, unit = convert(front.values[:, k], aim.unit or "1", units)
        columns.append(Column(aim.label, "" if unit == "1" else unit))
        for row, value in zip(cells, shown, strict=True):
            row.append(float(value))
    for name, unit, factor, chosen in front.about("varied"):
        values: Any = front.result[f"input_{name}"][front.designs]
        if not chosen:
            values, label = convert(np.asarray(values, dtype=np.float64), unit or "1", units)
            columns.append(Column(f"{name} times the case's" if factor else name, "" if label == "1" else label))
        else:
            columns.append(Column(name, text=True))
        for row, value in zip(cells, values, strict=True):
            row.append(str(value) if chosen else float(value))
    columns.append(Column("compromise", text=True))
    for i, row in enumerate(cells):
        row.append("yes" if i == front.compromise else "")
    return Sheet("front", "front", columns, cells)


def write_front(result: Result, path: Path, units: System) -> None:
    """Write what is offered as CSV, whole or not at all.

    Raises
    ------
    FileProblem
        When it cannot be written, or something else has the name.
    """
    text = _sheet(Front(result), units).csv()
    refuse_taken(path, table(text))
    try:
        with replacing(path) as temporary:
            temporary.write_text(text, encoding="utf-8")
    except OSError as problem:
        raise unwritten(path, problem) from None
