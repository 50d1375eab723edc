"""What the unknowns are in a builder's words, beside the figures of a sheet; and which are outside the usual."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from keyaction.cases.fields.allowed import usual, usual_range, written
from keyaction.cases.fields.tables import field_at
from keyaction.models.algebra.names import Name
from keyaction.models.notes import Naming, note_name
from keyaction.models.readings.figures import NAMES
from keyaction.models.units.quantity import System, format_value
from keyaction.sim.calibration.apart import listed
from keyaction.sim.calibration.found import Calibrated, Value
from keyaction.sim.calibration.telling import value_words
from keyaction.sim.calibration.unknowns import KINDS
from keyaction.sim.measuring.computed import read_row

_OF_ALL = "a part only of the friction that weigh tells, which is that of the whole action"
_BESIDE: Mapping[str, str] = {
    "friction": _OF_ALL,
    "load-friction": "pins and guides rub the more the more they carry; below 1 they rub less than in the case",
    "spring": "where the spring bears, as the case has it; regulate and diagnose tell it at the eye",
    "rate": "where the spring bears",
    "seal": "further out there is more wind on the pallet and more pluck",
    "twist": "the softer, the later the pluck",
    "ends": "the softer, the later the pluck",
    "play": "at its nut; the sheet's play is at the key, by the levers between",
    "balance": "below 0 its tail is the heavier",
    "dip": "to where it is just touched; the sheet's dip goes on into the felt",
    "bottom-felt": "the softer, the further the sheet's dip goes into it",
    "guide": _OF_ALL,
    "inertia": "shows in strokes only",
}
"""How an unknown goes with what is read at the key."""


def legend(found: Sequence[Calibrated], naming: Naming, units: System) -> list[str]:
    """A line for every unknown that was asked for: what it is, and what of it is read at the key."""
    lines = []
    for name in KINDS:
        asked = [(one, value) for one in found for value in one.values if value.of.name == name]
        if not asked:
            continue
        words = [KINDS[name].doc, *([_BESIDE[name]] if name in _BESIDE else [])]
        same = [told for one, value in asked if (told := _same(one, value, naming, units))]
        words += [f"here {', '.join(same)}"] if same else []
        lines.append(f"{name}: {'; '.join(words)}.")
    return lines


def _same(one: Calibrated, value: Value, naming: Naming, units: System) -> str:
    """The figure of a note beside what is read of it; empty where nothing is."""
    beside, where = math.nan, ""
    if value.of.name in ("play", "dip"):
        beside, where = _on_sheet(one, value.of.name), "on the sheet"
    elif value.of.name == "spring":
        beside, where = _at_eye(one), "at the eye"
    if not math.isfinite(beside):
        return ""
    told = format_value(beside, value.of.kind.unit, units)
    return f"{note_name(one.note, naming)} {value_words(value, value.figure, units)} is {told} {where}"


def _on_sheet(one: Calibrated, figure: str) -> float:
    """What the model shows of a figure of the sheet in its first press; NaN where it has none."""
    return next((read_row(read)[NAMES.index(figure)] for read in one.shown.presses.values()), math.nan)


def _at_eye(one: Calibrated) -> float:
    """Force of the spring at the eye, pallet shut, N; NaN where the case has no one spring or eye."""
    train = one.asked.train(one.found.values)
    if train is None:
        return math.nan
    springs, pallets = ([part.name for part in train.parts if part.role == role] for role in ("spring", "pallet"))
    if len(springs) != 1 or len(pallets) != 1:
        return math.nan
    places = Name(springs[0], "M0"), Name(pallets[0], "r_eye")
    if any(place not in train.parameters for place in places):
        return math.nan
    moment, arm = (float(train.parameters[place].value) for place in places)
    return moment / arm


def unusual_words(one: Calibrated, units: System) -> list[str]:
    """A sentence for every unknown that puts a field of the case outside what the trade uses."""
    case, lines = one.asked.case, []
    for value in one.values:
        parts: dict[tuple[str, str, str], list[str]] = {}
        source = ""
        for (name, path), figure in value.of.fields(value.figure).items():
            field = field_at(case.part(name).part.fields, path)
            if field is not None and not usual(field, figure):
                source = f" ({field.range_source})" if field.range_source else ""
                read = written(field, figure, units) if field.unit else format_value(figure, "1", units)
                parts.setdefault((path, read, usual_range(field)), []).append(name)
        if parts:
            told = [f"{path} of {listed(names)} {read}" for (path, read, _), names in parts.items()]
            ranges = listed(list(dict.fromkeys(usually for _, _, usually in parts)))
            lines.append(
                f"{value.of.name} is outside the usual: {listed(told)}, where {ranges} is usual{source}. "
                f"{_how_sure(one, value)}"
            )
    return lines


def _how_sure(one: Calibrated, value: Value) -> str:
    if value.interval is None:
        return "It is not told, so that nothing follows."
    ends = [value.of.fields(end) for end in (value.interval.low, value.interval.high)]
    if any(all(_is_usual(one, place, figure) for place, figure in end.items()) for end in ends):
        return "Its interval reaches into it."
    return "Believe it only once something else that was measured says so too."


def _is_usual(one: Calibrated, place: tuple[str, str], figure: float) -> bool:
    field = field_at(one.asked.case.part(place[0]).part.fields, place[1])
    return field is None or usual(field, figure)
