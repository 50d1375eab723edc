"""[layout.board]: what a roller board is made to; [layout.fan]: what goes slantwise in its place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from keyaction.cases.fields.context import Context
from keyaction.cases.layout.member import Member, Run
from keyaction.cases.layout.sizes import size, word
from keyaction.cases.layout.tables import Read, read_table
from keyaction.cases.text.defects import Place
from keyaction.cases.text.near import hint
from keyaction.models.fields.fields import Field
from keyaction.models.instrument.board import BoardSizes

_DICKSON = "W. E. Dickson, Practical Organ-Building, 1882, p. 35, 39"
BOARD: tuple[Field, ...] = (
    size("row", "from row to row", 0.004, 0.3, (0.012, 0.06), default=0.025, source=f"an inch or less: {_DICKSON}"),
    size(
        "clearance",
        "between the middle lines of a rod and of another roller's arm",
        0.0,
        0.2,
        (0.006, 0.05),
        default=0.010,
        source="common practice: rods of 10 mm, arms of 8 mm, a millimetre between",
        usual_source=f"common practice; arms beside each other about 1 3/4 in apart: {_DICKSON}",
    ),
    size("bearing", "thickness of a bearing along the shaft", 0.001, 0.1, (0.003, 0.03), default=0.010),
    size(
        "apart",
        "gap between bearings of neighbours in a row; below zero they may share one",
        -0.1,
        0.5,
        (-0.03, 0.05),
        default=0.006,
    ),
    size("shortest", "least distance between the two arms of a roller", 0.005, 1.0, (0.01, 0.2), default=0.010),
    size(
        "aside",
        "how far a pallet's rod may stand beside its line on the board, where rollers hold each other fast",
        0.0,
        0.1,
        (0.0, 0.006),
        default=0.0,
        source="arms stand in their rods' lines",
        usual_source="common practice",
    ),
    size("height", "room that there is across the rows", 0.005, 10.0, (0.1, 3.0)),
    word("keys", "from which side the keys' rods come", "below", "below", "above"),
    word("pallets", "to which side the pallets' rods go", "above", "above", "below"),
    word("stands", "whether rows lie one above the other, or one behind the other", "upright", "upright", "level"),
    Field(
        "bearings_in_the_way",
        "whether bearings stand as high as the rods",
        kind="flag",
        varies=False,
        default=False,
        source="common practice: rods pass before the bearings",
    ),
)
FAN: tuple[Field, ...] = (Field("part", "the rod or lever that goes slantwise", kind="text", varies=False),)


def read_board(context: Context, place: Place, data: Mapping[str, object]) -> Read:
    """Read [layout.board]; defects go into the log of `place`."""
    return read_table(context, place, BOARD, data)


def board_sizes(read: Read, roller: Member, notes: Sequence[int]) -> BoardSizes:
    """What a board is made to; its bearings stand as far from the arms as the roller's widest `pin_to_arm`.

    Those of wires whose ends are bent over stand between the arms.
    """
    values: dict[str, Any] = {one.name: read.get(one.name) for one in BOARD}
    insets = [inset for note in notes if (inset := roller.size("pin_to_arm", note)) is not None]
    arms = roller.courses.get("arms", {})
    bent = bool(notes) and all(note in arms and arms[note].value == "bent" for note in notes)
    wire = max(map(roller.across, notes)) if bent else 0.0
    return BoardSizes(inset=max(insets, default=0.0), inside=bent, wire=wire, **values)


def read_fan(context: Context, place: Place, data: Mapping[str, object], run: Run) -> tuple[str, Read]:
    """The part that goes slantwise, empty where a defect was recorded."""
    read = read_table(context, place, FAN, data)
    known = [one.name for one in (*run.rods, *run.stations[1:-1])]
    part = str(read.get("part") or "")
    if "part" not in data:
        place.defect("part", f"missing; which of {', '.join(known)} goes slantwise?")
    elif part and part not in known:
        place.defect("part", f"the train has no rod or lever '{part}'{hint(part, known)}", part)
        return "", read
    return part, read
