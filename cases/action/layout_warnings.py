"""What a sound layout should still be told: unusual sizes, remarks, and values that contradict it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from keyaction.cases.action.remarks import unusual
from keyaction.cases.fields.compass import Compass
from keyaction.cases.layout.drawn import Drawn
from keyaction.cases.layout.member import Member, Run
from keyaction.models.fields.values import Given
from keyaction.models.instrument.chest import Chest, centres
from keyaction.models.instrument.layout import Layout
from keyaction.models.units.quantity import format_value

CONTRADICTS = "contradicts the layout"
"""Words of every warning of a value that is not the layout's."""
_APART, _SHARE = 1e-3, 2e-3
"""m, and share: a typed length that differs by more than both contradicts the layout."""
_ROUNDING = 1e-9
_TURNED = 0.0175
"""rad, a degree: by how much an angle may differ from the layout's."""


def layout_warnings(file: str, compass: Compass, drawn: Drawn, layout: Layout | None) -> Iterator[str]:
    """Unusual sizes, what the layout remarks, and what contradicts it."""
    for read in drawn.tables:
        yield from unusual(file, read.table, read.fields, read.courses, compass)
    if layout is not None:
        yield from (f"{file}: [layout]: {remark}" for remark in layout.remarks)
        yield from _pallets_meet(file, compass, drawn.run, layout.chest)
        yield from _contradictions(file, compass, drawn.run, layout)
        yield from _angles(file, compass, drawn.run)
        yield from _crowded(file, compass, drawn, layout)


def _angles(file: str, compass: Compass, run: Run) -> Iterator[str]:
    """Angles of arms: the layout draws all arms square to their rods, and the key level."""
    for one in run.stations:
        for path, course in one.courses.items():
            off = [
                note for note, value in course.items() if path.endswith("_angle") and abs(float(value.value)) > _TURNED
            ]
            if off:
                told = "the layout draws its arms square to their rods at rest, so places and lengths are without it"
                yield f"{file}: [[train]] {one.name}, field '{path}' at {compass.ranges(off)}: {told}"


def _crowded(file: str, compass: Compass, drawn: Drawn, layout: Layout) -> Iterator[str]:
    """Bodies that are wider than their neighbours leave room for: rods in the keys' row, shafts in theirs."""
    lines = sorted(place.key for place in layout.places.values())
    pitch = min((b - a for a, b in pairwise(lines)), default=math.inf)
    sizes = drawn.sizes(compass.notes)
    for one in (*drawn.run.rods, *drawn.run.stations[1:-1]):
        shaft = one.kind == "roller"
        room = (sizes.row if sizes else math.inf) if shaft else pitch
        thick = {note: one.across(note) for note in compass.notes}
        wide = [note for note, size in thick.items() if size > room + _ROUNDING]
        if wide:
            where = "its rows stand" if shaft else "keys' lines stand"
            most, apart = (format_value(size, "m") for size in (max(thick[note] for note in wide), room))
            told = f"{most} wide, and {where} {apart} apart"
            yield f"{file}: [[train]] {one.name}: {told} at {compass.ranges(wide)}: neighbours would meet"


def _pallets_meet(file: str, compass: Compass, run: Run, chest: Chest) -> Iterator[str]:
    """Pallets that are wider than their grooves stand apart; those of other divisions count as wide as these."""
    pallet, least, notes = run.stations[-1], math.inf, list[int]()
    wide = {note: _wide(pallet, note) for note in compass.notes}
    at = zip(chest.order, centres(chest), strict=True)
    for ((_, one), here), ((_, other), there) in pairwise(at):
        room = there - here - (wide[one] + wide[other]) / 2
        if room < -_ROUNDING:
            least, notes = min(least, room), [*notes, one, other]
    if notes:
        told = f"neighbours overlap by up to {format_value(-least, 'm')} (opening_width and overlap)"
        yield f"{file}: [[train]] {pallet.name}: {told} at {compass.ranges(notes)}"


def _wide(pallet: Member, note: int) -> float:
    return (pallet.size("opening_width", note) or 0.0) + 2 * (pallet.size("overlap", note) or 0.0)


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
                f"{file}: [[train]] {one.name}, field '{path}' = {typed}{whence}: {CONTRADICTS}, where it is "
                f"{laid} at {compass.ranges(apart)}; write {{ layout = true }} to take that"
            )


def _apart(path: str, given: Given, laid: float) -> bool:
    off = abs(float(given.value) - laid)
    return off > max(_APART, _SHARE * laid) if path == "length" else off > _TURNED


def _ends(values: Sequence[float]) -> tuple[float, float]:
    return min(values), max(values)
