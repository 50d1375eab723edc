"""What a sound layout should still be told: unusual sizes, remarks, and values that contradict it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from keyaction.cases.action.remarks import unusual
from keyaction.cases.fields.compass import Compass
from keyaction.cases.layout.drawn import Drawn
from keyaction.cases.layout.member import Run
from keyaction.models.fields.values import Given
from keyaction.models.instrument.layout import Layout
from keyaction.models.units.quantity import format_value

_APART, _SHARE = 1e-3, 2e-3
"""m, and share: a typed length that differs by more than both contradicts the layout."""
_TURNED = 0.0175
"""rad, a degree: by how much an angle may differ from the layout's."""


def layout_warnings(file: str, compass: Compass, drawn: Drawn, layout: Layout | None) -> Iterator[str]:
    """Unusual sizes, what the layout remarks, and what contradicts it."""
    for read in drawn.tables:
        yield from unusual(file, read.table, read.fields, read.courses, compass)
    if layout is not None:
        yield from (f"{file}: [layout]: {remark}" for remark in layout.remarks)
        yield from _contradictions(file, compass, drawn.run, layout)


def _contradictions(file: str, compass: Compass, run: Run, layout: Layout) -> Iterator[str]:
    """One line for every field whose own values are not those of the layout."""
    for one in (*run.rods, *run.stations):
        for path in ("length", "splay", "turn"):
            found = layout.figures.get(f"{one.name}.{path}", {})
            given = {note: value for note, value in one.courses.get(path, {}).items() if note in found}
            apart = [note for note, value in given.items() if _apart(path, value, found[note])]
            if not apart:
                continue
            unit = "m" if path == "length" else "rad"
            typed, laid = (
                " to ".join(dict.fromkeys(format_value(end, unit) for end in _ends(values)))
                for values in ([float(given[note].value) for note in apart], [found[note] for note in apart])
            )
            whence = " (not given)" if all(given[note].default for note in apart) else ""
            yield (
                f"{file}: [[train]] {one.name}, field '{path}' = {typed}{whence}: contradicts the layout, where it is "
                f"{laid} at {compass.ranges(apart)}; write {{ layout = true }} to take that"
            )


def _apart(path: str, given: Given, laid: float) -> bool:
    off = abs(float(given.value) - laid)
    return off > max(_APART, _SHARE * laid) if path == "length" else off > _TURNED


def _ends(values: Sequence[float]) -> tuple[float, float]:
    return min(values), max(values)
