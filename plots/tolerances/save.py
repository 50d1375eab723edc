"""Pictures of tolerances as files."""

from __future__ import annotations

from collections.abc import Iterator

from keyaction.models.units.quantity import System
from keyaction.plots.style.files import Draw
from keyaction.plots.tolerances.origins import origins
from keyaction.plots.tolerances.steps import steps
from keyaction.sim.files.labelled import Result
from keyaction.sim.tolerances.tolerances import Tolerances


def drawings(made: Tolerances, title: str, suffix: str = "", units: System = "trade") -> Iterator[tuple[str, Draw]]:
    """File names with what draws them: ``scatter.png`` and ``steps.png``, a division's with its `suffix`."""
    about = Result({}, {"title": title, "case_name": made.case.path.name})
    yield f"scatter{suffix}.png", lambda: origins(made, about, units)
    yield f"steps{suffix}.png", lambda: steps(made, about, units)
