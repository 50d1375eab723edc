"""Pictures of a result, as the commands draw them."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from keyaction.models.units.quantity import System
from keyaction.sim.commands.common import DONE, FAILED
from keyaction.sim.commands.console import err, out
from keyaction.sim.files.labelled import Result


def draw(result: Result, folder: Path, units: System, notes: Sequence[str] | None = None) -> int:
    """Draw into a folder and say so; returns the exit status."""
    from keyaction.plots.save import save_all  # here, because the plotting library takes a second to load

    try:
        made = save_all(result, folder, notes, units)
    except OSError as problem:
        err().print(str(problem), markup=False)
        return FAILED
    out().print(f"pictures: {len(made)} in {folder}", markup=False, soft_wrap=True)
    return DONE
