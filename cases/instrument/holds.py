"""Where couplers take hold of a division's train and where they give: the key, or a lever by its name."""

from __future__ import annotations

from collections.abc import Mapping

from keyaction.cases.action.case import Case, PartSpec
from keyaction.cases.text.defects import BadValue
from keyaction.cases.text.near import hint
from keyaction.models.fields.values import Given
from keyaction.models.train.structure import Outlet

KEY = "key"
_ENDS = ("in", "out")
_SHOWN = 'the key or a lever by its name, such as "roller", or { part = "roller", end = "in" }'


def read_hold(case: Case, value: object, usual: str) -> Outlet:
    """The part and end that a coupler's `takes` or `gives` names.

    Parameters
    ----------
    case : Case
        The division's.
    value : object
        As TOML gives it.
    usual : {"in", "out"}
        The end of a lever that is meant where none is named: after it to take hold, before it to give.

    Raises
    ------
    BadValue
        If there is no such part, or a coupler cannot hold on there.
    """
    name, end = _named(value)
    part = _part(case, name)
    if part.part.role == KEY:
        if end == "in":
            raise BadValue(f"the key {part.name} has no end before it; leave `end` out")
        return part.name, "out"
    return part.name, end or usual


def _named(value: object) -> tuple[str, str]:
    if isinstance(value, str):
        return value.strip(), ""
    if not isinstance(value, dict) or not isinstance(value.get("part"), str):
        raise BadValue(f"{_SHOWN} is needed")
    for key in value:
        if key not in ("part", "end"):
            raise BadValue(f"unknown field '{key}'{hint(key, ('part', 'end'))}")
    end = value.get("end", "")
    if "end" in value and end not in _ENDS:
        raise BadValue('end: "in" (nearer the key) or "out" (nearer the pallet) is needed')
    return value["part"].strip(), end


def _part(case: Case, name: str) -> PartSpec:
    """The part of that name; the word "key" stands for the key whatever it is called."""
    holds = {part.name: part for part in case.parts if part.part.role in (KEY, "lever")}
    first = next((part for part in case.parts if part.part.role == KEY), None)
    found = holds.get(name) or (first if name == KEY else None)
    if found is not None:
        return found
    levers = [one for one, part in holds.items() if part is not first]
    if any(part.name == name for part in case.parts):
        known = f"key{''.join(f', {one}' for one in levers)}"
        raise BadValue(f"a coupler holds on at the key or at a lever; known: {known}")
    raise BadValue(f"{case.path.name} has no such key or lever{hint(name, [KEY, *levers])}")


def depth(case: Case, hold: Outlet) -> int:
    """How far along the train a part stands: what moves one part moves those that stand deeper."""
    return next(i for i, part in enumerate(case.parts) if part.name == hold[0])


def way_at(case: Case, note: int, hold: Outlet, arm: float | None) -> float | None:
    """How far the place goes (m) where a coupler takes hold, at the key's full dip, nothing giving way.

    Parameters
    ----------
    case : Case
    note : int
    hold : (str, str)
    arm : float, optional
        Its arm from the pivot of the part; by default that of the rod.

    Returns
    -------
    float or None
        None where a figure that it takes is missing.
    """
    way: float | None = None
    for part in case.parts:
        values = case.values(note, part)
        if part.part.role == KEY and way is None:
            turn, out = _ratio(values, "dip", "front"), _number(values, "arm")
        elif part.part.role == "lever":
            inner = _number(values, "in_arm")
            turn = None if way is None or not inner else way / inner
            out = _number(values, "out_arm") if part.name != hold[0] or hold[1] == "out" else inner
        else:
            continue
        reach = arm if part.name == hold[0] and arm is not None else out
        way = None if turn is None or reach is None else turn * reach
        if part.name == hold[0]:
            return way
    return None


def _number(values: Mapping[str, Given], path: str) -> float | None:
    return float(values[path].value) if path in values else None


def _ratio(values: Mapping[str, Given], over: str, under: str) -> float | None:
    top, bottom = _number(values, over), _number(values, under)
    return top / bottom if top is not None and bottom else None
