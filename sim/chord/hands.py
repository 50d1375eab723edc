"""Drives of several keys beside each other: begun later, held on, and ended together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from keyaction.sim.motion.drives import Drive, Piece, quintic


def later(drive: Drive, by: float) -> Drive:
    """The same drive begun later, by some seconds in which the finger rests on the key.

    Raises
    ------
    ValueError
        If it would begin earlier.
    """
    if not by >= 0.0:
        raise ValueError(f"a drive begun by {by:g} s later; it must be 0 or above")
    if by == 0.0:
        return drive
    first = drive.pieces[0]
    before = Piece(0.0, by, first.way[:1], first.force[:1])
    moved = tuple(replace(one, start=one.start + by, end=one.end + by) for one in drive.pieces)
    marks = tuple((name, at + by) for name, at in drive.marks)
    changes = tuple(replace(one, start=one.start + by, end=one.end + by) for one in drive.changes)
    return replace(drive, pieces=(before, *moved), marks=marks, changes=changes)


def held(down: float, depth: float, hold: float, stiffness: float) -> Drive:
    """A key taken down (least jerk, m and s) and held to the end by a finger of some N/m, which is marked ``lift``."""
    pieces = (quintic(0.0, down, 0.0, depth), Piece(down, down + hold, (depth,)))
    return Drive("motion", pieces, stiffness, marks=(("press", 0.0), ("bottom", down), ("lift", down + hold)))


def even(drives: Sequence[Drive]) -> list[Drive]:
    """The drives with their last places kept until the longest of them ends."""
    end = max(drive.end for drive in drives)
    return [_until(drive, end) for drive in drives]


def _until(drive: Drive, end: float) -> Drive:
    last = drive.pieces[-1]
    if drive.end >= end:
        return drive
    if len(last.way) == len(last.force) == 1:
        return replace(drive, pieces=(*drive.pieces[:-1], replace(last, end=end)))
    kept = Piece(last.end, end, (last.way_at(last.end),), (last.force_at(last.end),))
    return replace(drive, pieces=(*drive.pieces, kept))
