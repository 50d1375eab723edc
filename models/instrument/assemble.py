"""A division laid out: places, board or fan, paths, and what follows for the fields of its train."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from keyaction.models.instrument import fan, measure
from keyaction.models.instrument.board import Board, BoardSizes, RollerPlace
from keyaction.models.instrument.chest import Chest
from keyaction.models.instrument.freeing import HELD, HELP
from keyaction.models.instrument.keyboard import Keyboard
from keyaction.models.instrument.layout import Layout
from keyaction.models.instrument.meeting import meeting_defects
from keyaction.models.instrument.path import Leg, Path
from keyaction.models.instrument.place import STRAIGHT, Place, places
from keyaction.models.instrument.problem import LayoutProblem
from keyaction.models.instrument.rollers import lay_board
from keyaction.models.instrument.run import ROLLER, Rod, Station
from keyaction.models.instrument.telling import notes_told, together
from keyaction.models.instrument.trace import trace
from keyaction.models.units.quantity import format_value

LEANING = math.radians(10)
"""Lean of a rod from plumb and from level beyond which it is told (common practice: runs go up, down and level)."""


def lay_out(
    division: str,
    keyboard: Keyboard,
    chest: Chest,
    order: str,
    stations: Mapping[int, tuple[Station, ...]],
    rods: tuple[Rod, ...],
    board: BoardSizes | None,
    splayed: str,
    names: Callable[[int], str],
    width: float = 0.0,
) -> Layout:
    """Lay out a division.

    Parameters
    ----------
    division : str
        Whose grooves of the chest; empty of an action case alone.
    keyboard : Keyboard
    chest : Chest
    order : str
        What the order of the chest is called.
    stations : mapping of int to tuple of Station
        Key, levers and pallet of every note that is laid out. Where any has no axis no paths are drawn.
    rods : tuple of Rod
        ``rods[i]`` joins the i-th station to the next.
    board : BoardSizes, optional
        Of a train with a roller.
    splayed : str
        The rod or lever that goes slantwise in place of rollers; empty if none does.
    names : callable
        Writes a note.
    width : float
        Of the splayed rods or levers across, m: neighbours that are nearer than that are told.

    Returns
    -------
    Layout

    Raises
    ------
    LayoutProblem
        With every defect: motion that nothing carries sideways, rollers that hold each other fast, a board that is too
        low, rods that have no place, a run that meets itself, slanting rods that cross.
    """
    found = {note: place for note, place in places(keyboard, chest, division).items() if note in stations}
    task = _Task(found, stations, rods, board, splayed, names, width)
    laid, defects = task.board_laid()
    paths, told = task.paths(laid) if task.drawn and not defects else ({}, [])
    defects = [*task.astray(), *defects, *told, *task.fan_defects(paths), *meeting_defects(paths, names)]
    if defects:
        raise LayoutProblem(defects)
    figures = measure.figures(paths, splayed)
    if laid is not None:
        figures[f"{task.roller}.length"] = {note: one.length for note, one in laid.rollers.items()}
    return Layout(
        division, keyboard, chest, order, found, laid, splayed, paths, figures, tuple(task.remarks(laid, paths))
    )


@dataclass(frozen=True)
class _Task:
    """What is laid out."""

    places: Mapping[int, Place]
    stations: Mapping[int, tuple[Station, ...]]
    rods: tuple[Rod, ...]
    board: BoardSizes | None
    splayed: str
    names: Callable[[int], str]
    width: float

    @property
    def roller(self) -> str:
        """Name of the roller; empty if there is none."""
        run = next(iter(self.stations.values()), ())
        return next((one.part for one in run if one.kind == ROLLER), "")

    @property
    def without(self) -> list[str]:
        """Parts whose axes have no place."""
        axes = [(one.part, one.axis) for run in self.stations.values() for one in run]
        return list(dict.fromkeys(part for part, axis in axes if axis is None))

    @property
    def drawn(self) -> bool:
        """Whether paths can be drawn."""
        return bool(self.stations) and not self.without

    def told(self, notes: list[int]) -> str:
        """Notes in words."""
        return notes_told(notes, tuple(self.places), self.names)

    def board_laid(self) -> tuple[Board | None, list[str]]:
        """The board of a train with rollers, and why it cannot be."""
        if self.board is None or not self.roller:
            return None, []
        try:
            laid = lay_board(self.places, self.board, self.names)
        except LayoutProblem as problem:
            help_ = [HELP] if any(HELD in told for told in problem.defects) else []
            return None, [*problem.defects, *help_]
        return laid, self._too_low(laid)

    def _too_low(self, laid: Board) -> list[str]:
        room, row = laid.sizes.height, laid.sizes.row
        if room is None or laid.height <= room * (1 + 1e-9):
            return []
        fits = math.floor(room / row * (1 + 1e-9))
        over = [note for note, one in laid.rollers.items() if one.row >= fits]
        return [
            f"the board is too low: {laid.rows} rows of {_mm(row)} need {_mm(laid.height)}, and there is {_mm(room)}, "
            f"room for {fits} (beyond it: {self.told(over)})"
        ]

    def astray(self) -> list[str]:
        """Notes whose pallets stand aside where neither roller nor fan leads there."""
        aside = [note for note, place in self.places.items() if place.side != "straight"]
        if self.roller or self.splayed or not aside:
            return []
        most = max(aside, key=lambda note: abs(self.places[note].sideways))
        return [
            f"neither roller nor fan carries the motion sideways, and pallets do not stand in their keys' lines at "
            f"{self.told(aside)} (most at {self.names(most)}: {_mm(abs(self.places[most].sideways))} to the "
            f"{self.places[most].side})"
        ]

    def paths(self, laid: Board | None) -> tuple[dict[int, Path], list[str]]:
        """Every note's path, and why some cannot be."""
        found, defects = {}, {}
        carrying = self.splayed or self.roller
        for note, place in self.places.items():
            # What stands astray is told for all notes together.
            at = place if carrying else replace(place, pallet=place.key)
            try:
                path = trace(note, at, self.stations[note], self.rods, _offset(laid, note), carrying, self.names)
                found[note] = _on_its_board(path, laid.rollers[note]) if laid else path
            except LayoutProblem as problem:
                defects[note] = problem.defects
        return found, together(defects, tuple(self.places), self.names)

    def fan_defects(self, paths: Mapping[int, Path]) -> list[str]:
        """Slanting rods or levers that cross or touch their neighbours; without paths, as if they were very long."""
        if not self.splayed:
            return []
        within = {note: _within(paths[note], self.splayed) if note in paths else math.inf for note in self.places}
        return fan.fan_defects(fan.fan(self.places, within), self.width, self.names)

    def _leaning(self, paths: Mapping[int, Path]) -> list[str]:
        """Rods that stand neither plumb nor level: levers seldom mean that, and a pallet would lean with its pull."""
        told = []
        for i, rod in enumerate(self.rods):
            off = {note: _off_square(path.legs[i]) for note, path in paths.items()}
            notes = [note for note, angle in off.items() if angle > LEANING]
            if not notes:
                continue
            most = max(notes, key=lambda note: off[note])
            last = " and the pallet with it" if i == len(self.rods) - 1 else ""
            told.append(
                f"{rod.part} leans{last} at {self.told(notes)}, by up to {math.degrees(off[most]):.0f}° from plumb or "
                f"level in the side view ({self.names(most)}): an axis stands an arm's length beside its rod's "
                f'line, on the other side with side = "left" or "right"'
            )
        return told

    def remarks(self, laid: Board | None, paths: Mapping[int, Path]) -> list[str]:
        """What a builder should hear."""
        told = []
        if laid is not None:
            shortest = laid.sizes.shortest
            for notes, where in (
                ([note for note, one in self.places.items() if one.side == "straight"], "straight under their pallets"),
                (
                    [n for n, one in self.places.items() if one.side != "straight" and abs(one.sideways) < shortest],
                    f"less than {_mm(shortest)} beside their pallets",
                ),
            ):
                if notes:
                    told.append(
                        f"keys {where} at {self.told(notes)}: their rollers are as short as may be, {_mm(shortest)}, "
                        f"with arms beside their lines"
                    )
            if alone := [note for note, one in laid.rollers.items() if one.alone]:
                told.append(
                    f"between the bent arms of {self.told(alone)} there is no room for two bearings: each has one, in "
                    "the middle"
                )
            aside = {note: abs(one.pallet - self.places[note].pallet) for note, one in laid.rollers.items()}
            moved = [n for n, far in aside.items() if far > STRAIGHT and abs(self.places[n].sideways) >= shortest]
            if moved:
                told.append(
                    f"so that no rollers hold each other fast, the pallets' rods of {self.told(moved)} stand beside "
                    f"their lines on the board, by up to {_mm(max(aside[note] for note in moved))}"
                )
        told += self._leaning(paths)
        if self.stations and 0 < len(self.without) < len(next(iter(self.stations.values()))):
            told.append(f"no paths are drawn: no place is given of {', '.join(self.without)}")
        return told


