"""Everything that was measured: sheets, feel curves and traces, each file read as what it is."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from keyaction.cases.measured.blocks import LARGEST
from keyaction.cases.measured.curve import is_curve, read_curves
from keyaction.cases.measured.sheet import read_sheet, shipped_sheets
from keyaction.cases.measured.trace import is_trace, read_traces
from keyaction.cases.text.defects import BadValue, CaseProblem, Defect
from keyaction.cases.text.find import is_file
from keyaction.cases.text.near import hint
from keyaction.cases.text.textfile import read_text
from keyaction.models.notes import Naming
from keyaction.models.readings.courses import Curve, Trace
from keyaction.models.readings.readings import Readings


@dataclass(frozen=True)
class Found:
    """What some files hold."""

    sheets: tuple[Readings, ...]
    curves: tuple[Curve, ...]
    traces: tuple[Trace, ...]

    @property
    def notes(self) -> list[int]:
        """Notes of which anything was measured, rising."""
        own = {note for sheet in self.sheets for note in sheet.notes}
        return sorted(own | {one.note for one in self.curves} | {one.note for one in self.traces})


def read_measured(paths: Sequence[Path], notes: Sequence[int], naming: Naming) -> Found:
    """Read files of any kind.

    Parameters
    ----------
    paths : sequence of Path
        Or names of files that ship with the program.
    notes : sequence of int
        The compass of the case, rising.
    naming : {"scientific", "trade", "german"}
        The case's.

    Raises
    ------
    keyaction.CaseProblem
        With every defect of all files.
    """
    sheets, curves, traces, defects = list[Readings](), list[Curve](), list[Trace](), list[Defect]()
    takers: tuple[tuple[Callable[[str], bool], Callable[[Path], None]], ...] = (
        (is_trace, lambda path: traces.extend(read_traces(path, notes, naming))),
        (is_curve, lambda path: curves.extend(read_curves(path, notes, naming))),
        (lambda _: True, lambda path: sheets.append(read_sheet(path, notes, naming))),
    )
    for given in paths:
        path = _file(given)
        try:
            text = read_text(path, LARGEST)
            next(take for fits, take in takers if fits(text))(path)
        except BadValue as problem:
            near = hint(path.name, shipped_sheets()) if str(problem) == "no such file" else ""
            defects.append(Defect(str(given), "", "", "", f"{problem}{near}"))
        except CaseProblem as problem:
            alike = sum(one.name == given.name for one in paths) > 1
            defects += [replace(one, file=str(given)) for one in problem.defects] if alike else problem.defects
    defects += _twice(paths)
    if defects:
        raise CaseProblem(Path(paths[0]), defects)
    return Found(tuple(sheets), tuple(curves), tuple(traces))


def _file(path: Path) -> Path:
    return path if is_file(path) else shipped_sheets().get(f"{str(path).removesuffix('.csv')}.csv", path)


def _twice(paths: Sequence[Path]) -> list[Defect]:
    """Files that are named again: their figures would count twice."""
    places = [_file(path).absolute() for path in paths]
    again = [path for i, path in enumerate(paths) if places[i] in places[:i]]
    return [Defect(str(path), "", "", "", "named twice; leave one out") for path in dict.fromkeys(again)]
