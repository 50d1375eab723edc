"""What springs are to be tuned to: the pluck wanted over the compass, and the limits that must hold with it."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from keyaction.cases.action.case import Case
from keyaction.cases.fields.compass import Compass
from keyaction.cases.fields.context import Context, Scope
from keyaction.cases.fields.csvfile import Shelf
from keyaction.cases.fields.kinds import from_text
from keyaction.cases.fields.tables import TableReader
from keyaction.cases.text.defects import CaseProblem, Defect, Place
from keyaction.cases.text.load import load_toml
from keyaction.models.fields.fields import Field
from keyaction.sim.motion.integrate import Floats

FIELDS: tuple[Field, ...] = (
    Field("pluck", "pluck force", unit="N", positive=True, high=50.0),
    Field("even", "largest step of the pluck from note to note", kind="number", low=0.001, high=1.0),
    Field("within", "share of the pluck by which it may miss", kind="number", low=0.001, high=0.5, default=0.03),
    Field("closing", "closing margin of the pallet at the eye, wind off", unit="N", low=0.0, high=20.0, default=0.1),
    Field("return_time", "release delay in the standard stroke", unit="s", positive=True, high=10.0, default=0.1),
    Field("repetition", "repetition rate", unit="Hz", low=0.0, high=100.0, default=6.0),
    Field("feed", "full opening over the toe area of the drawn stops", kind="number", low=0.0, high=100.0, default=3.0),
    Field("weakest", "least spring force on the closed pallet", unit="N", low=0.0, high=50.0, default=0.0),
    Field("strongest", "largest spring force on the closed pallet", unit="N", low=0.0, high=50.0, default=50.0),
    Field("friction", "friction at the key over the neighbours'", kind="number", low=1.1, high=1000.0, default=2.0),
)
"""What a file of targets may hold. Defaults: 6 Hz is the design case of C. E. Pykett, "Touch relief in mechanical
actions", 2001; an opening of 3 times the toes fills the groove to 90 % (steady orifices); the others are assumed."""

_POINT = re.compile(r"\s*([^\s=]+)\s*=\s*(.+?)\s*")
_EVEN = re.compile(r"\s*even(?:\s+within)?\s+(.+?)\s*")


class TuneProblem(ValueError):
    """Targets that cannot be tuned to; `defects` lists every reason."""

    def __init__(self, defects: Sequence[str]) -> None:
        self.defects = list(dict.fromkeys(defects))
        super().__init__("\n".join(self.defects))


@dataclass(frozen=True)
class Targets:
    """Targets and limits at each of some notes, SI; each an array (n,).

    `pluck` is NaN where none is asked for (then the present pluck is kept as far as `even` allows), `even` infinite.
    """

    pluck: Floats
    even: Floats
    within: Floats
    closing: Floats
    return_time: Floats
    repetition: Floats
    feed: Floats
    weakest: Floats
    strongest: Floats
    friction: Floats


def pluck_option(text: str) -> dict[str, object]:
    """``"120 gf"``, ``"C2=140 gf, G6=90 gf"`` (straight lines between) or ``"even within 5 %"`` as a file has it.

    Raises
    ------
    TuneProblem
        If a note is named twice: a file's table would keep the last alone.
    """
    if even := _EVEN.fullmatch(text):
        return {"even": even[1]}
    pieces = text.split(",")
    points = [found for piece in pieces if (found := _POINT.fullmatch(piece))]
    if len(points) == len(pieces):
        names = [found[1] for found in points]
        twice = [name for name in dict.fromkeys(names) if names.count(name) > 1]
        if twice:
            raise TuneProblem([f"--pluck {text}: {', '.join(twice)} is named twice; name each note once"])
        return {"pluck": {"between": "linear", **{found[1]: found[2] for found in points}}}
    return {"pluck": text}


def read_targets(
    case: Case, notes: Sequence[int], file: Path | None = None, options: Mapping[str, object] | None = None
) -> Targets:
    """Targets from a TOML file, options going over it.

    Parameters
    ----------
    case : Case
    notes : sequence of int
    file : Path, optional
        One top-level field for each target; values may go over the compass as those of a case.
    options : mapping, optional
        Field name to a value as the file would have it; texts from the command line.

    Raises
    ------
    keyaction.cases.text.defects.CaseProblem
        With every defect of file and options.
    TuneProblem
        If there is nothing to tune to, or limits contradict each other.
    """
    log: list[Defect] = []
    place = Place(file.name if file else "options", "", log)
    data: dict[str, object] = dict(load_toml(file)[1]) if file else {}
    known = {field.name: field for field in FIELDS}
    for name, value in (options or {}).items():
        data[name] = from_text(known[name], value) if name in known else value
    compass = Compass(case.compass, case.naming)
    context = Context(compass, case.library, Shelf((file or case.path).parent, compass, log))
    courses = TableReader(context, Scope(case.compass, "targets"), place).read(FIELDS, data).courses
    if log:
        raise CaseProblem(file or case.path, log)
    usual = {"pluck": math.nan, "even": math.inf}
    arrays = {
        name: np.array([float(courses[name][note].value) if name in courses else usual[name] for note in notes])
        for name in known
    }
    return _sound(Targets(**arrays), compass, notes)


def _sound(targets: Targets, compass: Compass, notes: Sequence[int]) -> Targets:
    if not any(map(math.isfinite, (*targets.pluck, *targets.even))):
        raise TuneProblem(['nothing to tune to: give --pluck "120 gf" or --pluck "even within 5 %", or --targets FILE'])
    crossed = [note for note, low, high in zip(notes, targets.weakest, targets.strongest, strict=True) if low > high]
    if crossed:
        raise TuneProblem(
            [f"contradictory limits at {compass.ranges(crossed)}: the weakest spring allowed is above the strongest"]
        )
    return targets
