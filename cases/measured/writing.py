"""A sheet as text, blank or filled in, as `keyaction.cases.measured.sheet.read_sheet` takes it back."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator, Sequence

from keyaction.cases.text.signs import without_unseen
from keyaction.models.notes import Naming, note_name
from keyaction.models.readings.figures import BY_NAME
from keyaction.models.readings.readings import Head, Readings
from keyaction.models.units.quantity import System, convert

_PLACES = {"mm": 1, "gf": 0}
"""Decimals that a ruler and a balance give."""


def written(
    readings: Readings,
    notes: Sequence[int],
    figures: Sequence[str],
    naming: Naming = "scientific",
    units: System = "trade",
) -> str:
    """A sheet with a row per note, or per reading where a note was read several times.

    Parameters
    ----------
    readings : Readings
        What is filled in; without rows all cells are blank.
    notes : sequence of int
        In the order in which they are to stand.
    figures : sequence of str
        Its columns, names of `keyaction.models.readings.figures.NAMES`.
    naming : {"scientific", "trade", "german"}
    units : {"trade", "si"}

    Returns
    -------
    str
        CSV.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    for key, text in _head(readings.head, naming, units):
        writer.writerow([key, _safe(text)])
    writer.writerow([])
    writer.writerow(["note", "speech", *(_heading(name, units) for name in figures), "remark"])
    read: dict[tuple[int, str], list[float]] = {}
    for one in readings.rows:
        read.setdefault((one.note, one.figure), []).append(one.value)
    for note in notes:
        columns = [read.get((note, name), []) for name in figures]
        for k in range(max([1, *map(len, columns)])):
            cells = [
                _cell(name, one[k] if k < len(one) else math.nan, units)
                for name, one in zip(figures, columns, strict=True)
            ]
            words = (readings.speech.get(note, ""), readings.remarks.get(note, "")) if k == 0 else ("", "")
            writer.writerow([note_name(note, naming), words[0], *cells, _safe(words[1])])
    return out.getvalue()


def _head(head: Head, naming: Naming, units: System) -> Iterator[tuple[str, str]]:
    yield "case", head.case
    yield "case key", head.key
    yield "division", head.division
    yield "note names", naming
    yield "date", head.day.isoformat() if head.day else ""
    for key, value, si in (
        ("temperature", head.temperature, "K"),
        ("humidity", head.humidity, "1"),
        ("pressure", head.pressure, "Pa"),
        ("ruler", head.ruler, "m"),
        ("balance", head.balance, "N"),
    ):
        kind = "share" if key == "humidity" else None
        number, label = convert(value, si, "trade" if key in ("temperature", "humidity") else units, kind)
        label = label.replace("°", "deg")  # a spreadsheet may save it in signs that are not UTF-8
        yield f"{key} ({label})", f"{number:.4g}" if math.isfinite(value) else ""
    yield "measured by", head.by
    yield "remark", head.remark


def _heading(name: str, units: System) -> str:
    about = BY_NAME[name]
    return f"{about.heading} ({convert(1.0, about.unit, units)[1]})"


def _cell(name: str, value: float, units: System) -> str:
    if not math.isfinite(value):
        return ""
    number, unit = convert(value, BY_NAME[name].unit, units)
    places = _PLACES.get(unit)
    return f"{number:z.{places}f}" if places is not None else f"{number:.4g}"


def _safe(text: str) -> str:
    """A text that no spreadsheet runs."""
    plain = without_unseen(text)
    return f"'{plain}" if plain.startswith(("=", "+", "-", "@")) else plain
