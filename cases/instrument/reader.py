"""Reading an instrument file: `read_instrument`."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from keyaction.cases.action.case import Case
from keyaction.cases.action.header import has_instrument, opened, table_of
from keyaction.cases.action.own_materials import own_materials
from keyaction.cases.fields.compass import Compass
from keyaction.cases.fields.context import Context
from keyaction.cases.fields.csvfile import Shelf
from keyaction.cases.historic.reader import TABLE, read_of_instrument
from keyaction.cases.instrument.coupler_reader import Ground, read_couplers
from keyaction.cases.instrument.divisions import Surroundings, file_of, read_divisions, stands_of
from keyaction.cases.instrument.instrument import Instrument
from keyaction.cases.instrument.tables import (
    Entry,
    check_top,
    read_climate,
    read_division,
    read_head,
    rows,
)
from keyaction.cases.layout.keyboard import read_keyboard
from keyaction.cases.layout.within import Within
from keyaction.cases.text.defects import CaseProblem, Defect, Place
from keyaction.cases.text.find import find_case, is_file
from keyaction.cases.text.load import load_toml
from keyaction.cases.text.near import hint
from keyaction.models.materials.library import default_library
from keyaction.models.parts import PARTS
from keyaction.models.parts.base import Part


def is_instrument(path_or_name: str | Path) -> bool:
    """Whether a file has the tables of an instrument; False of one that cannot be read, for the reader to tell."""
    try:
        _, data = load_toml(find_case(path_or_name))
    except CaseProblem:
        return False
    return has_instrument(data)


def read_instrument(path_or_name: str | Path, parts: Mapping[str, type[Part]] = PARTS) -> Instrument:
    """Read and check an instrument with the action cases of all its divisions.

    Parameters
    ----------
    path_or_name : str or Path
        An instrument file, or the name of an instrument that ships with the program.
    parts : mapping of str to type of Part
        The kinds of part there are.

    Returns
    -------
    Instrument
        Each division's case as it stands in the instrument: on its keyboard, in the common climate, with the common
        materials, with what the instrument sets.

    Raises
    ------
    keyaction.CaseProblem
        If anything is wrong; it lists every defect of the instrument and of all its cases.

    Examples
    --------
    >>> import keyaction as ka
    >>> try:
    ...     ka.read_instrument("demo-wood")
    ... except ka.CaseProblem as problem:
    ...     print(problem)
    demo-wood.toml: is an action case, not an instrument: it has no [instrument], [[keyboard]] or [[division]]
    """
    looked = _looked(find_case(path_or_name), parts)
    context, place, data, common, entries = looked.context, looked.place, looked.data, looked.common, looked.entries
    divisions = read_divisions(common, entries)
    stand = {entry.name: entry.division for entry in entries}
    _check_historic(place, data, divisions)
    library = own_materials(Place("", "", []), common.materials, context.library)
    ground = Ground(replace(context, library=library), stand, list(looked.keyboards), divisions, parts)
    read_in = read_couplers(ground, place, data.get("coupler", []))
    if place.log:
        raise CaseProblem(looked.path, list(dict.fromkeys(place.log)))
    return Instrument(
        looked.path,
        looked.text,
        looked.title,
        looked.description,
        common.naming,
        common.keyboards,
        divisions,
        stand,
        read_in.couplers,
        library,
        read_in.files,
        read_in.warnings,
    )


@dataclass(frozen=True)
class Stands:
    """Where the divisions of an instrument stand, whatever is wrong with their cases.

    Attributes
    ----------
    path : Path
        Of the instrument.
    names : tuple of str
        All divisions.
    cases : mapping of str to (Path, Within or None)
        Of those whose case is there: its file, and what the instrument gives to it; None where it cannot be looked at.
    defects : mapping of str to tuple of Defect
        By division what the instrument's own tables have wrong: those of all, and its own.
    """

    path: Path
    names: tuple[str, ...]
    cases: Mapping[str, tuple[Path, Within | None]]
    defects: Mapping[str, tuple[Defect, ...]]


def read_stands(path_or_name: str | Path) -> Stands:
    """What an instrument gives to its divisions, without their cases.

    Raises
    ------
    keyaction.CaseProblem
        If the file cannot be read, or is no instrument.
    """
    looked = _looked(find_case(path_or_name), PARTS)
    files = {one.name: file_of(looked.common, one) for one in looked.entries if one.case}
    found = stands_of(looked.common, looked.entries)
    cases = {name: found.get(name, (path, None)) for name, path in files.items() if is_file(path)}
    log = [one for one in dict.fromkeys(looked.place.log) if one.file == looked.path.name]
    tables = {entry.name: entry.place.table for entry in looked.entries}
    defects = {
        name: tuple(one for one in log if one.table == table or one.table not in tables.values())
        for name, table in tables.items()
    }
    return Stands(looked.path, tuple(tables), cases, defects)


@dataclass(frozen=True)
class _Looked:
    """The tables of an instrument, each by itself; what is wrong with them is in the log of `place`."""

    path: Path
    text: str
    title: str
    description: str
    data: Mapping[str, Any]
    place: Place
    context: Context
    keyboards: tuple[str, ...]
    common: Surroundings
    entries: Sequence[Entry]


def _looked(path: Path, parts: Mapping[str, type[Part]]) -> _Looked:
    text, data, place = opened(path)
    if not has_instrument(data):
        told = "is an action case, not an instrument: it has no [instrument], [[keyboard]] or [[division]]"
        raise CaseProblem(path, [Defect(path.name, "", "", "", told)])
    check_top(place, data)
    unknown = Compass.unknown("scientific")
    bare = Context(unknown, default_library(), Shelf(path.parent, unknown, place.log))
    title, description, naming = read_head(bare, place, table_of(place, data, "instrument"), path.stem)
    context = Context(Compass.unknown(naming), bare.library, bare.shelf)
    named = rows(place, data, "keyboard")
    read = {name: read_keyboard(context, at, row, name)[0] for name, at, row in named}
    keyboards = {name: one for name, one in read.items() if one is not None}
    entries = [read_division(context, *row) for row in rows(place, data, "division")]
    _check_links(entries, [name for name, _, _ in named])
    common = Surroundings(
        path,
        text,
        title,
        naming,
        keyboards,
        read_climate(context, place, table_of(place, data, "climate")),
        _materials(place, table_of(place, data, "materials")),
        parts,
        _historic(place, data, entries),
    )
    names = tuple(name for name, _, _ in named)
    return _Looked(path, text, title, description, data, place, context, names, common, entries)


def _materials(place: Place, tables: Mapping[str, object]) -> dict[str, Mapping[str, Any]]:
    """The common materials that are sound; defects of the others are told once, and not again with every case."""
    found: dict[str, Mapping[str, Any]] = {}
    for name, table in tables.items():
        before = len(place.log)
        own_materials(place, {name: table}, default_library())
        if len(place.log) == before and isinstance(table, dict):
            found[name] = table
    return found


def _historic(place: Place, data: Mapping[str, Any], entries: Sequence[Entry]) -> Mapping[str, Any]:
    """[historic] as it is written, where it is sound; its parts are looked at when the divisions are known."""
    if TABLE not in data:
        return {}
    before = len(place.log)
    read_of_instrument(place, data[TABLE], [entry.name for entry in entries], ())
    return data[TABLE] if len(place.log) == before else {}


def _check_historic(place: Place, data: Mapping[str, Any], divisions: Mapping[str, Case]) -> None:
    """Record parts in [historic] that no division has."""
    if TABLE in data and not place.log:
        read_of_instrument(
            place, data[TABLE], divisions, {one.name for case in divisions.values() for one in case.parts}
        )


def _check_links(entries: Sequence[Entry], keyboards: Collection[str]) -> None:
    """Record keyboards and shared chests that there are not, and chests that are shared in a circle."""
    divisions = {entry.name: entry for entry in entries}
    for entry in entries:
        told = entry.division
        if told.keyboard and told.keyboard not in keyboards:
            entry.place.defect("keyboard", f"there is no such keyboard{hint(told.keyboard, keyboards)}", told.keyboard)
        if not told.shares:
            continue
        others = [name for name in divisions if name != entry.name]
        if told.shares not in divisions:
            entry.place.defect("shares", f"there is no such division{hint(told.shares, others)}", told.shares)
        elif circle := _circle(entry, divisions):
            way = " on that of ".join(circle)
            entry.place.defect("shares", f"no chest is left: the grooves of {way}", told.shares)
        elif owner := divisions[told.shares].division.shares:
            message = f"'{told.shares}' has no chest of its own; name the one that it shares: '{owner}'"
            entry.place.defect("shares", message, told.shares)
        if "chest" in entry.tables:
            message = f"its grooves stand on the chest of '{told.shares}', which has a table of its own"
            entry.place.defect("chest", message)


def _circle(entry: Entry, divisions: Mapping[str, Entry]) -> list[str]:
    """The divisions from one back to itself, each standing on the chest of the next; empty where it does not."""
    way = [entry.name]
    while (then := divisions[way[-1]].division.shares) in divisions and len(way) <= len(divisions):
        way.append(then)
        if then == entry.name:
            return way
    return []
