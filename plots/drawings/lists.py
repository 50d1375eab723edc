"""Cutting lists: rollers, rods, and what of each material is needed in all."""

from __future__ import annotations

import math
from collections.abc import Sequence

from keyaction.models.notes import Naming, note_name
from keyaction.plots.drawings.cuts import RodCut, RollerCut
from keyaction.plots.drawings.stock import Stock
from keyaction.sim.tables.sheet import Cell, Column, Sheet

_MM = 1000.0
_PLACES = 2
ACROSS = "Across: from the middle of the instrument, to the right as the player sees it above zero."


def rollers_sheet(cuts: Sequence[RollerCut], naming: Naming, end_play: float, left_edge: float) -> Sheet:
    """A row for each roller.

    Parameters
    ----------
    cuts : sequence of RollerCut
    naming : {"scientific", "trade", "german"}
    end_play : float
        m.
    left_edge : float
        Across, of the left edge of the board, m.
    """
    lengths = ("between arms", "shaft", "cut", "key arm, across", "pallet arm, across", "left bearing, across")
    more = ("right bearing, across", "key arm from left edge", "pallet arm from left edge")
    last = ("left bearing from left edge", "right bearing from left edge", "length of key arm", "length of pallet arm")
    columns = [
        Column("note", text=True),
        Column("row", text=True),
        *(_mm(name) for name in lengths),
        *(_mm(name) for name in more),
        *(_mm(name) for name in last),
        Column("key arm at end", text=True),
        Column("ends", text=True),
        Column("between the arms about the shaft", "deg", 1),
        Column("material", text=True),
        Column("section", text=True),
    ]
    rows: list[Sequence[Cell]] = []
    for cut in cuts:
        places = (cut.key, cut.pallet, *cut.bearings)
        sizes = (cut.between, cut.shaft, cut.cut, *places, *(place - left_edge for place in places), *cut.arms)
        row: list[Cell] = [note_name(cut.note, naming), str(cut.row), *(_MM * size for size in sizes)]
        rows.append([*row, cut.key_end, _ends(cut), math.degrees(cut.turned), cut.stock.material, cut.stock.section])
    note = (
        f"Rows count from below. {ACROSS} Between arms: from middle to middle. Shaft: between the faces of the "
        f"bearings less {_MM * end_play:g} mm end play in all (common practice), without the pins in its ends."
    )
    if any(cut.bent for cut in cuts):
        note += (
            " Of a wire with bent ends: shaft: its straight piece, from middle to middle of the arms; cut: that and "
            "both arms, along the middle of the wire with sharp bends. Nothing is added or taken off for bends, nor "
            "for what hooks on at the arms' ends: bend one as a trial. Its bearings stand between the arms."
        )
    return Sheet("rollers", "Rollers to cut", columns, rows, note)


def rods_sheet(cuts: Sequence[RodCut], naming: Naming, allowance: float) -> Sheet:
    """A row for each rod of each note."""
    columns = [
        Column("note", text=True),
        Column("part", text=True),
        Column("kind", text=True),
        _mm("between ends"),
        _mm("allowance at each end"),
        _mm("cut"),
        Column("splay", "deg", _PLACES),
        Column("slope", "deg", _PLACES),
        Column("material", text=True),
        Column("section", text=True),
        Column("length", text=True),
    ]
    rows: list[Sequence[Cell]] = []
    for cut in cuts:
        row: list[Cell] = [note_name(cut.note, naming), cut.part, cut.kind]
        row += [_MM * size for size in (cut.between, cut.allowance, cut.cut)]
        row += [math.degrees(cut.splay), math.degrees(cut.slope), cut.stock.material, cut.stock.section]
        rows.append([*row, "of the layout" if cut.drawn else "as the case gives it"])
    note = (
        "Between ends: from point to point that carries load, at rest. Cut: that and an allowance of "
        f"{_MM * allowance:g} mm at each end for hooks, wires and fitting (common practice; below zero where fittings "
        "reach beyond the wood). Splay: out of the side plane. Slope: from level, rising from the key on above zero."
    )
    return Sheet("rods", "Rods to cut", columns, rows, note)


def totals_sheet(rollers: Sequence[RollerCut], rods: Sequence[RodCut]) -> Sheet:
    """What of each material and section is needed in all."""
    pieces: dict[tuple[str, str, str], list[tuple[float, Stock]]] = {}
    for roller in rollers:
        pieces.setdefault(("roller", roller.stock.material, roller.stock.section), []).append(
            (roller.cut, roller.stock)
        )
    for rod in rods:
        pieces.setdefault((rod.part, rod.stock.material, rod.stock.section), []).append((rod.cut, rod.stock))
    columns = [Column(name, text=True) for name in ("part", "material", "section")]
    columns += [Column("pieces", text=True), Column("cut in all", "m", 3), _mm("longest"), Column("mass", "g", 1)]
    rows: list[Sequence[Cell]] = []
    for (part, material, section), found in pieces.items():
        lengths = [length for length, _ in found]
        mass = sum(length * made.mass for length, made in found)
        row: list[Cell] = [part, material, section, str(len(found)), sum(lengths), _MM * max(lengths), 1000 * mass]
        rows.append(row)
    bent = any(roller.bent for roller in rollers)
    arms = "rollers of wire with their bent arms" if bent else "rollers without arms and pins"
    note = f"Rollers and rods alone: keys and levers are in levers.csv. Without waste and saw kerfs; {arms}."
    return Sheet("totals", "Material in all", columns, rows, note)


def _ends(cut: RollerCut) -> str:
    """What is done to the ends of a shaft."""
    if not cut.bent:
        return ""
    key, pallet = (f"{_MM * arm:.5g} mm" for arm in cut.arms)
    return f"both bent over: {key} for the key's rod, {pallet} for the pallet's"


def as_csv(sheet: Sheet, remarks: Sequence[str] = ()) -> str:
    """A sheet as CSV whose last lines, beginning with #, say what a reader must know."""
    told = [line for text in (sheet.title, sheet.note, *remarks) if (line := " ".join(text.split()))]
    return sheet.csv() + "".join(f"# {line}\n" for line in told)


def _mm(heading: str) -> Column:
    return Column(heading, "mm", _PLACES)
