"""[layout] of a case as a whole: everything that it says, read and in SI units."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from keyaction.cases.fields.context import Context
from keyaction.cases.layout.board import board_sizes, read_board, read_fan
from keyaction.cases.layout.chest import ChestDrawn, read_chest
from keyaction.cases.layout.member import Run
from keyaction.cases.layout.run import read_run, stations_of
from keyaction.cases.layout.tables import Read, told_of
from keyaction.cases.layout.within import Within
from keyaction.cases.text.defects import Place
from keyaction.models.instrument.board import BoardSizes
from keyaction.models.instrument.chest import Chest
from keyaction.models.instrument.keyboard import Keyboard
from keyaction.models.instrument.run import Station


@dataclass(frozen=True)
class Drawn:
    """What a case says of its layout.

    Parameters
    ----------
    division : str
        Empty of an action case alone.
    keyboard : Keyboard
    chest : ChestDrawn
    run : Run
        The parts of the train.
    axes : Read
        Where they stand.
    board : Read, optional
        Sizes of the board of a train with a roller.
    fan : str
        The part that goes slantwise; empty if none does.
    tables : tuple of Read
        All tables with their values, for what is assumed and what is unusual.
    """

    division: str
    keyboard: Keyboard
    chest: ChestDrawn
    run: Run
    axes: Read
    board: Read | None
    fan: str
    tables: tuple[Read, ...]

    def stations(self, notes: Sequence[int]) -> dict[int, tuple[Station, ...]]:
        """Stations of these notes."""
        return stations_of(self.run, self.axes, self.chest.eyes, notes)

    def sizes(self, notes: Sequence[int]) -> BoardSizes | None:
        """What its board is made to."""
        return None if self.board is None else board_sizes(self.board, self.run.rollers[0], notes)

    def grooves(self, notes: Sequence[int]) -> Chest:
        """The chest with its grooves, each as wide as the train says."""
        return self.chest.chest({note: self.run.groove.size("width", note) or 0.0 for note in notes})

    def slanting(self, notes: Sequence[int]) -> float:
        """How wide what goes slantwise is, m."""
        found = [one for one in (*self.run.rods, *self.run.stations) if one.name == self.fan]
        return max((one.across(note) for one in found for note in notes), default=0.0)


def read_drawn(
    context: Context,
    place: Place,
    tables: Mapping[str, Mapping[str, object]],
    keyboard: tuple[Keyboard, tuple[Read, ...]],
    run: Run,
    notes: Sequence[int],
    within: Within | None,
) -> Drawn | None:
    """Read the tables beside that of the keyboard; defects go into the log of `place`.

    Returns
    -------
    Drawn, optional
        None where a defect was recorded.
    """
    before, division = len(place.log), within.division if within else ""
    at = {name: place.at(f"[layout.{name}]") for name in ("chest", "run", "board", "fan")}
    chest, chest_read = read_chest(context, at["chest"], tables.get("chest", {}), notes, division)
    axes = read_run(context, at["run"], tables.get("run", {}), run)
    read = [*keyboard[1], chest_read, axes]
    fan, board = "", None
    if "fan" in tables:
        fan, fan_read = read_fan(context, at["fan"], tables["fan"], run)
        read.append(fan_read)
    if run.rollers or "board" in tables:
        board = read_board(context, at["board"], tables.get("board", {}))
        read.append(board)
    _check_carrying(place, tables, run)
    _check_sizes(place, run, fan)
    told_of(within, place.log, before)
    if chest is None or len(place.log) > before:
        return None
    return Drawn(division, keyboard[0], chest, run, axes, board, fan, tuple(read))


def _check_carrying(place: Place, tables: Mapping[str, object], run: Run) -> None:
    """One thing carries the motion sideways: the board of a roller, or a fan."""
    rollers = [one.name for one in run.rollers]
    if len(rollers) > 1:
        place.at("[layout.board]").defect("", f"{len(rollers)} rollers, {' and '.join(rollers)}; a layout has one")
    if rollers and "fan" in tables:
        place.at("[layout.fan]").defect("", f"the train has {rollers[0]}, which carries sideways; take out one")
    if "board" in tables and not rollers:
        place.at("[layout.board]").defect("", "the train has no roller")


def _check_sizes(place: Place, run: Run, fan: str) -> None:
    """What the layout is made from cannot come of it."""
    from_it = [(one, path) for one in run.stations for path in one.arms] + [(run.groove, "width")]
    from_it += [(one, "pin_to_arm") for one in run.rollers]
    from_it += [(one, path) for one in run.rods if one.name == fan for path in ("diameter", "width", "thickness")]
    for one, path in from_it:
        if one.asks(path):
            where = place.at(f"[[train]] {one.name}")
            where.defect(path, "the layout is made from this size, so it cannot come of the layout; give a value")
    if not run.groove.courses.get("width"):
        where = place.at(f"[[train]] {run.groove.name}")
        where.defect("width", "missing; [layout.chest] lays grooves side by side, and needs to know how wide they are")
