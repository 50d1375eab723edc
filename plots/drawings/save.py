"""A division's drawings and cutting lists as files."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from keyaction._version import __version__
from keyaction.cases.action.case import Case
from keyaction.models.instrument.layout import Layout
from keyaction.models.notes import note_name
from keyaction.plots.drawings.board import ARM, board_drawing, edges
from keyaction.plots.drawings.cuts import ALLOWANCE, END_PLAY, RodCut, RollerCut, rod_cuts, roller_cuts, roller_part
from keyaction.plots.drawings.drawing import Drawing
from keyaction.plots.drawings.dxf import MISSING, NoDxf, dxf, library
from keyaction.plots.drawings.fan import fan_drawing
from keyaction.plots.drawings.foot import Titles
from keyaction.plots.drawings.lists import as_csv, rods_sheet, rollers_sheet, totals_sheet
from keyaction.plots.drawings.paper import Scale, read_paper, read_scale
from keyaction.plots.drawings.pdf import pdf
from keyaction.plots.drawings.plan import plan
from keyaction.plots.drawings.sheet import best_page
from keyaction.plots.drawings.side import side_view
from keyaction.plots.drawings.stock import number
from keyaction.plots.drawings.svg import svg
from keyaction.sim.figures.stand_for import standing_for
from keyaction.sim.files.folders import refuse_unusable, staged

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
        ``plan``, ``board`` or ``fan``, and ``side-NOTE`` in each format; ``rollers.csv``, ``rods.csv``, ``totals.csv``.

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
