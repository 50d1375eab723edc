"""[layout.chest]: the order of the grooves, and where they stand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, cast

from keyaction.cases.fields.compass import Compass
from keyaction.cases.fields.context import Context
from keyaction.cases.layout.keyboard import note_of
from keyaction.cases.layout.sizes import at, size, word
from keyaction.cases.layout.tables import Read, read_table
from keyaction.cases.text.defects import BadValue, Place
from keyaction.cases.text.near import hint
from keyaction.models.fields.fields import Field
from keyaction.models.instrument.chest import Chest
from keyaction.models.instrument.orders import ORDERS, check_order, order_notes

LISTED = "list"
"""What an order given note by note is called."""
FIELDS: tuple[Field, ...] = (
    word("first", "side on which the lowest note stands", "left", "left", "right"),
    size("bar", "between two grooves", 0.001, 0.2, (0.005, 0.03), default=0.008, source="common practice"),
    Field(
        "grooves",
        "grooves of each note",
        kind="count",
        low=1,
        high=4,
        usual=(1, 2),
        varies=False,
        default=1,
        source="two in basses with many stops (Dom Bedos, L'Art du facteur d'orgues, 1766-78, art. 485)",
    ),
    Field(
        "gaps",
        "further room to the right of a note's groove",
        kind="rows",
        fields=(
            Field("after", "the note", kind="text", varies=False),
            size("width", "how much; as far as from tower to tower", 0.0, 10.0, (0.005, 4.0)),
        ),
    ),
    at("middle", "middle of the row of grooves, across", (-3.0, 3.0), default=0.0),
    at("back", "the pallets' eyes"),
    at("up", "the pallets' eyes"),
)


@dataclass(frozen=True)
class ChestDrawn:
    """A chest before the widths of its grooves are known.

    Parameters
    ----------
    name : str
        What its order is called.
    notes : tuple of int
        From left to right.
    divisions : tuple of str
        Whose grooves stand at each note's place, from left to right.
    grooves : int
        Of each note.
    bar, middle : float
        m.
    gaps : mapping of int to float
        m, behind a note.
    eyes : (float, float), optional
        Back and up, m.
    """

    name: str
    notes: tuple[int, ...]
    divisions: tuple[str, ...]
    grooves: int
    bar: float
    middle: float
    gaps: Mapping[int, float]
    eyes: tuple[float, float] | None

    def chest(self, widths: Mapping[int, float]) -> Chest:
        """The chest with grooves of these widths (m), alike in all its divisions; gaps behind the last of a note's."""
        back, up = self.eyes or (0.0, 0.0)
        order = [(whose, note) for note in self.notes for whose in self.divisions for _ in range(self.grooves)]
        sizes = {(whose, note): width for note, width in widths.items() for whose in self.divisions}
        gaps = {(self.divisions[-1], note): gap for note, gap in self.gaps.items()}
        return Chest(tuple(order), sizes, self.bar, gaps, self.middle, back, up)


def read_chest(
    context: Context, place: Place, data: Mapping[str, object], notes: Sequence[int], division: str
) -> tuple[ChestDrawn | None, Read]:
    """Read [layout.chest]; defects go into the log of `place`.

    Parameters
    ----------
    context : Context
    place : Place
        The table.
    data : mapping
        As TOML gives it.
    notes : sequence of int
        All that the division plays, rising. Other notes of the compass may stand in a listed order; they are left out.
    division : str
        Its name; empty of an action case alone.

    Returns
    -------
    drawn : ChestDrawn, optional
        None where a defect was recorded.
    read : Read
    """
    before = len(place.log)
    read = read_table(context, place, FIELDS, {k: v for k, v in data.items() if k not in ("order", "divisions")})
    first = cast(Literal["left", "right"], read.get("first") or "left")
    name, order = _order(context.compass, place, data, notes, first)
    divisions = _divisions(place, data.get("divisions", [division]), division)
    gaps = _gaps(context.compass, place, read, notes)
    eyes = _eyes(place, data, read)
    if len(place.log) > before:
        return None, read
    grooves = int(read.number("grooves"))
    drawn = ChestDrawn(name, order, divisions, grooves, read.number("bar"), read.number("middle"), gaps, eyes)
    return drawn, read


def _order(
    compass: Compass, place: Place, data: Mapping[str, object], notes: Sequence[int], first: Literal["left", "right"]
) -> tuple[str, tuple[int, ...]]:
    """What the order is called, and the notes from left to right."""
    value, either = data.get("order"), f"one of {', '.join(ORDERS)}, or a list of all notes from left to right"
    if "order" not in data:
        place.defect("order", f"missing; {either}")
    elif isinstance(value, list):
        return LISTED, _listed(compass, place, value, notes, first)
    elif not isinstance(value, str):
        place.defect("order", f"needs {either}", value)
    elif value not in ORDERS:
        place.defect("order", f"unknown order{hint(value, ORDERS)}; allowed: {either}", value)
    else:
        return value, order_notes(notes, value, first)
    return "", ()


def _listed(compass: Compass, place: Place, value: list[object], notes: Sequence[int], first: str) -> tuple[int, ...]:
    found, before = [], len(place.log)
    for i, text in enumerate(value):
        try:
            found.append(note_of(compass, text))
        except BadValue as problem:
            place.defect(f"order.{i}", str(problem), text)
    left_out = set(compass.notes) - set(notes) if compass.known else set()
    found = [note for note in found if note not in left_out]
    if len(place.log) == before:
        for defect in check_order(found, notes, compass.name):
            place.defect("order", defect, value)
    return tuple(found if first == "left" else reversed(found))


def _divisions(place: Place, value: object, own: str) -> tuple[str, ...]:
    """Whose grooves stand at each note's place."""
    if not isinstance(value, list) or not value or not all(isinstance(one, str) for one in value):
        place.defect("divisions", "a list of divisions is needed, whose grooves stand side by side", value)
    elif len(set(value)) < len(value):
        place.defect("divisions", "names a division twice", value)
    elif own not in value:
        place.defect("divisions", f"does not name '{own}', whose action this is{hint(own, value)}", value)
    else:
        return tuple(value)
    return (own,)


def _gaps(compass: Compass, place: Place, read: Read, notes: Sequence[int]) -> dict[int, float]:
    found: dict[int, float] = {}
    rows = dict.fromkeys(path.split(".")[1] for path in read.courses if path.startswith("gaps."))
    for row in rows:
        path = f"gaps.{row}"
        for needed in ("after", "width"):
            if f"{path}.{needed}" not in read.courses:
                place.defect(f"{path}.{needed}", "missing; a gap is { after = NOTE, width = ... }")
        text = read.get(f"{path}.after")
        if text is None:
            continue
        try:
            note = note_of(compass, text)
        except BadValue as problem:
            place.defect(f"{path}.after", str(problem), text)
            continue
        if note not in notes:
            place.defect(f"{path}.after", "this note has no groove here", text)
        elif note in found:
            place.defect(f"{path}.after", "a second gap after this note; give one", text)
        found[note] = read.number(f"{path}.width")
    return found


def _eyes(place: Place, data: Mapping[str, object], read: Read) -> tuple[float, float] | None:
    """Where the pallets' eyes stand in the side view; None where it is not said."""
    given = [name for name in ("back", "up") if name in data]
    if len(given) == 1:
        other = "up" if given == ["back"] else "back"
        place.defect(other, f"missing; the pallets' eyes stand at `back` and `up`, here is `{given[0]}` alone")
    return (read.number("back"), read.number("up")) if len(given) == 2 else None
