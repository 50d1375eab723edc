"""Pictures of a report: of its notes, of its compass, and drawings of what is laid out."""

from __future__ import annotations

import base64
import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from keyaction.models.units.quantity import System
from keyaction.sim.figures.pallets import has_pallets
from keyaction.sim.files.labelled import Result

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from keyaction.cases.action.case import Case

DPI = 150


@dataclass(frozen=True)
class Picture:
    """A picture in the page: its bytes, what it shows, whether it may be smaller on paper to share a page, its kind."""

    name: str
    title: str
    content: bytes
    short: bool = False
    kind: str = "png"

    @property
    def uri(self) -> str:
        return f"data:image/{self.kind};base64,{base64.b64encode(self.content).decode('ascii')}"


def png(figure: Figure) -> bytes:
    """A figure as PNG."""
    out = io.BytesIO()
    figure.savefig(out, format="png", dpi=DPI)
    return out.getvalue()


def pictures_of(result: Result, notes: Sequence[str], middle: str, units: System) -> list[Picture]:
    """The middle note's slow press first; then the compass, and what else stands for the whole, in an order for A4."""
    from keyaction.plots import budgets, budgets_compass, compass, coupled_compass, feel_curve, slow_press, stroke_path

    others = [note for note in notes if note != middle]
    ends = [
        ("budgets", "Budgets over the compass", budgets_compass(result, units)),
        (f"path-{middle}", f"The path of a stroke, {middle}", stroke_path(result, middle, units)),
    ]
    if len(others) % 2:  # two low pictures share a page, and an odd one with the path
        ends.reverse()
    coupled = [("coupled", "Pallets of coupled keys over the compass", coupled_compass(result, units))]
    pictures = [
        (f"slow-{middle}", f"Feel curve of {middle}", slow_press(result, middle, units)),
        ("compass", "Over the compass", compass(result, units)),
        *(coupled if has_pallets(result) else []),
        (f"feel-{middle}", f"Feel curve of {middle}, slow and at speed", feel_curve(result, middle, units)),
        (f"budget-{middle}", f"What gives way and what weighs, {middle}", budgets(result, middle, units)),
        *((f"slow-{note}", f"Feel curve of {note}", slow_press(result, note, units)) for note in others),
        *ends,
    ]
    return [Picture(name, title, png(figure), name.startswith("budget-")) for name, title, figure in pictures]


def drawings_of(case: Case, middle: int) -> list[Picture]:
    """Plan, roller board or fan, and the side view of one note, of a case with a layout."""
    if case.layout is None:
        return []
    from keyaction.plots.drawings.save import page_drawings  # here, because few cases are laid out

    return [Picture(name, title, svg, kind="svg+xml") for name, title, svg in page_drawings(case, [middle])]
