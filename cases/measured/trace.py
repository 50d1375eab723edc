"""Reading traces of a stroke: what key, pallet and groove did in time, `read_traces`."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import cast

import numpy as np

from keyaction.cases.measured.blocks import Block, Column, Form, Said, figure_said, separator_of, word_said
from keyaction.cases.measured.courses import ABOUT, PRESSURE, head_of, read_courses
from keyaction.cases.text.defects import Place
from keyaction.models.notes import Naming
from keyaction.models.readings.courses import CHANNELS, DRIVEN, Driven, Floats, Trace

FORM = Form(
    columns={
        "time": Column("s", "s", -60.0, 600.0),
        "key": Column("m", "mm", -5e-3, 60e-3),
        "pallet": Column("m", "mm", -5e-3, 60e-3),
        "groove": Column("Pa", "mmH2O", -5e3, 20e3),
        "finger": Column("m", "mm", -60e-3, 80e-3),
    },
    words=("note", "remark"),
    needed=("time",),
    said={
        "mass": Said("kg", 1e-3, 2.0, "1 to 2000 g"),
        "laid in": Said("s", 1e-4, 10.0, "0.1 ms to 10 s"),
        "let go in": Said("s", 1e-4, 1.0, "0.1 ms to 1 s"),
        "frame rate": Said("Hz", 10.0, 1e6, "10 Hz to 1 MHz"),
        "pressure": PRESSURE,
        "key error": Said("m", 1e-7, 2e-3, "0.0001 to 2 mm"),
        "pallet error": Said("m", 1e-7, 2e-3, "0.0001 to 2 mm"),
        "groove error": Said("Pa", 0.01, 1e3, "0.001 to 100 mmH2O"),
    },
    told=(*ABOUT, "note", "wind", "driven"),
    also={
        "key travel": "key",
        "travel": "key",
        "pallet lift": "pallet",
        "lift": "pallet",
        "pallet travel": "pallet",
        "groove pressure": "groove",
        "t": "time",
    },
)
MOST = 400
"""Instants of a trace that are kept."""
_LAID, _LET_GO = 0.05, 0.005
"""s: in which a mass is laid on, or a key let go, where the file does not say (common practice)."""


def is_trace(text: str) -> bool:
    """Whether a text has the headings of a trace."""
    return separator_of(text, FORM) is not None


def read_traces(path: str | Path, notes: Sequence[int], naming: Naming = "scientific") -> tuple[Trace, ...]:
    r"""Read traces of strokes, as from a film or a sensor.

    Parameters
    ----------
    path : str or Path
        A CSV file. Its head says how the key was driven: ``driven,mass`` with ``mass,150 g``, ``driven,let go``, or
        ``driven,finger`` with a column of the finger's way; and the frame rate of a film.
    notes : sequence of int
        The compass of the case, rising.
    naming : {"scientific", "trade", "german"}

    Returns
    -------
    tuple of Trace

    Raises
    ------
    keyaction.CaseProblem
        With every defect of the file, and its line.

    Examples
    --------
    >>> from pathlib import Path
    >>> from keyaction.cases.measured.trace import read_traces
    >>> head = "note,C4\ndriven,let go\nframe rate,240 Hz\n"
    >>> _ = Path("back.csv").write_text(head + "time (ms),key (mm)\n0,9.5\n4.2,9.3\n8.3,8.6\n12.5,7.1\n")
    >>> (trace,) = read_traces("back.csv", range(36, 92))
    >>> trace.driven, trace.values["key"].tolist()
    ('let go', [0.0095, 0.0093, 0.0086, 0.0071])
    """
    return read_courses(path, notes, naming, FORM, _trace, "trace")


def _trace(block: Block, note: int, rows: list[int], place: Place, path: Path) -> Trace | None:
    before, at = len(place.log), place.at(f"line {block.lines[rows[0]]}")
    said = {name: figure_said(block, FORM, name, place) for name in FORM.said}
    driven = cast("Driven", word_said(block, "driven", DRIVEN, "", place))
    wind = word_said(block, "wind", ("on", "off"), "on", place) == "on"
    channels = [name for name in CHANNELS if name in block.figures]
    if not channels:
        at.defect("", "nothing but times; a column 'key (mm)', 'pallet (mm)' or 'groove (mmH2O)' is needed")
    if not driven and "driven" not in block.head:
        at.defect("", f"how was the key driven? a line 'driven' before the table says one of {', '.join(DRIVEN)}")
    if driven == "mass" and "mass" not in block.head:
        at.defect("", "which mass was laid on? a line such as 'mass,150 g' says it")
    if driven == "finger" and "finger" not in block.figures:
        at.defect("", "a stroke driven by a finger needs its way, in a column 'finger (mm)'")
    kept = [i for i in rows if math.isfinite(block.figures["time"][i])]
    times = np.array([block.figures["time"][i] for i in kept])
    for i in np.flatnonzero(np.diff(times) <= 0.0)[:10]:
        place.at(f"line {block.lines[kept[i + 1]]}").defect("time", "does not go on", f"{times[i + 1]:g} s")
    if len(kept) < 3 and len(place.log) == before:
        at.defect("", f"{len(kept)} instants; a trace needs three or more")
    if len(place.log) > before:
        return None
    thin = _thinned(times, [np.array([block.figures[name][i] for i in kept]) for name in [*channels, *_finger(block)]])
    within = said["laid in"] if driven == "mass" else said["let go in"]
    return Trace(
        note,
        thin[0],
        dict(zip(channels, thin[1:], strict=False)),
        driven,
        mass=said["mass"],
        within=within if math.isfinite(within) else _LAID if driven == "mass" else _LET_GO,
        finger=thin[-1] if driven == "finger" else np.zeros(0),
        rate=said["frame rate"],
        errors={name: said[f"{name} error"] for name in channels if math.isfinite(said[f"{name} error"])},
        wind=wind,
        pressure=said["pressure"],
        assumed=driven != "finger" and not math.isfinite(within),
        path=path,
        line=block.lines[kept[0]],
        head=head_of(block),
    )


def _finger(block: Block) -> list[str]:
    return ["finger"] if "finger" in block.figures else []


def _thinned(times: Floats, columns: list[Floats]) -> list[Floats]:
    """Every so many instants: a motion is not drawn together to means, which would round its corners."""
    every = max(1, math.ceil(len(times) / MOST))
    return [np.asarray(one[::every]) for one in (times, *columns)]
