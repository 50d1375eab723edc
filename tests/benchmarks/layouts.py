"""Roller boards and drawings: rows against what no board can do with less, and what they take: run by hand.

``python tests/benchmarks/layouts.py`` lays 56 notes on boards for every order, bar and clearance, and reads and draws
the shipped instrument. Times are of the processor, of one run.
"""

from __future__ import annotations

import tempfile
import time
from itertools import product
from pathlib import Path

from keyaction.cases.instrument.reader import read_instrument
from keyaction.models.instrument.board import BoardSizes
from keyaction.models.instrument.chest import Chest
from keyaction.models.instrument.keyboard import Keyboard
from keyaction.models.instrument.orders import ORDERS, order_notes
from keyaction.models.instrument.place import places
from keyaction.models.instrument.problem import LayoutProblem
from keyaction.models.instrument.rollers import lay_board
from keyaction.plots.drawings.save import save_drawings

NOTES = tuple(range(36, 92))
ASIDE = (0.0, 0.004, 0.010)


def _sizes(clearance: float, aside: float) -> BoardSizes:
    return BoardSizes(
        row=0.025, clearance=clearance, inset=0.015, bearing=0.01, apart=0.006, shortest=0.01, aside=aside
    )


def boards() -> None:
    """Rows over the bound, or x where rollers hold each other fast, for arms aside by 0, 4 and 10 mm."""
    keyboard, widths = Keyboard("I", NOTES, 0.165), {("", n): 0.018 - 0.008 * (n - 36) / 55 for n in NOTES}
    for order, bar, clearance in product(ORDERS, (0.008, 0.012), (0.006, 0.010)):
        chest = Chest(tuple(("", n) for n in order_notes(NOTES, order)), widths, bar, {}, 0.0, 0.0, 0.0)
        told = []
        for aside in ASIDE:
            start = time.process_time()
            try:
                board = lay_board(places(keyboard, chest), _sizes(clearance, aside))
                rows = f"{board.rows}/{max(board.density, board.chain)}"
            except LayoutProblem:
                rows = "x"
            told.append(f"{rows:>7} {time.process_time() - start:5.2f} s")
        print(f"{order:15} bar {1e3 * bar:2.0f} mm, clearance {1e3 * clearance:2.0f} mm: {'  '.join(told)}")


def instrument() -> None:
    """The shipped instrument: laid out, and drawn with three side views a division."""
    start = time.process_time()
    found = read_instrument("demo-instrument")
    laid = time.process_time()
    with tempfile.TemporaryDirectory() as folder:
        for name, case in found.divisions.items():
            save_drawings(case, Path(folder) / name)
    notes = sum(len(case.compass) for case in found.divisions.values())
    print(f"{notes} notes laid out in {laid - start:.2f} s, drawn in {time.process_time() - laid:.2f} s")


if __name__ == "__main__":
    boards()
    instrument()
