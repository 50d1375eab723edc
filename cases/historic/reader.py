"""Reading [historic]."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from keyaction.cases.text.defects import Place
from keyaction.cases.text.near import hint
from keyaction.models.historic.historic import Historic

TABLE = "historic"
_TEXTS = ("made", "remark", "decides")
_LISTS = ("parts", "keep")
DIVISIONS = "divisions"
"""Of an instrument: the divisions that are historic; all of them without it."""
_LONGEST = 300


def read_historic(place: Place, value: object, parts: Collection[str]) -> Historic | None:
    """The table of an action case.

    Parameters
    ----------
    place : Place
        The file; takes defects.
    value : object
        As TOML gives it.
    parts : collection of str
        Names of the train's parts.

    Returns
    -------
    Historic or None
        None where it is no table.
    """
    return _read(place.at(f"[{TABLE}]"), value, parts, ())


def read_of_instrument(
    place: Place, value: object, divisions: Collection[str], parts: Collection[str]
) -> tuple[Historic | None, tuple[str, ...]]:
    """The table of an instrument: what is historic, and the divisions in which it is.

    Parameters
    ----------
    place, value
        As of `read_historic`.
    divisions : collection of str
        Names of the divisions.
    parts : collection of str
        Names of parts of any division; empty where they are not known, and then not looked at.
    """
    here = place.at(f"[{TABLE}]")
    found = _read(here, value, parts, (DIVISIONS,))
    if found is None or not isinstance(value, dict):
        return None, ()
    named = _names(here, DIVISIONS, value[DIVISIONS]) if DIVISIONS in value else tuple(divisions)
    for name in named:
        if name not in divisions:
            here.defect(DIVISIONS, f"there is no such division{hint(name, divisions)}", name)
    return found, named


def of_division(common: Historic | None, parts: Sequence[str]) -> Historic | None:
    """What an instrument says of one of its divisions: of parts that the division has."""
    if common is None or not common.parts:
        return common
    there = tuple(name for name in common.parts if name in parts)
    return Historic(common.made, there, common.keep, common.remark, common.decides) if there else None


def _read(here: Place, value: object, parts: Collection[str], more: Sequence[str]) -> Historic | None:
    if not isinstance(value, dict):
        here.defect("", f"a table is needed: [{TABLE}]", value)
        return None
    known = (*_TEXTS, *_LISTS, *more)
    for key in value:
        if key not in known:
            here.defect(key, f"unknown field{hint(key, known)}", value[key])
    texts = {key: _text(here, key, value) for key in _TEXTS if key in value}
    lists = {key: _names(here, key, value[key]) for key in _LISTS if key in value}
    for name in lists.get("parts", ()):
        if parts and name not in parts:
            here.defect("parts", f"there is no such part{hint(name, parts)}", name)
    return Historic(
        texts.get("made", ""),
        lists.get("parts", ()),
        lists.get("keep", ()),
        texts.get("remark", ""),
        texts.get("decides", ""),
    )


def _text(here: Place, key: str, table: Mapping[str, object]) -> str:
    value = table[key]
    if not isinstance(value, str) or not value.strip():
        here.defect(key, "words are needed, in quotes; leave the field out where there is nothing to say", value)
        return ""
    if len(value) > _LONGEST:
        here.defect(key, f"is longer than {_LONGEST} letters", value)
    return " ".join(value.split())


def _names(here: Place, key: str, value: object) -> tuple[str, ...]:
    """A list of words; what is none, or stands twice, is recorded."""
    if not isinstance(value, list) or not value or not all(isinstance(one, str) and one.strip() for one in value):
        of_all = "; leave it out where all are meant" if key != "keep" else ""
        example = '["pallet"]' if key == "parts" else '["leather of the pallets"]' if key == "keep" else '["great"]'
        here.defect(key, f"a list of words is needed, such as {example}{of_all}", value)
        return ()
    for name in dict.fromkeys(value):
        if value.count(name) > 1:
            here.defect(key, "named twice", name)
    return tuple(" ".join(one.split()) for one in dict.fromkeys(value))
