"""Reading a case file: `read_case`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from keyaction.cases.action.case import Case, PartSpec
from keyaction.cases.action.framed import framed_by, seasons_said
from keyaction.cases.action.header import Header, check_format, check_top, opened, read_compass, read_header, table_of
from keyaction.cases.action.laid import lay
from keyaction.cases.action.overrides import apply_notes
from keyaction.cases.action.own_materials import own_materials
from keyaction.cases.action.own_spreads import Reach, read_spreads
from keyaction.cases.action.remarks import unusual, usual_on
from keyaction.cases.action.settings import Settings, apply_settings, pairs
from keyaction.cases.action.strokes import STROKE_FIELDS, TABLE, check_speeds, make_strokes, stroke_courses
from keyaction.cases.action.train import Draft, read_train, train_table
from keyaction.cases.fields.compass import Compass
from keyaction.cases.fields.context import Context, Course
from keyaction.cases.fields.csvfile import Shelf
from keyaction.cases.historic.reader import TABLE as TABLE_HISTORIC
from keyaction.cases.historic.reader import of_division, read_historic, read_of_instrument
from keyaction.cases.text.defects import CaseProblem, Place
from keyaction.cases.text.find import find_case
from keyaction.models.fields.values import Scalar
from keyaction.models.materials.library import default_library
from keyaction.models.parts import PARTS
from keyaction.models.parts.base import Part

if TYPE_CHECKING:
    from keyaction.cases.layout.within import Within
    from keyaction.models.historic.historic import Historic


def read_case(
    path_or_name: str | Path,
    parts: Mapping[str, type[Part]] = PARTS,
    set_: Settings | None = None,
    within: Within | None = None,
) -> Case:
    """Read and check a case, with other values than the file's if you like.

    Parameters
    ----------
    path_or_name : str or Path
        A case file, or the name of a case that ships with the program.
    parts : mapping of str to type of Part
        The kinds of part there are.
    set_ : mapping of str to scalar, or sequence of (str, scalar), optional
        Values that go over the file's for the whole compass, overrides of single notes included: ``PART.FIELD``,
        ``strokes.FIELD``, ``materials.NAME.PROPERTY``, ``MEMBER.FIELD``, ``rail.FIELD`` or ``season.FIELD``, each
        with its unit, as ``[set]`` of a study and
        ``keyaction compare --set`` have them. The later of two wins.
    within : Within, optional
        What an instrument gives to the case of a division: its keyboard, tables that go over the case's [layout],
        materials, and settings below `set_`.

    Returns
    -------
    Case
        With every value in SI units.

    Raises
    ------
    keyaction.CaseProblem
        If anything is wrong; it lists every defect of the file, of the CSV files beside it and of what is set.
    TypeError
        If `set_` is neither a mapping nor pairs.

    Examples
    --------
    >>> import keyaction as ka
    >>> case = ka.read_case("demo-wood", set_={"roller.width": "24 mm", "materials.redcedar.E": "8 GPa"})
    >>> case.part("roller").fields["width"][60].value  # m, at C4
    0.024
    >>> try:
    ...     ka.read_case("demo-wood", set_={"roler.width": "24 mm"})
    ... except ka.CaseProblem as problem:
    ...     print(problem)
    demo-wood.toml: set, field 'roler.width' = "24 mm": unknown part 'roler'; did you mean 'roller'?
    """
    settings = pairs(set_ or ())
    path = find_case(path_or_name)
    text, data, _ = opened(path)
    return case_from(path, text, data, parts, settings, within)


def case_from(
    path: Path,
    text: str,
    data: Mapping[str, Any],
    parts: Mapping[str, type[Part]] = PARTS,
    settings: Sequence[tuple[str, Scalar]] = (),
    within: Within | None = None,
) -> Case:
    """A case from the tables of its file, which may have been changed since they were read.

    Parameters
    ----------
    path : Path
        Of the file; CSV files are looked for beside it.
    text : str
        What the case is to have as its text.
    data : mapping
        Tables as TOML gives them, of a format that this version reads.
    parts, settings, within
        As of `read_case`.

    Raises
    ------
    keyaction.CaseProblem
        With every defect.
    """
    place = Place(path.name, "", [])
    check_format(place, data)
    check_top(path, place, data)
    header, context = _context(path, place, data, within)
    drafts = read_train(context, place, data.get("train"), parts)
    apply_notes(context, place, table_of(place, data, "notes"), drafts)
    strokes = stroke_courses(context, place.at(TABLE), table_of(place, data, "strokes"))
    seasons = seasons_said(context, place, data, drafts)
    tables = seasons.tables if seasons else ()
    common = within.settings if within else ()
    if within is not None:
        context = apply_settings(context, Place(within.instrument, "", place.log), common, drafts, strokes, tables)
    context = apply_settings(context, place, settings, drafts, strokes, tables)
    laid = lay(context, place, data, within, drafts)
    framed = framed_by(context, place, path, seasons, drafts, laid)
    check_speeds(place.at(TABLE), strokes)
    reach = {one.name: Reach(one.part.fields, one.courses) for one in drafts if one.part}
    spreads = read_spreads(place, table_of(place, data, "spreads"), reach, context.library)
    historic = _historic(place, data, within, [one.name for one in drafts])
    if place.log:
        raise CaseProblem(path, place.log)
    whole = replace(context, compass=laid.compass)
    found = _finished(path, text, header, whole, drafts, strokes, (*common, *settings), framed.floats)
    return replace(
        found,
        spreads=spreads,
        warnings=(*found.warnings, *laid.warnings, *framed.warnings),
        frame=framed.frame,
        layout=laid.layout,
        drawn=laid.drawn,
        within=within,
        historic=historic,
    )


def _historic(place: Place, data: Mapping[str, Any], within: Within | None, parts: Sequence[str]) -> Historic | None:
    """What is historic: as the case says itself, else as its instrument does, whose defects are told there."""
    if TABLE_HISTORIC in data:
        return read_historic(place, data[TABLE_HISTORIC], parts)
    if within is None or not within.historic:
        return None
    common, _ = read_of_instrument(Place("", "", []), dict(within.historic), (), ())
    return of_division(common, parts)


def _context(path: Path, place: Place, data: Mapping[str, Any], within: Within | None) -> tuple[Header, Context]:
    """Title, compass, materials and CSV files; the title's table is read before the compass is known."""
    unknown = Compass.unknown("scientific")
    bare = Context(unknown, default_library(), Shelf(path.parent, unknown, place.log))
    header = read_header(bare, place, data, path.stem)
    compass = read_compass(place, data, header.naming)
    tables, library = table_of(place, data, "materials"), default_library()
    if within is not None:
        common = {name: table for name, table in within.materials.items() if name not in tables}
        library = own_materials(Place(within.instrument, "", place.log), common, library)
    library = own_materials(place, tables, library)
    return header, Context(compass, library, Shelf(path.parent, compass, place.log))


def _finished(
    path: Path,
    text: str,
    header: Header,
    context: Context,
    drafts: list[Draft],
    strokes: dict[str, Course],
    settings: tuple[tuple[str, Scalar], ...],
    floats: bool,
) -> Case:
    compass = context.compass
    tables = [(train_table(one), usual_on(one.part.fields, floats), one.courses) for one in drafts if one.part]
    tables.append((TABLE, STROKE_FIELDS, strokes))
    outside = [line for table, fields, own in tables for line in unusual(path.name, table, fields, own, compass)]
    return Case(
        path=path,
        text=text,
        title=header.title,
        description=header.description,
        naming=compass.naming,
        compass=compass.notes,
        parts=tuple(PartSpec(one.kind, one.name, one.part, one.courses, one.after) for one in drafts if one.part),
        library=context.library,
        strokes=make_strokes(strokes),
        files=dict(context.shelf.texts),
        settings=settings,
        warnings=tuple(outside),
    )
