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
from keyaction.sim.commands.common import WIDTH
from keyaction.sim.commands.sheet_tables import paragraph
from keyaction.sim.files.labelled import Result
from keyaction.sim.files.problem import unwritten
from keyaction.sim.files.replace import replacing
from keyaction.sim.files.taken import refuse_taken, table
from keyaction.sim.tables.sheet import Column, Sheet

Floats = NDArray[np.float64]
_REASONS = 4


@dataclass(frozen=True)
class Aim:
    """One aim of a search, as its result tells it."""

    told: str
    more: bool
    unit: str
    label: str

    def written(self, value: float, units: System) -> str:
        """A value for people."""
        if self.told.partition("@")[0] == "evenness":
            return format_value(100.0 * value, "1") + " %"
        return format_value(value, self.unit or "1", units)


@dataclass(frozen=True)
class Front:
    """What a search offers, read from its result."""

    result: Result

    @cached_property
    def aims(self) -> list[Aim]:
        """What was wanted."""
        return [Aim(*one) for one in json.loads(self.result.about["aims"])]

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
    def compromise(self) -> int:
        """Which of them gives up least of any aim."""
        return int(np.argmax(self.result["compromise"]))

    def best(self, k: int) -> int:
        """Which of them is best in an aim."""
        return int(np.argmax(self.values[:, k]) if self.aims[k].more else np.argmin(self.values[:, k]))

    def inputs(self, design: int, units: System) -> list[tuple[str, str]]:
        """Names and values of what varies, of a design."""
        found = []
        for name, unit, factor, chosen in json.loads(self.result.about["varied"]):
            value = self.result[f"input_{name}"][design]
            text = str(value) if chosen else format_value(float(value), unit or "1", units)
            found.append((name, f"× {text}" if factor else text))
        return found

    @cached_property
    def drawn(self) -> dict[str, Any]:
        """The case as it is drawn."""
        found: dict[str, Any] = json.loads(self.result.about["drawn"])
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
    about, count = front.result.about, len(front.result["design"])
    on_front = int(np.sum(front.result["front"]))
    whole = about["whole"] == "true"
    how = (
        f"all {count} designs that there are"
        if whole
        else f"{count} designs in {int(np.max(front.result['generation']))} generations, seed {about['seed']}"
    )
    offered = len(front.designs)
    held = int(np.sum(front.result["short"] == 0.0))
    if not held:
        return f"looked at {how}: none keeps every limit"
    told = f"looked at {how}: {held} keep every limit, {on_front} of them no other beats"
    return f"{told}; {offered} played again one by one (SciPy) and offered" if offered else told


def _table(front: Front, units: System) -> Table:
    one = len(front.aims) == 1
    title = "The best design" if one else "The front: designs that no other beats, and the case as it is drawn"
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
        figures = [aim.written(float(value), units) for aim, value in zip(front.aims, front.values[i], strict=True)]
        told = ", ".join(f"{name} {value}" for name, value in front.inputs(design, units))
        mark = "*" if i == front.compromise and len(front.designs) > 1 else " "
        made.add_row(f"{design}{mark}", *figures, Text(told))
    if front.drawn:
        values = [math.nan if value == "none" else float(value) for value in front.drawn["aims"]]
        figures = [
            aim.written(value, units) if math.isfinite(value) else "-"
            for aim, value in zip(front.aims, values, strict=True)
        ]
        missed = f"; misses {', '.join(front.drawn['missed'])}" if front.drawn["missed"] else ""
        made.add_row("drawn ", *figures, Text(f"as in the case{missed}"))
    return made


def _costs(front: Front, units: System) -> list[str]:
    """What each aim costs in the others."""
    if len(front.designs) < 2:
        return []
    lines = []
    for k, aim in enumerate(front.aims):
        i = front.best(k)
        given = _given_up(front, i, units)
        best = f"best {aim.label}, {aim.written(float(front.values[i, k]), units)}: design {front.designs[i]}"
        lines.append(f"{best}; it costs {given}" if given else best)
    i = front.compromise
    given = _given_up(front, i, units)
    told = f"* compromise: design {front.designs[i]}"
    return [*lines, f"{told}; it costs {given}" if given else told]


def _given_up(front: Front, i: int, units: System) -> str:
    """By how much a design is off the best of each aim; nothing of what is written alike."""
    found = []
    for k, aim in enumerate(front.aims):
        own, best = float(front.values[i, k]), float(front.values[front.best(k), k])
        if aim.written(own, units) != aim.written(best, units):
            word = "less" if aim.more else "more"
            found.append(f"{aim.written(abs(own - best), units)} {word} {aim.label} than the best")
    return ", ".join(found)


def _nothing(front: Front, units: System) -> list[str]:
    """Why nothing is offered: which limits stand against it, and how far the nearest design is."""
    lines = ["nothing is offered"]
    told = json.loads(front.result.about["shortfalls"])
    held = int(np.sum(front.result["short"] == 0.0))
    if held:
        return ["nothing is offered: played again, no design of the front holds and is better than the case as drawn"]
    count = len(front.result["design"])
    for one in told[:-1]:
        unit = one["unit"] or "1"
        best, nearest = (
            "none" if value == "none" else format_value(value, unit, units) for value in (one["best"], one["nearest"])
        )
        if one["met"] == 0:
            lines.append(f"no design has {one['limit']}: the best of {count} has {best}")
        else:
            lines.append(
                f"{one['limit']}: kept by {one['met']} of {count} designs; the nearest to all limits has {nearest}"
            )
    if told:
        design = told[-1]["nearest"]
        values = ", ".join(f"{name} {value}" for name, value in front.inputs(design, units))
        lines.append(f"nearest: design {design} ({values})")
    return lines


def _remarks(front: Front) -> list[str]:
    """What else is to be known: aims that say nothing, and why designs are not offered."""
    about = front.result.about
    lines = [
        f"{one} does not depend on what varies: it says nothing of which design is better"
        for one in json.loads(about["still"])
    ]
    lines += [
        f"design {design}: its layout follows what varies, so its case differs from what was looked at ({told}); the "
        "figures above are those of its case"
        for design, told in json.loads(about["apart"]).items()
    ]
    reasons = json.loads(about["reasons"])
    for reason, count in list(reasons.items())[:_REASONS]:
        lines.append(f"not offered: {count} times {reason}")
    if len(reasons) > _REASONS:
        lines.append(f"and {sum(list(reasons.values())[_REASONS:])} times other reasons")
    for design, why in list(json.loads(about["refused"]).items())[:_REASONS]:
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
    for name, unit, factor, chosen in json.loads(front.result.about["varied"]):
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
