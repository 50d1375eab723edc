"""What a command may end with, in words and as an exit status."""

from __future__ import annotations

import argparse
import errno

from keyaction.cases.instrument.drawn import CouplerProblem
from keyaction.cases.text.defects import CaseProblem
from keyaction.cases.text.signs import legible
from keyaction.models.algebra.problem import DimensionProblem
from keyaction.models.notes import NoteProblem
from keyaction.models.train.train import TrainProblem
from keyaction.sim.chord.problem import ChordProblem
from keyaction.sim.code.no_numba import NoNumba
from keyaction.sim.commands.common import BAD_INPUT, FAILED
from keyaction.sim.commands.divisions import NotChosen
from keyaction.sim.files.labelled import NotHeld
from keyaction.sim.files.problem import FileProblem, Taken, Unreadable
from keyaction.sim.processes.tasks import NoProcesses
from keyaction.sim.wind.stops import StopProblem

_MISNAMED = (errno.ENAMETOOLONG, errno.ENOTDIR, errno.EISDIR, errno.ELOOP, errno.ENOENT)
"""What the system says of names that cannot be right."""


def complaint(problem: Exception, options: argparse.Namespace) -> tuple[str, int] | None:
    """The message and the exit status; None for a slip of the program, which is not to be hidden."""
    told = _complaint(problem, options)
    return (legible(told[0]), told[1]) if told else None


def _complaint(problem: Exception, options: argparse.Namespace) -> tuple[str, int] | None:
    if isinstance(problem, CaseProblem | NoteProblem | Unreadable | Taken | NoNumba | NotChosen):
        return str(problem), BAD_INPUT
    if isinstance(problem, TrainProblem | CouplerProblem | ChordProblem | StopProblem):
        return "\n".join(f"{options.case}: {text}" for text in problem.defects), BAD_INPUT
    if isinstance(problem, NotHeld):
        return f"{problem.args[0]}; it was made by another version, or is no whole one: make it anew", BAD_INPUT
    if isinstance(problem, FileProblem | NoProcesses):
        return str(problem), FAILED
    if isinstance(problem, OSError) and problem.strerror:
        place = problem.filename or problem.filename2
        told = f"{place}: {problem.strerror}" if place else f"cannot be printed or written: {problem.strerror}"
        return told, BAD_INPUT if problem.errno in _MISNAMED else FAILED
    if isinstance(problem, DimensionProblem):
        return f"the equations do not agree in dimension: {problem}", FAILED
    return None
