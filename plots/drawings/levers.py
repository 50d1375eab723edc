"""Keys, squares and backfalls as they are made: true arms, the angle between them, splay and stock."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from keyaction.cases.action.case import Case, PartSpec
from keyaction.models.instrument.layout import Layout
from keyaction.models.instrument.measure import arms, between, lean
from keyaction.models.notes import Naming, note_name
from keyaction.plots.drawings.cuts import turn_of
from keyaction.plots.drawings.stock import number, words
from keyaction.sim.tables.sheet import Cell, Column, Sheet

_MM = 1000.0
_ARMS = (("in_arm", "out_arm"), ("front", "arm"))
"""Fields of levers and of keys that say how long their arms are."""
_NO_LEVERS = ("roller", "pallet")


@dataclass(frozen=True)
class LeverCut:
    """A key or a lever as it is made; m and radians.

    Parameters
    ----------
    note : int
    part, kind : str
    arms : (float, float)
        True lengths, square to the axis or slantwise as it stands: nearer the finger (of a key from its pivot to where
        the finger presses), and nearer the pallet.
    between : float
        Angle between the two arms, 0 to pi; NaN where no path is drawn.
    splay : float
        Out of the side plane; NaN where no path is drawn.
    drawn : bool
        Whether the arms follow from the layout; else the case gives them.
    material : str
    width, thickness : float
        NaN where the case does not say; of a key its height stands as thickness.
    """

    note: int
    part: str
    kind: str
    arms: tuple[float, float]
    between: float
    splay: float
    drawn: bool
    material: str
    width: float
    thickness: float


def lever_cuts(case: Case, layout: Layout) -> list[LeverCut]:
    """Keys and levers of every note but rollers, from the finger on."""
    return [cut for note in sorted(layout.places) for cut in _of_note(case, layout, note)]


def _of_note(case: Case, layout: Layout, note: int) -> Iterator[LeverCut]:
    for part in case.parts:
        given = _given(part, note)
        if part.kind in _NO_LEVERS or given is None:
            continue
        turn = turn_of(layout.paths.get(note), part.name)
        drawn = turn is not None and turn.in_end is not None and turn.out_end is not None
        angle = between(turn) if turn else None
        thick = number(part, note, "thickness")
        yield LeverCut(
            note,
            part.name,
            part.kind,
            arms(turn) if turn and drawn else given,
            math.nan if angle is None else angle,
            lean(turn) if turn and drawn else math.nan,
            drawn,
            words(part, note, "material"),
            number(part, note, "width"),
            number(part, note, "height") if math.isnan(thick) else thick,
        )


def _given(part: PartSpec, note: int) -> tuple[float, float] | None:
    """Arms as the case gives them; None of what has not two."""
    for first, second in _ARMS:
        if first in part.fields and second in part.fields:
            return number(part, note, first), number(part, note, second)
    return None


def levers_sheet(cuts: Sequence[LeverCut], naming: Naming) -> Sheet:
    """A row for each key and lever of each note."""
    columns = [Column(name, text=True) for name in ("note", "part", "kind")]
    columns += [Column("in arm", "mm", 2), Column("out arm", "mm", 2)]
    columns += [Column("between the arms", "deg", 2), Column("splay", "deg", 2), Column("material", text=True)]
    columns += [Column("width", "mm", 2), Column("thickness", "mm", 2), Column("arms", text=True)]
    rows: list[Sequence[Cell]] = []
    for cut in cuts:
        row: list[Cell] = [note_name(cut.note, naming), cut.part, cut.kind, *(_MM * arm for arm in cut.arms)]
        row += [math.degrees(cut.between), math.degrees(cut.splay), cut.material, _MM * cut.width]
        rows.append([*row, _MM * cut.thickness, "of the layout" if cut.drawn else "as the case gives it"])
    note = (
        "Arms: true lengths from the middle of the axis to the point that carries load; of what stands slantwise "
        "longer than seen from the side, by 1 / cos of the splay. In arm: nearer the finger, of a key from its pivot "
        "to where the finger presses. Wood beyond those points is not in them. Thickness: of a key its height."
    )
    return Sheet("levers", "Keys and levers to make", columns, rows, note)
