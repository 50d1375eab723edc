"""Members, rail and season of a case, if it has any of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from keyaction.cases.action.remarks import unusual
from keyaction.cases.action.strokes import NO_NOTE
from keyaction.cases.fields.context import Context, Course
from keyaction.cases.text.defects import Place

if TYPE_CHECKING:
    from keyaction.cases.action.laid import Laid
    from keyaction.cases.action.train import Draft
    from keyaction.cases.seasons.drafts import FrameDraft
    from keyaction.models.fields.fields import Field
    from keyaction.models.frame.frame import Frame

TABLES = ("member", "rail", "season")


@dataclass(frozen=True)
class Framed:
    """What comes of the tables of a case's seasons, and what `check` should say of them."""

    frame: Frame | None = None
    warnings: tuple[str, ...] = ()

    @property
    def floats(self) -> bool:
        """Whether a rail floats."""
        rail = self.frame.rail if self.frame is not None else None
        return rail is not None and not rail.fixed


def seasons_said(context: Context, place: Place, data: Mapping[str, Any], drafts: Sequence[Draft]) -> FrameDraft | None:
    """The tables of a case's seasons, as they are written; None where it has none."""
    if not any(name in data for name in TABLES):
        return None
    from keyaction.cases.seasons.drafts import read_drafts  # a case without need not load them

    return read_drafts(context, place, data, [one.name for one in drafts])


def framed_by(
    context: Context, place: Place, path: Path, said: FrameDraft | None, drafts: Sequence[Draft], laid: Laid
) -> Framed:
    """What they come to, with the train as it stands after settings and layout; defects go into the log of `place`."""
    if said is None:
        return Framed()
    from keyaction.cases.seasons.frame_reader import read_frame
    from keyaction.cases.seasons.ground import Ground, PartRead

    parts = [PartRead(one.name, one.part, one.courses, (one.after or ("",))[0]) for one in drafts if one.part]
    paths = laid.layout.paths if laid.layout is not None else {}
    ground = Ground(context, path, parts, laid.compass.notes, paths, not place.log)
    frame = read_frame(ground, place, said)
    if frame is None:
        return Framed()
    told = [
        line
        for one in said.tables
        for line in unusual(path.name, one.table, one.fields, _shown(one.fields, one.courses, laid), laid.compass)
    ]
    return Framed(frame, (*told, *frame.warnings))


def _shown(fields: Sequence[Field], courses: Mapping[str, Course], laid: Laid) -> dict[str, Course]:
    """Courses at the notes that there are; of fields that do not vary the one value, of no note."""
    varies = {one.name: one.varies for one in fields}
    return {
        path: {note: one for note, one in course.items() if note in laid.compass.notes}
        if varies[path]
        else {NO_NOTE: next(iter(course.values()))}
        for path, course in courses.items()
    }
