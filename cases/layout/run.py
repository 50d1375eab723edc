"""[layout.run]: where the axes of key and levers stand in the side view."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from keyaction.cases.fields.context import Context, Scope
from keyaction.cases.fields.tables import TableReader
from keyaction.cases.layout.member import Member, Run
from keyaction.cases.layout.sizes import at
from keyaction.cases.layout.tables import Read
from keyaction.cases.text.defects import Place
from keyaction.cases.text.near import hint
from keyaction.models.fields.fields import Field, table
from keyaction.models.instrument.run import Station

_AXIS = (
    at("back", "into the case from the naturals' front edge", varies=True),
    at("up", "above the naturals", varies=True),
)
_SIDE = Field(
    "side",
    "side of the run on which the axis stands, for one who walks from key to pallet with up above",
    kind="choice",
    choices=("left", "right"),
    varies=False,
)


def read_run(context: Context, place: Place, data: Mapping[str, object], run: Run) -> Read:
    """Read [layout.run]; defects go into the log of `place`."""
    axes = [one for one in run.stations if one.role != "pallet"]
    known = [one.name for one in axes]
    sound: dict[str, object] = {}
    for name, value in data.items():
        if name in known:
            sound[name] = value
            _check_whole(place, name, value)
        elif name == run.stations[-1].name:
            _check_pallet(place, name, value)
            sound[name] = value
        else:
            place.defect(name, _unknown(name, known, run))
    fields = [
        table(one.name, f"axis of {one.name}", *(_AXIS if one.role == "key" else (*_AXIS, _SIDE))) for one in axes
    ]
    fields.append(table(run.stations[-1].name, "the pallet's hinge", _SIDE))
    reader = TableReader(context, Scope(context.compass.notes, "case"), place)
    return Read(place.table, fields, reader.read(fields, sound).courses)


def _check_whole(place: Place, name: str, value: object) -> None:
    """A place needs both of its directions."""
    lacks = [one for one in ("back", "up") if isinstance(value, dict) and one not in value]
    for one in lacks:
        place.defect(f"{name}.{one}", "missing; an axis stands at { back = ..., up = ... }")


def _check_pallet(place: Place, name: str, value: object) -> None:
    if isinstance(value, dict) and {"back", "up"} & set(value):
        place.defect(name, "its eye stands at `back` and `up` of [layout.chest]; here it may have a `side`", value)


def _unknown(name: str, known: Sequence[str], run: Run) -> str:
    if name in run.names:
        return f"a rod goes from axis to axis and has no place of its own; places have {', '.join(known)}"
    return f"the train has no key or lever '{name}'{hint(name, known)}"


def stations_of(
    run: Run, read: Read, eyes: tuple[float, float] | None, notes: Sequence[int]
) -> dict[int, tuple[Station, ...]]:
    """Stations of every note: arms of its parts, and axes where they have a place."""
    return {note: tuple(_station(one, read, eyes, note) for one in run.stations) for note in notes}


def _station(one: Member, read: Read, eyes: tuple[float, float] | None, note: int) -> Station:
    arms = (*(one.size(path, note) for path in one.arms), None)
    side = read.courses.get(f"{one.name}.side", {}).get(note)
    axis = eyes if one.role == "pallet" else _axis(one, read, note)
    told = side.value if side else ""
    return Station(one.name, one.kind_of_station(note), axis, arms[0], arms[1], told)  # type: ignore[arg-type]


def _axis(one: Member, read: Read, note: int) -> tuple[float, float] | None:
    back, up = (read.courses.get(f"{one.name}.{name}", {}).get(note) for name in ("back", "up"))
    return None if back is None or up is None else (float(back.value), float(up.value))