def _off_square(leg: Leg) -> float:
    """Angle of a rod from plumb or level, whichever is nearer, in the side view, rad."""
    slope = abs(measure.slope(leg)) % (math.pi / 2)
    return min(slope, math.pi / 2 - slope)


def _offset(laid: Board | None, note: int) -> tuple[float, float]:
    """How far the roller stands back and up from the middle of its board, m."""
    if laid is None:
        return 0.0, 0.0
    off = laid.offset(note)
    return (0.0, off) if laid.sizes.stands == "upright" else (off, 0.0)


def _on_its_board(path: Path, roller: RollerPlace) -> Path:
    """The path with its roller's arms where the board has them: of short rollers they stand beside their lines."""
    at = next(i for i, one in enumerate(path.turns) if one.kind == ROLLER)
    one = path.turns[at]
    turned = replace(
        one,
        near=(roller.key, *one.near[1:]),
        far=(roller.pallet, *one.far[1:]),
        in_end=one.in_end and (roller.key, *one.in_end[1:]),
        out_end=one.out_end and (roller.pallet, *one.out_end[1:]),
    )
    legs = list(path.legs)
    legs[at - 1] = replace(legs[at - 1], end=(roller.key, *legs[at - 1].end[1:]))
    legs[at] = replace(legs[at], start=(roller.pallet, *legs[at].start[1:]))
    return replace(path, turns=(*path.turns[:at], turned, *path.turns[at + 1 :]), legs=tuple(legs))


def _within(path: Path, part: str) -> float:
    """How far the ends of a rod, or both arms of a lever, reach in the side view, m."""
    for leg in path.legs:
        if leg.part == part:
            return math.dist(leg.start[1:], leg.end[1:])
    one = next(one for one in path.turns if one.part == part)
    return sum(math.dist(axis[1:], end[1:]) for axis, end in ((one.near, one.in_end), (one.far, one.out_end)) if end)


def _mm(size: float) -> str:
    return format_value(size, "m")
