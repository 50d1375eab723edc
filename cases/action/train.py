"""The [[train]] tables: which parts there are, their names, and their fields."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from keyaction.cases.fields.context import Context, Course, Scope
from keyaction.cases.fields.tables import TableReader
from keyaction.cases.text.defects import Place
from keyaction.cases.text.near import hint
from keyaction.models.algebra.names import part_name_defect
from keyaction.models.parts.base import Part

FROM = "from"
"""Where a rod says from which part it leads on."""
OUT = "out"
"""The outlet that is meant unless another is named."""
_OWN_KEYS = ("part", "name", FROM)


@dataclass
class Draft:
    """A part while the case is being read; `part` is None where the kind is not known."""

    kind: str
    name: str
    part: type[Part] | None
    data: Mapping[str, object]
    courses: dict[str, Course]
    after: tuple[str, str] | None = None
    """Of a rod that branches off, the part and its outlet from which it leads on."""


def read_train(context: Context, place: Place, value: object, parts: Mapping[str, type[Part]]) -> list[Draft]:
    """Read the list of parts; defects go into the log of `place`.

    Parameters
    ----------
    context : Context
        The case.
    place : Place
        The case file.
    value : object
        What the file has for `train`, None if nothing.
    parts : mapping
        The kinds of part there are.

    Returns
    -------
    list of Draft
        One for every table, in order.
    """
    rows = _rows(place, value)
    drafts = [_draft(place, number, row, parts) for number, row in enumerate(rows, 1)]
    _name_all(place, drafts)
    for number, draft in enumerate(drafts):
        if FROM in draft.data:
            draft.after = _branch(place.at(train_table(draft)), draft, drafts[:number], drafts[number:])
    for draft in drafts:
        if draft.part is not None:
            fields = {key: one for key, one in draft.data.items() if key not in _OWN_KEYS}
            scope = Scope(context.compass.notes, "case", of_train=True)
            reader = TableReader(context, scope, place.at(train_table(draft)))
            draft.courses = reader.read(draft.part.fields, fields).courses
    return drafts


def kinds_by_name(value: object) -> dict[str, str]:
    """Kind of every part by its name, in order, of what a file that was read before has for `train`."""
    place = Place("", "", [])
    drafts = [_draft(place, number, row, {}) for number, row in enumerate(_rows(place, value), 1)]
    _name_all(place, drafts)
    return {draft.name: draft.kind for draft in drafts}


def train_table(draft: Draft) -> str:
    """How a part's table is called in messages."""
    return f"[[train]] {draft.name}"


def _rows(place: Place, value: object) -> list[dict[str, object]]:
    if isinstance(value, list) and value and all(isinstance(row, dict) for row in value):
        return value
    missing = value is None or value == []
    message = (
        "no parts; write one [[train]] table for each, from the key to the wind"
        if missing
        else ("each part needs a table of its own, headed [[train]] in double brackets")
    )
    place.at("[[train]]").defect("", message)
    return []


def _draft(place: Place, number: int, row: dict[str, object], parts: Mapping[str, type[Part]]) -> Draft:
    place = place.at(f"[[train]] number {number}")
    known = [name for name, part in parts.items() if part.role != "coupler"]
    kind, name = row.get("part"), row.get("name", "")
    if "part" not in row:
        place.defect("part", f"missing; known: {', '.join(known)}")
    elif not isinstance(kind, str):
        place.defect("part", f"the kind of part is needed, in quotes; known: {', '.join(known)}", kind)
    elif kind in parts and parts[kind].role == "coupler":
        place.defect("part", "a coupler stands in an instrument, between two divisions: [[coupler]]", kind)
    elif kind not in parts:
        place.defect("part", f"unknown part{hint(kind, known)}", kind)
    if "name" in row and (wrong := part_name_defect(name)):
        place.defect("name", wrong, name)
        name = ""
    kind = kind if isinstance(kind, str) else "part"
    return Draft(kind, str(name), parts[kind] if kind in known else None, row, {})


def _name_all(place: Place, drafts: list[Draft]) -> None:
    """Give the parts without a name their kind for one, numbered from the second on."""
    given = [draft.name for draft in drafts if draft.name]
    for name, times in Counter(given).items():
        if times > 1:
            message = f"{times} parts have this name; names must differ"
            place.at(f"[[train]] {name}").defect("name", message, name)
    taken, counts = set(given), Counter[str]()
    for draft in drafts:
        if draft.name:
            continue
        counts[draft.kind] += 1
        draft.name = _free(draft.kind, counts, taken)
        taken.add(draft.name)


def _free(kind: str, counts: Counter[str], taken: set[str]) -> str:
    while (name := kind if counts[kind] == 1 else f"{kind}-{counts[kind]}") in taken:
        counts[kind] += 1
    return name


def _branch(place: Place, draft: Draft, before: Sequence[Draft], behind: Sequence[Draft]) -> tuple[str, str] | None:
    """Where a rod leads on from; what is wrong with it goes into the log of `place`."""
    value, known = draft.data[FROM], {one.name: one for one in before if one.part is None or one.part.outlets}
    if draft.part is not None and draft.part.role != "rod":
        place.defect(FROM, "only a tracker, sticker or pull-down leads on from another part", value)
        return None
    table = {"part": value} if isinstance(value, str) else value
    if not isinstance(table, dict) or not isinstance(table.get("part"), str) or set(table) - {"part", "end"}:
        told = 'a part before it is needed, "NAME", or { part = "NAME", end = "out" }'
        place.defect(FROM, f"{told}{hint('', known)}", value)
        return None
    name, end = table["part"], table.get("end", OUT)
    if name not in known:
        later = any(name == one.name for one in behind)
        told = "stands behind it" if later else "no key, lever or pallet of this name stands before it"
        place.defect(FROM, f"{told}{hint(name, known)}", name)
        return None
    found = known[name].part
    if not isinstance(end, str) or (found is not None and end not in found.outlets):
        place.defect(f"{FROM}.end", f"{name} has no such outlet{hint(str(end), found.outlets if found else ())}", end)
        return None
    return name, end
