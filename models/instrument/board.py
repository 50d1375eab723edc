"""The roller board: rollers on rows, with their bearings, so that no rod crosses another roller's arm."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True)
class BoardSizes:
    """What a board is made to.

    Parameters
    ----------
    row : float
        From row to row, m.
    clearance : float
        Least distance between the middle lines of a rod and of another roller's arm, m.
    inset : float
        Along the shaft from the middle of an arm to the middle of the bearing beside it, m.
    bearing : float
        Thickness of a bearing along the shaft, m.
    apart : float
        Least gap between the bearings of two rollers of one row, m; below zero neighbours share one.
    shortest : float
        Least distance between the two arms of a shaft, m.
    height : float, optional
        Room that there is across the rows, m.
    keys, pallets : {"below", "above"}
        From which side the rods of the keys come, and to which those of the pallets go; seen from the player, of a
        level board nearer the player is below.
    stands : {"upright", "level"}
        Whether its rows lie one above the other, or one behind the other.
    bearings_in_the_way : bool
        Whether bearings stand as high as the plane of the rods, which then may not cross them.
    aside : float
        How far a pallet's rod may stand beside its line where it crosses the board, and its arm with it, to free
        rollers that would hold each other fast, m; beyond the board the rod slants.
    inside : bool
        Whether the bearings stand between the arms: those of a wire whose ends are bent over.
    wire : float
        Thickness of such a wire, by which its arms reach beyond their middle lines, m.
    """

    row: float
    clearance: float
    inset: float
    bearing: float
    apart: float
    shortest: float
    height: float | None = None
    keys: Literal["below", "above"] = "below"
    pallets: Literal["below", "above"] = "above"
    stands: Literal["upright", "level"] = "upright"
    bearings_in_the_way: bool = False
    aside: float = 0.0
    inside: bool = False
    wire: float = 0.0


@dataclass(frozen=True)
class RollerPlace:
    """One roller on its board.

    Parameters
    ----------
    note : int
    row : int
        From 0, the lowest (of a level board the nearest to the player).
    key, pallet : float
        Across, of its two arms, m.
    bearings : (float, float)
        Across, of the middles of its bearings, left and right, m.
    """

    note: int
    row: int
    key: float
    pallet: float
    bearings: tuple[float, float]

    @property
    def length(self) -> float:
        """Between the two arms, m."""
        return abs(self.pallet - self.key)

    @property
    def alone(self) -> bool:
        """Whether there is one bearing, in the middle, for want of room for two."""
        return self.bearings[0] == self.bearings[1]


@dataclass(frozen=True)
class Board:
    """A board with its rollers.

    Parameters
    ----------
    sizes : BoardSizes
    rollers : mapping of int to RollerPlace
        By note.
    rows : int
    density : int
        Most rollers side by side anywhere: no board has fewer rows.
    chain : int
        Longest chain of rollers of which each must lie above the last: no board has fewer rows either.
    best : bool
        Whether `rows` is proved to be the fewest.
    """

    sizes: BoardSizes
    rollers: Mapping[int, RollerPlace]
    rows: int
    density: int
    chain: int
    best: bool

    @property
    def height(self) -> float:
        """Room that the rows need, half a row's pitch beyond the outer axes, m."""
        return self.rows * self.sizes.row

    def offset(self, note: int) -> float:
        """How far the note's axis lies above (of a level board behind) the middle of the board, m."""
        return (self.rollers[note].row - (self.rows - 1) / 2) * self.sizes.row
