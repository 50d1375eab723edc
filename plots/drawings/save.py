"""A division's drawings and cutting lists as files."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from keyaction._version import __version__
from keyaction.cases.action.case import Case
from keyaction.models.instrument.layout import Layout
from keyaction.models.notes import note_name
from keyaction.plots.drawings.board import ARM, board_drawing, edges
from keyaction.plots.drawings.boxes import about
from keyaction.plots.drawings.cuts import ALLOWANCE, END_PLAY, RodCut, RollerCut, rod_cuts, roller_cuts, roller_part
from keyaction.plots.drawings.drawing import Drawing
from keyaction.plots.drawings.dxf import MISSING, NoDxf, dxf, library
from keyaction.plots.drawings.fan import fan_drawing
from keyaction.plots.drawings.foot import Titles
from keyaction.plots.drawings.levers import lever_cuts, levers_sheet
from keyaction.plots.drawings.lists import as_csv, rods_sheet, rollers_sheet, totals_sheet
from keyaction.plots.drawings.paper import BadSheet, Scale, near, read_paper, read_scale
from keyaction.plots.drawings.pdf import pdf
from keyaction.plots.drawings.plan import plan
from keyaction.plots.drawings.sheet import Motif, Page, best_page, best_pages
from keyaction.plots.drawings.side import side_views
from keyaction.plots.drawings.stock import number
from keyaction.plots.drawings.svg import svg
from keyaction.sim.figures.stand_for import standing_for
from keyaction.sim.files.folders import refuse_unusable, staged
from keyaction.sim.files.taken import DRAWING, is_one

_DRAWN_NAME = re.compile(r"plan|board|fan|side-.+")
FORMATS = ("svg", "pdf", "dxf")
"""What a drawing is written as."""


class NothingToDraw(ValueError):
    """A case without a layout; the message says so in one sentence."""


@dataclass(frozen=True)
class Saved:
    """What was written.

    Attributes
    ----------
    files : tuple of Path
        Drawings and cutting lists, by name.
    remarks : tuple of str
        What the user should hear: what was left out, and why.
    """

    files: tuple[Path, ...]
    remarks: tuple[str, ...]


@dataclass(frozen=True)
class _Order:
    """What is to be drawn, and how."""

    case: Case
    layout: Layout
    rollers: Sequence[RollerCut]
    rods: Sequence[RodCut]


def save_drawings(
    case: Case,
    folder: Path,
    notes: Sequence[int] | None = None,
    paper: str | None = None,
    scale: str | None = None,
    formats: Sequence[str] | None = None,
    allowance: float = ALLOWANCE,
    end_play: float = END_PLAY,
) -> Saved:
    """Draw a division to scale and write drawings and cutting lists into a folder, all of them or none.

    Parameters
    ----------
    case : Case
        With a layout.
    folder : Path
        Made if it is not there; files of the same name and kind are replaced.
    notes : sequence of int, optional
        Notes that get a side view; by default the lowest, middle and highest C, or note where there is no C.
    paper : str, optional
        ``"A4"`` to ``"A0"``; by default the smallest on which lettering has room.
    scale : str, optional
        For instance ``"1:5"``; by default the largest of ISO 5455 that fits the paper, up to full size. Where a
        drawing does not fit its paper at the scale asked for, the PDF is printed in tiles and the SVG is one sheet.
    formats : sequence of str, optional
        Of ``"svg"``, ``"pdf"`` and ``"dxf"``; by default all. DXF is always 1:1.
    allowance : float
        m that rods are left longer at each end.
    end_play : float
        m by which shafts are shorter than there is room between their bearings.

    Returns
    -------
    Saved
        ``plan``, ``board`` or ``fan``, and ``side-NOTE`` in each format; ``rollers.csv``, ``rods.csv``,
        ``levers.csv``, ``totals.csv``.

    Raises
    ------
    NothingToDraw
        If the case has no layout; nothing is then written, here and below.
    BadSheet
        If paper, scale or format is not known.
    BadAllowance
        If an allowance leaves nothing of a piece.
    KeyError
        If a note has no path.
    NoDxf
        If DXF is asked for by name and ezdxf is not installed.
    FileProblem
        If something cannot be written.
    Taken
        If other files have those names.
    """
    layout = case.layout
    if layout is None:
        raise NothingToDraw(f"{case.path.name} has no [layout]: there is nothing to draw to scale")
    paper, wanted = read_paper(paper) if paper else None, read_scale(scale) if scale else None
    kinds, remarks = _kinds(formats)
    refuse_unusable(folder)
    order = _Order(case, layout, roller_cuts(case, layout, end_play), rod_cuts(case, layout, allowance))
    told = list(_chosen(case, layout, notes))
    texts = dict(_lists(order, allowance, end_play))
    titles = _titles(case, layout)
    made: dict[str, bytes] = {name: text.encode() for name, text in texts.items()}
    for drawing, page in _pages(order, told, titles, paper, wanted):
        if "svg" in kinds:
            made[f"{drawing.name}.svg"] = svg(page).encode()
        if "pdf" in kinds:
            made[f"{drawing.name}.pdf"] = pdf(page, paper or "A4")
        if "dxf" in kinds:
            made[f"{drawing.name}.dxf"] = dxf(drawing, titles).encode()
    with staged(folder) as stage:
        for name, content in made.items():
            (stage / name).write_bytes(content)
    gone = _swept(folder, made)
    return Saved(tuple(sorted(folder / name for name in made)), (*remarks, *_left_out(layout), *gone))


def _swept(folder: Path, made: Mapping[str, bytes]) -> list[str]:
    """Older drawings of this program take leave: beside new cutting lists they would mislead."""
    stale = [path for path in folder.iterdir() if path.name not in made and path.suffix[1:] in FORMATS]
    old = sorted(path for path in stale if _DRAWN_NAME.fullmatch(path.stem) and is_one(path, DRAWING))
    for path in old:
        path.unlink()
    return [f"Taken away, of an earlier state: {', '.join(path.name for path in old)}."] if old else []


def page_drawings(case: Case, notes: Sequence[int]) -> list[tuple[str, str, bytes]]:
    """The drawings of a division for a page that shows them as large as it can.

    Parameters
    ----------
    case : Case
    notes : sequence of int
        Notes that get a side view, where paths are drawn.

    Returns
    -------
    list of (str, str, bytes)
        Name, title and SVG of each; empty for a case without a layout.
    """
    layout = case.layout
    if layout is None:
        return []
    order = _Order(case, layout, roller_cuts(case, layout, END_PLAY), rod_cuts(case, layout, ALLOWANCE))
    titles = _titles(case, layout)
    drawn = [note for note in notes if note in layout.paths]
    return [(drawing.name, page.title, svg(page).encode()) for drawing, page in _pages(order, drawn, titles)]


def _titles(case: Case, layout: Layout) -> Titles:
    whole = case.within.title if case.within else ""
    return Titles(case.title, layout.division, f"{case.path.name}, keyaction {__version__}", whole)


def _kinds(formats: Sequence[str] | None) -> tuple[set[str], list[str]]:
    """Formats to write, and what to say of one that is left out."""
    if formats is not None:
        unknown = [one for one in formats if one not in FORMATS]
        if unknown:
            raise BadSheet(f"format '{unknown[0]}' is not known: {', '.join(FORMATS)}{near(unknown[0], FORMATS)}")
        if "dxf" in formats:
            library()
        return set(formats), []
    try:
        library()
    except NoDxf:
        return set(FORMATS) - {"dxf"}, [f"No DXF was written. {MISSING}"]
    return set(FORMATS), []


def _chosen(case: Case, layout: Layout, notes: Sequence[int] | None) -> Iterator[int]:
    """Notes that get a side view."""
    drawn = sorted(layout.paths)
    if notes is None:
        yield from (drawn[row] for row in standing_for(drawn, [True] * len(drawn))) if drawn else ()
        return
    for note in notes:
        if note not in layout.paths:
            raise KeyError(f"no path of {note_name(note, case.naming)} is drawn")
        yield note


def _pages(
    order: _Order, notes: Sequence[int], titles: Titles, paper: str | None = None, scale: Scale | None = None
) -> Iterator[tuple[Drawing, Page]]:
    """All sheets; the side views alike in scale and paper."""
    for motif in _wholes(order):
        yield best_page(motif, titles, paper, scale)
    layout = order.layout
    sides = [
        Motif(partial(_sides, order, note), _size([turn.near[1:] for turn in layout.paths[note].turns]))
        for note in notes
    ]
    if sides:
        yield from best_pages(sides, titles, paper, scale)


def _wholes(order: _Order) -> Iterator[Motif]:
    """What is drawn of the whole division, with what it takes up."""
    layout, board = order.layout, order.layout.board
    whole = [
        point for place in layout.places.values() for point in ((place.key, 0.0), (place.pallet, layout.chest.back))
    ]
    yield Motif(partial(_plans, order), _size(whole))
    if board is not None and order.rollers:
        left, right = edges(board)
        yield Motif(partial(_boards, order), (1000 * (right - left), 1000 * board.height))
    if layout.splayed and layout.paths:
        yield Motif(partial(_fans, order), (0.0, 0.0))


def _size(points: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Width and height that points (m) take up, mm."""
    box = about(points)
    return 1000 * box.width, 1000 * box.height


