"""What a result says of the spread of its figures, for an 80-column terminal."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray
from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table
from rich.text import Text

from keyaction.models.units.quantity import System, convert, format_value
from keyaction.sim.commands.sheet_tables import paragraph
from keyaction.sim.figures.evenness import JUST_NOTICEABLE
from keyaction.sim.figures.limits import FEW
from keyaction.sim.files.labelled import Result

NAMED = 3
"""Inputs that a spread is said to come from."""
_COLUMNS = (
    ("pluck_force", "pluck", 0),
    ("pluck_point", "plucks at", 2),
    ("follow_through_force", "follow", 0),
    ("speech_delay", "speech delay", 1),
    ("release_delay", "release", 0),
)
"""Figures of the table: name, heading, decimal places in the trade's units."""


def has_spread(result: Result) -> bool:
    """Whether the result has the spread of its figures."""
    return "quantile" in result and "spread" in result.about


def spread_table(result: Result, units: System) -> Table:
    """One row per note: lower edge, middle and upper edge of its pluck force, edges of its other figures, its step."""
    told = json.loads(result.about["spread"])
    title = f"\n{told['draws']} draws of all that is uncertain (seed {told['seed']}): 5, 50 and 95 % lie below"
    table = Table(
        title=Text(title, style="italic"), title_justify="left", box=SIMPLE_HEAD, show_edge=False, pad_edge=False
    )
    table.add_column("note", no_wrap=True)
    there = [column for column in _COLUMNS if f"{column[0]}_spread" in result]
    for name, heading, _ in there:
        unit = convert(1.0, result.variables[f"{name}_spread"].unit or "1", units)[1]
        table.add_column(f"{heading}\n{unit}", justify="right", no_wrap=True)
    table.add_column(f"step\n>{JUST_NOTICEABLE:.0%}", justify="right", no_wrap=True)
    table.add_column("sound\n%", justify="right", no_wrap=True)
    for row, note in enumerate(result.notes):
        cells = [_edges(result, name, row, places, units) for name, _, places in there]
        shares = (result[name][row] for name in ("step_felt", "sound_share"))
        table.add_row(note, *cells, *("-" if math.isnan(one) else f"{100 * one:.0f}" for one in shares))
    return table


def _edges(result: Result, name: str, row: int, places: int, units: System) -> str:
    variable = result.variables[f"{name}_spread"]
    values, _ = convert(np.asarray(variable.data[row], dtype=float), variable.unit or "1", units)
    if not np.all(np.isfinite(values)):
        return "-"
    chosen = values if name == "pluck_force" else values[[0, -1]]
    return " ".join(f"{one:.3g}" if units == "si" else f"{one:.{places}f}" for one in chosen)


def spread_lines(result: Result, units: System) -> Iterator[str]:
    """Where the spread of the pluck force comes from, what neighbours do, and what has no spread."""
    yield (
        "where two figures stand, 5 and 95 %; step: share of the draws (%) in which the step of the pluck force from "
        f"the note below exceeds {JUST_NOTICEABLE:.0%}; sound: in which the note speaks and falls silent"
    )
    yield from _doubt(result, units)
    if "spread_note" in result:
        for i, note in enumerate(result["spread_note"]):
            yield from _origins(result, i, str(note), units)
    yield neighbours_told(result["steps_felt"], result["steps_known"])
    without = json.loads(result.about["spread"]).get("without", [])
    if without:
        yield f"no spread is known of {', '.join(without)}: say it in [spreads]"


def _doubt(result: Result, units: System) -> Iterator[str]:
    """How far off the edges of the bands may be."""
    draws = int(json.loads(result.about["spread"])["draws"])
    if "pluck_force_spread_error" in result:
        errors = result["pluck_force_spread_error"][:, [0, -1]]
        known = errors[np.isfinite(errors)]
        ends = (
            [format_value(float(one), "N", units, digits=2) for one in (known.min(), known.max())] if len(known) else []
        )
        if ends:
            told = " to ".join(dict.fromkeys(ends))
            yield f"edges of the pluck force: off by {told} (one standard error, as these {draws} draws scatter)"
    if draws < FEW:
        missed = (1.0 - float(result["quantile"][0])) ** draws
        yield (
            f"{draws} draws are few: with a probability of {missed:.0%} all of them lie above the true 5 % edge, and "
            f"with the same all below the 95 % edge, so a band may be much too narrow; {FEW} draws bring that to 5 %"
        )


def _origins(result: Result, i: int, note: str, units: System) -> Iterator[str]:
    common, own = (np.nan_to_num(result[f"pluck_force_{part}"][i]) for part in ("common", "own"))
    variances = common**2 + own**2
    total = float(np.sum(variances))
    if total <= 0.0:
        return
    order = np.argsort(-variances)[:NAMED]
    names = ", ".join(f"{result['spread_input'][k]} {variances[k] / total:.0%}" for k in order)
    low, _, high = (format_value(float(one), "N", units) for one in result["pluck_force_spread"][result.index(note)])
    alone = float(np.sum(own**2)) / total
    first = format_value(math.sqrt(total), "N", units)
    yield (
        f"{note}: pluck {low} to {high}{_deviation(result, note, units)}; of its variance comes from {names}; "
        f"{alone:.0%} of it is the note's own (one input at a time, no draws: {first} of standard deviation in all)"
    )


def _deviation(result: Result, note: str, units: System) -> str:
    """The standard deviation of the draws, in words."""
    name = "pluck_force_deviation"
    value = result.value(name, note) if name in result else math.nan
    return f", standard deviation of the draws {format_value(value, 'N', units)}" if math.isfinite(value) else ""


def neighbours_told(felt: NDArray[np.int64], known: NDArray[np.int64]) -> str:
    """What neighbours do in many designs, in words: steps of each that can be felt, and that there are."""
    if not np.any(known):
        return "no two neighbours were drawn, so nothing is said of steps"
    low, middle, high = np.quantile(felt, (0.05, 0.5, 0.95))
    return (
        f"neighbours: {np.sum(felt) / np.sum(known):.0%} of all steps exceed {JUST_NOTICEABLE:.0%}; "
        f"of {int(np.max(known))} steps {low:.0f}, {middle:.0f}, {high:.0f} in a good, a middling and a bad draw "
        "(5, 50, 95 %)"
    )


def show_spread(console: Console, result: Result, units: System) -> None:
    """Print table and lines."""
    console.print(spread_table(result, units))
    for line in spread_lines(result, units):
        paragraph(console, line)
