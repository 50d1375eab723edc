"""[season]: the air on the day of regulation, and the climate that the case names."""

from __future__ import annotations

from dataclasses import dataclass

from keyaction.cases.fields.allowed import allowed_range, inside, written
from keyaction.cases.seasons.climate_file import LARGEST, read_climate
from keyaction.cases.seasons.fields import BARE, SEASON_FIELDS
from keyaction.cases.seasons.ground import Ground, TableRead
from keyaction.cases.seasons.members import check_finish
from keyaction.cases.text.defects import BadValue, CaseProblem, Place
from keyaction.models.climate.year import Year

_TABLE = "[season]"


@dataclass(frozen=True)
class Season:
    """Air of the day of regulation (K and 0 to 1), climate, and finish of wooden rods."""

    temperature: float
    humidity: float
    year: Year | None
    rod_finish: str


def read_season(ground: Ground, place: Place, read: TableRead | None) -> Season | None:
    """The season out of its table, or else out of the box's air; None where that is a defect."""
    before, here = len(place.log), place.at(_TABLE)
    temperature, humidity = (_air(ground, here, read, name) for name in ("temperature", "humidity"))
    if read is not None:
        check_finish(here, read, "rod_finish")
    year = _year(ground, here, read.text("climate")) if read is not None and read.text("climate") else None
    if temperature is None or humidity is None or len(place.log) > before:
        return None
    return Season(temperature, humidity, year, read.text("rod_finish") if read is not None else BARE)


def _air(ground: Ground, place: Place, read: TableRead | None, name: str) -> float | None:
    """Temperature or humidity: the table's own, or else that of the box."""
    if read is not None and (name in read.data or read.get(name) is not None):
        found = read.get(name)
        return None if found is None else float(found)
    box = next(iter(ground.of_role("box")), "")
    of_box = ground.number(box, name, ground.notes[0]) if ground.notes else None
    if of_box is None:
        if ground.sound:
            place.defect(name, f"missing; the train's box does not tell the {name} either")
        return None
    field = next(one for one in SEASON_FIELDS if one.name == name)
    if not inside(field, of_box):
        told = f"not given, and that of {box} is {written(field, of_box)}: out of range; {allowed_range(field)}"
        place.defect(name, told)
        return None
    return of_box


def _year(ground: Ground, place: Place, name: str) -> Year | None:
    """The climate of that name; the text of a file goes with the case's own files."""
    folder = ground.file.parent
    try:
        year = read_climate(name, folder)
        if (folder / name).is_file():
            ground.context.shelf.text(name, LARGEST)
    except BadValue as problem:
        place.defect("climate", str(problem), name)
    except CaseProblem as problem:
        for one in problem.defects:
            if one.table or one.field:
                place.log.append(one)
            else:  # of the file as a whole: told where it is named
                place.defect("climate", one.message, name)
    else:
        return year
    return None