def _plans(order: _Order, scale: Scale) -> list[Drawing]:
    return [plan(order.case, order.layout, scale)]


def _boards(order: _Order, scale: Scale) -> list[Drawing]:
    board = order.layout.board
    part, note = roller_part(order.case), order.rollers[0].note
    arm = [number(part, note, field) for field in ("arm_thickness", "arm_width")]
    sizes = (arm[0] if arm[0] > 0 else ARM[0], arm[1] if arm[1] > 0 else ARM[1])
    if board is None:
        return []
    return [board_drawing(board, order.rollers, scale, order.case.naming, sizes, order.layout.remarks)]


def _fans(order: _Order, scale: Scale) -> list[Drawing]:
    drawn = fan_drawing(order.layout, scale, order.case.naming)
    return [drawn] if drawn else []


def _sides(order: _Order, note: int, scale: Scale) -> list[Drawing]:
    rods = [rod for rod in order.rods if rod.note == note]
    return side_views(order.case, order.layout, note, scale, rods, order.rollers)


def _lists(order: _Order, allowance: float, end_play: float) -> Iterator[tuple[str, str]]:
    """Cutting lists as CSV."""
    board, naming = order.layout.board, order.case.naming
    if board is not None and order.rollers:
        left = edges(board)[0]
        edge = f"Left edge of the board: {1000 * left:.2f} mm across."
        yield "rollers.csv", as_csv(rollers_sheet(order.rollers, naming, end_play, left), [edge])
    yield "rods.csv", as_csv(rods_sheet(order.rods, naming, allowance))
    if levers := lever_cuts(order.case, order.layout):
        yield "levers.csv", as_csv(levers_sheet(levers, naming))
    yield "totals.csv", as_csv(totals_sheet(order.rollers, order.rods))


def _left_out(layout: Layout) -> Iterator[str]:
    """What could not be drawn, and why."""
    if not layout.paths:
        told = "no side views, and rods as long as the case gives them"
        fan = " and no fan" if layout.splayed else ""
        yield f"[layout.run] does not give the places of all axes: {told}{fan}."
