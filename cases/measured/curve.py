"""Reading feel curves: force against travel at the key front, `read_curves`."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from keyaction.cases.measured.blocks import Block, Column, Form, Said, figure_said, separator_of, word_said
from keyaction.cases.measured.courses import ABOUT, PRESSURE, head_of, read_courses
from keyaction.cases.text.defects import Place
from keyaction.models.notes import Naming
from keyaction.models.readings.courses import DIAL, Curve, Floats
from keyaction.models.units.names import STANDARD_GRAVITY

_G = 1e-3 * STANDARD_GRAVITY
FORM = Form(
    columns={
        "travel": Column("m", "mm", -5e-3, 60e-3),
        "force": Column("N", "gf", -5.0, 200.0),
    },
    words=("note", "way", "remark"),
    needed=("travel", "force"),
    said={
        "pressure": PRESSURE,
        "travel error": Said("m", 1e-7, 2e-3, "0.0001 to 2 mm"),
        "force error": Said("N", 1e-3 * _G, 100 * _G, "0.001 to 100 gf"),
        "gauge": Said("N/m", 100.0, 1e7, "0.1 to 10000 N/mm"),
    },
    told=(*ABOUT, "note", "wind", "way"),
    also={"key travel": "travel", "key force": "force", "way of the key": "travel", "direction": "way"},
)
MOST = 240
"""Points of either way beyond which samples are drawn together to means."""
BACK = 6.0
"""Standard deviations of the travel by which a way may go back from sample to sample."""
_JITTER = 0.05e-3
"""m: what it may go back in any case."""


def is_curve(text: str) -> bool:
    """Whether a text has the headings of a feel curve."""
    return separator_of(text, FORM) is not None


def read_curves(path: str | Path, notes: Sequence[int], naming: Naming = "scientific") -> tuple[Curve, ...]:
    r"""Read feel curves as they were taken.

    A curve goes down, up, or down and up; more than 240 points of a way are drawn together to means. A file may hold
    several notes, with a column `note` or a line `note` before each table.

    Parameters
    ----------
    path : str or Path
        A CSV file.
    notes : sequence of int
        The compass of the case, rising.
    naming : {"scientific", "trade", "german"}
        The case's; another one is taken where all notes of the file fit it alone.

    Returns
    -------
    tuple of Curve

    Raises
    ------
    keyaction.CaseProblem
        With every defect of the file, and its line.

    Examples
    --------
    >>> from pathlib import Path
    >>> from keyaction.cases.measured.curve import read_curves
    >>> _ = Path("curve.csv").write_text("note,C4\ntravel (mm),force (gf)\n0,0\n1,60\n2,150\n3,80\n2,70\n0,5\n")
    >>> (curve,) = read_curves("curve.csv", range(36, 92))
    >>> curve.note, curve.down.tolist()
    (60, [True, True, True, True, False, False])
    """
    return read_courses(path, notes, naming, FORM, _curve, "curve")


@dataclass(frozen=True)
class _Path:
    """A curve's samples before they are drawn together."""

    travel: Floats
    force: Floats
    lines: list[int]


def _curve(block: Block, note: int, rows: list[int], place: Place, path: Path) -> Curve | None:
    before = len(place.log)
    said = {name: figure_said(block, FORM, name, place) for name in FORM.said}
    wind = word_said(block, "wind", ("on", "off"), "on", place) == "on"
    said_way = word_said(block, "way", ("down", "up", "both"), "both", place)
    whole = [i for i in rows if all(math.isfinite(block.figures[name][i]) for name in FORM.needed)]
    if len(whole) < 3:
        at = place.at(f"line {block.lines[rows[0]]}")
        at.defect("", f"{len(whole)} points of travel and force; a curve needs three or more")
        return None
    travel, force = (np.array([block.figures[name][i] for i in whole]) for name in FORM.needed)
    lines = [block.lines[i] for i in whole]
    words = [block.words["way"][i].lower() for i in whole] if "way" in block.words else []
    down = _downs(_Path(travel, force, lines), words, said_way, place)
    error = said["travel error"] if math.isfinite(said["travel error"]) else DIAL
    _check_onward(travel, down, lines, max(BACK * error, _JITTER), place)
    if len(place.log) > before:
        return None
    kept = _drawn_together(travel, force, down)
    return Curve(
        note,
        *kept,
        travel_error=said["travel error"],
        force_error=said["force error"],
        wind=wind,
        pressure=said["pressure"],
        gauge=said["gauge"],
        path=path,
        line=lines[0],
        head=head_of(block),
    )


def _downs(samples: _Path, words: list[str], said: str, place: Place) -> np.ndarray:
    """Of every sample whether the key was on its way down: as it is said, or by where the way turns."""
    n = len(samples.travel)
    for line, word in zip(samples.lines, words, strict=False):
        if word not in ("down", "up"):
            place.at(f"line {line}").defect("way", "must be down or up", word)
    if words:
        return np.array([word == "down" for word in words])
    if said != "both":
        return np.full(n, said == "down")
    deepest, highest = int(np.argmax(samples.travel)), int(np.argmin(samples.travel))
    begins_high = samples.travel[0] - samples.travel[highest] < samples.travel[deepest] - samples.travel[0]
    if begins_high:
        return np.arange(n) <= deepest
    return np.arange(n) > highest


def _check_onward(travel: Floats, down: np.ndarray, lines: list[int], allowed: float, place: Place) -> None:
    """Complain of a way that goes back: two samples in exchange, a key let rise in between, a wrong sign."""
    for onward, sense, words in ((down, 1.0, "down"), (~down, -1.0, "up")):
        at = np.flatnonzero(onward)
        if len(at) < 2:
            continue
        way = sense * travel[at]
        furthest = np.maximum.accumulate(way)
        back = furthest - way
        wrong = np.flatnonzero((back > allowed) & np.concatenate([[True], np.diff(way) < 0]))
        for i in wrong[:_TOLD]:
            told = f"goes back by {1e3 * back[i]:.3g} mm on the way {words}; a curve goes on, or turns once"
            place.at(f"line {lines[at[i]]}").defect("travel", told, f"{1e3 * travel[at[i]]:.4g} mm")
        if len(wrong) > _TOLD:
            place.defect("travel", f"and goes back at {len(wrong) - _TOLD} more places on the way {words}")


_TOLD = 10
"""Places that are named one by one."""


def _drawn_together(travel: Floats, force: Floats, down: np.ndarray) -> tuple[Floats, Floats, np.ndarray, Floats]:
    """At most `MOST` points of either way, each the mean of as many samples as its neighbours."""
    pieces = []
    for onward in (down, ~down):
        at = np.flatnonzero(onward)
        parts = np.array_split(at, MOST) if len(at) > MOST else [at[i : i + 1] for i in range(len(at))]
        pieces += [(part[0], float(np.mean(travel[part])), float(np.mean(force[part])), len(part)) for part in parts]
    pieces.sort(key=lambda piece: piece[0])
    first = [piece[0] for piece in pieces]
    columns = np.array([piece[1:] for piece in pieces], dtype=float).reshape(-1, 3).T
    return columns[0], columns[1], down[first], columns[2]
