"""Coupled runs of the small instrument: three pallets, another hand, no wind, nothing coupled, long names."""

from __future__ import annotations

from pathlib import Path

from small_couplers import SWELL, coupler, write_coupled

from keyaction.cases.instrument.reader import read_instrument
from keyaction.sim.files.instrument_result import InstrumentResult
from keyaction.sim.run.run import run

THIRD = coupler("II/I 6", "great", "II", 'pitch = 4\nplay = "1 mm"')
"""A hook to the key a third above: nothing at the four highest keys."""
LONG = "the-division-of-the-singers-at-the-back-of-the-west-gallery"
WINDLESS = (("enclosed = true\n", 'enclosed = true\nset = { "box.pressure" = "0 Pa" }\n'),)
RENAMED = (('name = "II"\ncase', f'name = "{LONG}"\ncase'),)


def coupled_run(
    folder: Path,
    notes: str = "great/C4,great/G4",
    drawn: str = "II/I,II/I 6",
    changes: tuple[tuple[str, str], ...] = (),
    held: str = "",
) -> InstrumentResult:
    """Some notes of the small instrument with couplers drawn: at C4 three pallets open, at G4 two."""
    couplers = [text.replace('to = "II"', f'to = "{LONG}"') if changes == RENAMED else text for text in (SWELL, THIRD)]
    return run(read_instrument(write_coupled(folder, *couplers, changes=changes)), notes, coupled=drawn, held=held)
