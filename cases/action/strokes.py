"""What is played on a case: the fields of its [strokes] table."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from keyaction.cases.fields.context import Context, Course, Scope
from keyaction.cases.fields.tables import TableReader, defaults
from keyaction.cases.text.defects import Place
from keyaction.models.fields.fields import Field
from keyaction.models.fields.values import Given
from keyaction.models.units.quantity import format_value

TABLE = "[strokes]"
SPEEDS = ("slow", "medium", "fast")
NO_NOTE = 0
"""Strokes are the same at every note; their courses hold this one entry."""


def _field(
    name: str, doc: str, unit: str, default: float, low: float, high: float, usual: tuple[float, float]
) -> Field:
    return Field(
        name,
        doc,
        unit=unit,
        low=low,
        high=high,
        positive=True,
        usual=usual,
        default=default,
        source="common practice",
        varies=False,
    )


def _depth(name: str, doc: str, default: float) -> Field:
    return Field(
        name,
        doc,
        kind="number",
        low=0.1,
        high=2.0,
        usual=(0.8, 1.5),
        default=default,
        source="common practice",
        varies=False,
    )


STROKE_FIELDS: tuple[Field, ...] = (
    _field("down", "time in which the finger goes down", "s", 0.040, 0.001, 10.0, (0.005, 1.0)),
    _field("hold", "time for which it stays down", "s", 0.150, 0.001, 60.0, (0.02, 5.0)),
    _field("up", "time in which it comes up", "s", 0.040, 0.001, 10.0, (0.005, 1.0)),
    _depth("depth", "how far the finger goes, as a share of the key's dip", 1.15),
    _field("finger", "stiffness of the finger", "N/m", 3e3, 10.0, 1e6, (300.0, 3e4)),
    _field("press_stiffness", "stiffness of the gauge that measures the touch", "N/m", 2e4, 100.0, 1e7, (2e3, 2e5)),
    Field(
        "speeds",
        "three speeds of the key's front, slow to fast",
        kind="table",
        fields=tuple(
            _field(name, f"{name} stroke", "m/s", speed, 0.001, 5.0, (0.005, 1.0))
            for name, speed in zip(SPEEDS, (0.050, 0.100, 0.250), strict=True)
        ),
    ),
    _field("dip_force", "force on the front at which the dip is measured", "N", 5.0, 0.01, 200.0, (1.0, 20.0)),
    _depth("repetition_depth", "depth of the repeated strokes, as a share of the key's dip", 1.10),
    _field("repetition_highest", "fastest repetition that is tried", "Hz", 20.0, 1.0, 100.0, (5.0, 40.0)),
)


@dataclass(frozen=True)
class Strokes:
    """What is played, in SI units: seconds, metres per second, newtons, newtons per metre, hertz.

    `depth` and `repetition_depth` are shares of the key's dip; `speeds` are three, slow to fast. `given`
    holds every value with its origin.
    """

    down: float
    hold: float
    up: float
    depth: float
    finger: float
    press_stiffness: float
    speeds: tuple[float, float, float]
    dip_force: float
    repetition_depth: float
    repetition_highest: float
    given: Mapping[str, Given]


def stroke_courses(context: Context, place: Place, data: Mapping[str, object]) -> dict[str, Course]:
    """Read the [strokes] table; defects go into the log of `place`."""
    scope = Scope((NO_NOTE,), "case", fixed=True)
    return TableReader(context, scope, place).read(STROKE_FIELDS, _named_speeds(place, data)).courses


def _named_speeds(place: Place, data: Mapping[str, object]) -> dict[str, object]:
    """The list of three speeds as a table, which is how their defects can be named one by one."""
    speeds = data.get("speeds")
    if isinstance(speeds, list) and len(speeds) == len(SPEEDS):
        return {**data, "speeds": dict(zip(SPEEDS, speeds, strict=True))}
    if "speeds" in data:
        place.defect("speeds", "a list of three speeds is needed, slow to fast", speeds)
    return {name: value for name, value in data.items() if name != "speeds"}


def check_speeds(place: Place, courses: Mapping[str, Course]) -> None:
    """Record it if the speeds do not rise; those that could not be read are in the log already."""
    found = [courses[path] for path in (f"speeds.{name}" for name in SPEEDS) if path in courses]
    speeds = [float(course[NO_NOTE].value) for course in found]
    if any(after <= before for before, after in pairwise(speeds)):
        written = ", ".join(format_value(speed, "m/s") for speed in speeds)
        place.defect("speeds", f"the three speeds must rise, slow to fast; given: {written}")


def make_strokes(courses: Mapping[str, Course]) -> Strokes:
    """The strokes of courses that have been read without defects."""
    given = {path: course[NO_NOTE] for path, course in courses.items()}
    slow, medium, fast = (float(given[f"speeds.{name}"].value) for name in SPEEDS)
    single = {path: float(one.value) for path, one in given.items() if "." not in path}
    return Strokes(**single, speeds=(slow, medium, fast), given=given)


def usual_strokes() -> Strokes:
    """What is played where a case says nothing: the default of every field."""
    courses: dict[str, Course] = {}
    for one in STROKE_FIELDS:
        courses |= defaults(one, "", (NO_NOTE,))
    return make_strokes(courses)
