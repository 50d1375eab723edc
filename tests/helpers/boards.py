"""Roller boards for the tests: drawn at random, and their bodies as polygons."""

from __future__ import annotations

from dataclasses import dataclass

from shapely import STRtree
from shapely.geometry import Polygon, box

from keyaction.models.instrument.board import Board, BoardSizes
from keyaction.models.instrument.place import Place

SIZES = BoardSizes(row=0.025, clearance=0.009, inset=0.012, bearing=0.010, apart=0.006, shortest=0.012)


def placed(*lines: tuple[float, float]) -> dict[int, Place]:
    """Places of notes from 60 on, from (key, pallet) in mm."""
    return {60 + i: Place(60 + i, key * 1e-3, pallet * 1e-3) for i, (key, pallet) in enumerate(lines)}


@dataclass(frozen=True)
class Body:
    """A polygon of a drawn board, of which note, and what."""

    note: int
    what: str
    shape: Polygon


def bodies(board: Board, places: dict[int, Place]) -> list[Body]:
    """Everything on a board, with arms and rods half a clearance thick on either side of their middle lines."""
    sizes, half = board.sizes, board.sizes.clearance / 2
    low, high = -sizes.row, board.rows * sizes.row
    found = []
    for roller in board.rollers.values():
        at, place = roller.row * sizes.row, places[roller.note]
        thick, reach = sizes.row * 0.2, sizes.row * 0.3
        left, right = roller.bearings
        found.append(Body(roller.note, "shaft", box(left, at - thick, right, at + thick)))
        for middle in roller.bearings:
            shape = box(middle - sizes.bearing / 2, at - reach, middle + sizes.bearing / 2, at + reach)
            found.append(Body(roller.note, "bearing", shape))
        ends = (("key", roller.key, place.key, sizes.keys), ("pallet", roller.pallet, place.pallet, sizes.pallets))
        for end, arm, line, edge in ends:
            found.append(Body(roller.note, f"{end} arm", box(arm - half, at - reach, arm + half, at + reach)))
            far = low if edge == "below" else high
            corners = [(arm - half, at), (arm + half, at), (line + half, far), (line - half, far)]
            found.append(Body(roller.note, f"{end} rod", Polygon(corners)))
    return found


def overlaps(board: Board, places: dict[int, Place]) -> list[tuple[Body, Body]]:
    """Bodies of two rollers that meet and must not."""
    drawn = bodies(board, places)
    if not drawn:
        return []
    tree, shared = STRtree([body.shape for body in drawn]), board.sizes.apart < 0
    pairs = ((drawn[i], drawn[j]) for i, j in tree.query([body.shape for body in drawn], predicate="intersects").T)
    return [
        (one, other)
        for one, other in pairs
        if one.note < other.note
        and one.shape.intersection(other.shape).area > 1e-12
        and not _may_meet(one, other, board.sizes.bearings_in_the_way, shared)
    ]


def _may_meet(one: Body, other: Body, bearings_in_the_way: bool, shared: bool) -> bool:
    """Rods run before shafts, and before bearings that do not stand as high; a bearing may be of two rollers."""
    kinds = {one.what.split()[-1], other.what.split()[-1]}
    if "rod" in kinds and ("shaft" in kinds or ("bearing" in kinds and not bearings_in_the_way)):
        return True
    if not shared or not kinds <= {"bearing", "shaft"}:
        return False
    # Of two that share a bearing it is one polygon, and the shafts end in its middle.
    return one.shape.equals_exact(other.shape, 1e-9) or ("shaft" in kinds and kinds != {"shaft"})
