"""Lays the rollers of a board on rows: a channel of which rollers are the nets and rows the tracks."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from itertools import pairwise

from keyaction.models.instrument.board import Board, BoardSizes, RollerPlace
from keyaction.models.instrument.channel import SLACK, Net, RingOfNets, route
from keyaction.models.instrument.crossing import Crossing, crossings, too_near
from keyaction.models.instrument.freeing import eased, fast
from keyaction.models.instrument.place import Place
from keyaction.models.instrument.problem import LayoutProblem
from keyaction.models.instrument.stands import Stand, stand_all


def lay_board(places: Mapping[int, Place], sizes: BoardSizes, names: Callable[[int], str] = str) -> Board:
    """Lay a division's rollers on as few rows as can be found.

    A roller has an arm in its key's line and one in its pallet's, and a bearing outside each; of a wire with its ends
    bent over inside each, or one in the middle where there is no room for two. No rod passes another roller's arm
    nearer than the clearance (nor its bearing, where these stand in the plane of the rods); rollers of one row keep
    their gap. Where the gap is below zero and two bearings would overlap, the two rollers share one, midway between
    the two places. A note whose key stands (nearly) straight under its pallet has its arms at the least distance, out
    of their lines (`stands.stand_all`); `key` and `pallet` of its roller are then not those of its place.

    Parameters
    ----------
    places : mapping of int to Place
        By note; none is an empty board.
    sizes : BoardSizes
    names : callable, optional
        What a note is called.

    Returns
    -------
    Board
        The same for the same places.

    Raises
    ------
    LayoutProblem
        If rods of one edge stand nearer than the clearance, if rollers hold each other fast (with the smallest shift of
        a pallet that frees them), if the arms of a short roller have no room, or if neighbours would share more than a
        bearing.
    """
    if sizes.inside and sizes.apart < -SLACK:
        raise LayoutProblem(
            [f"board.apart = {sizes.apart * 1e3:g} mm: wires bent at both ends share no bearing; allowed from 0 mm"]
        )
    if sizes.apart < -sizes.bearing - SLACK:
        raise LayoutProblem(
            [
                f"board.apart = {sizes.apart * 1e3:g} mm: neighbours that share a bearing of "
                f"{sizes.bearing * 1e3:g} mm overlap by no more than that; allowed from {-sizes.bearing * 1e3:g} mm"
            ]
        )
    stands, defects = stand_all(places, sizes, names)
    defects += too_near(stands.values(), names)
    if defects:
        raise LayoutProblem(defects)
    pairs = crossings(stands.values())
    if sizes.aside > 0 and (free := eased(stands, pairs)):
        stands, pairs = free, crossings(free.values())
    try:
        routing = route([Net(note, *stand.ends) for note, stand in stands.items()], pairs, sizes.apart)
    except RingOfNets:
        raise LayoutProblem(fast(stands, pairs, names)) from None
    rows = _long_first({note: routing.tracks[note] for note in stands}, stands, pairs)
    bearings = _bearings(stands, rows)
    rollers = {
        note: RollerPlace(note, rows[note], stand.key, stand.pallet, bearings[note]) for note, stand in stands.items()
    }
    return Board(sizes, rollers, routing.count, routing.density, routing.chain, routing.best)


def _long_first(rows: Mapping[int, int], stands: Mapping[int, Stand], pairs: Iterable[Crossing]) -> dict[int, int]:
    """The same rows, put one above the other long to short as far as rods let them, the row of the longest lowest.

    So rollers of like length lie beside each other, as W. E. Dickson, Practical Organ-Building, 1882, lays them.
    """
    longest = {row: max(abs(stands[n].pallet - stands[n].key) for n in rows if rows[n] == row) for row in rows.values()}
    below: dict[int, set[int]] = {row: set() for row in longest}
    for low, high in pairs:
        below[rows[high]].add(rows[low])
    place: dict[int, int] = {}
    while len(place) < len(below):
        ready = [row for row in below if row not in place and below[row] <= place.keys()]
        place[max(ready, key=lambda row: (longest[row], -row))] = len(place)
    return {note: place[row] for note, row in rows.items()}


def _bearings(stands: Mapping[int, Stand], rows: Mapping[int, int]) -> dict[int, tuple[float, float]]:
    """Middles of each roller's bearings; those that would overlap are one, midway."""
    found = {note: stand.bearings for note, stand in stands.items()}
    by_row = sorted(stands, key=lambda note: (rows[note], stands[note].ends))
    for left, right in pairwise(by_row):
        if rows[left] == rows[right] and stands[right].ends[0] < stands[left].ends[1] - SLACK:
            shared = (found[left][1] + found[right][0]) / 2
            found[left], found[right] = (found[left][0], shared), (shared, found[right][1])
    return found
