"""Playing what was chosen."""

from __future__ import annotations

from pathlib import Path

from keyaction.sim.commands.chosen import Choice
from keyaction.sim.files.instrument_result import InstrumentResult
from keyaction.sim.files.labelled import Result
from keyaction.sim.run import run as manual


def play(choice: Choice, out: Path, jobs: int, told: manual.DivisionProgress) -> Result | InstrumentResult:
    """Play what is chosen into a result file; `told` is called with every finished note."""
    if choice.instrument is not None:
        notes = {one.division: one.notes for one in choice}
        drawn = choice.coupling.drawn if choice.coupling else None
        held = choice.coupling.held if choice.coupling else ()
        return manual.run(choice.instrument, notes, out, jobs, progress=told, coupled=drawn, held=held)
    (only,) = choice
    return manual.run(only.case, only.notes, out, jobs, progress=lambda result, kept: told("", result, kept))
