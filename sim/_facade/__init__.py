"""keyaction: how a tracker key action will feel, speak and repeat.

>>> import keyaction as ka
>>> result = ka.run(ka.read_case("demo-wood"), "C4")
>>> round(result.value("pluck_force", "C4"), 1)  # N
1.6

`read_case` reads a case, with changes, `read_instrument` an instrument of many; `run` plays their notes, `evaluate` a
table of variants, `run_study` a study; `run_search` the designs that none beats; a `Result` holds the figures.
`train_of` gives one note's parts, `coupled_train` those of all that couplers move with it; `tune_couplers` finds the
plays of couplers; `verdict` tells what becomes of a `NoteModel` of a train, which plays any of `keyaction.drives`.
`equations`, `right_hand_side`, `jacobian` and `modes` are for those who want the mechanics. Everything is in SI units.
"""

from __future__ import annotations

from keyaction._version import __version__

TYPE_CHECKING = False  # as the checkers of types know it; to load `typing` takes longer than all of this
if TYPE_CHECKING:
    from typing import Any

    from keyaction import drives
    from keyaction.cases.action.case import Case
    from keyaction.cases.action.reader import read_case
    from keyaction.cases.action.trains import train_of
    from keyaction.cases.instrument.coupled import coupled_train
    from keyaction.cases.instrument.drawn import CouplerProblem, drawn_couplers
    from keyaction.cases.instrument.instrument import Instrument
    from keyaction.cases.instrument.reader import read_instrument
    from keyaction.cases.text.defects import CaseProblem
    from keyaction.models.notes import NoteProblem
    from keyaction.models.train.train import TrainProblem
    from keyaction.sim.chord.chord import Chord
    from keyaction.sim.chord.of_case import chord
    from keyaction.sim.chord.problem import ChordProblem
    from keyaction.sim.coupling.tune import Regulated, tune_couplers
    from keyaction.sim.figures.modes import Modes, modes
    from keyaction.sim.figures.verdict import Verdict
    from keyaction.sim.files.hdf5 import load, save
    from keyaction.sim.files.instrument_result import InstrumentResult
    from keyaction.sim.files.labelled import Result
    from keyaction.sim.files.problem import FileProblem
    from keyaction.sim.motion.equations import Equations, equations
    from keyaction.sim.motion.integrate import Motion
    from keyaction.sim.motion.note import NoteModel
    from keyaction.sim.motion.right_hand_side import RightHandSide, jacobian, right_hand_side
    from keyaction.sim.run.run import run
    from keyaction.sim.run.standings import verdict
    from keyaction.sim.search.search import Searched, run_search
    from keyaction.sim.sizes.sized import Sized
    from keyaction.sim.sizes.sizes import smallest_pallets
    from keyaction.sim.spread.spread import with_spread
    from keyaction.sim.sweep.parameters import evaluate_parameters
    from keyaction.sim.sweep.sweep import Swept, open_study, run_study
    from keyaction.sim.sweep.table import evaluate

__docformat__ = "numpy"

_PLACES = {
    "Case": "keyaction.cases.action.case",
    "CaseProblem": "keyaction.cases.text.defects",
    "Chord": "keyaction.sim.chord.chord",
    "ChordProblem": "keyaction.sim.chord.problem",
    "CouplerProblem": "keyaction.cases.instrument.drawn",
    "Equations": "keyaction.sim.motion.equations",
    "FileProblem": "keyaction.sim.files.problem",
    "Instrument": "keyaction.cases.instrument.instrument",
    "InstrumentResult": "keyaction.sim.files.instrument_result",
    "Modes": "keyaction.sim.figures.modes",
    "Motion": "keyaction.sim.motion.integrate",
    "NoteModel": "keyaction.sim.motion.note",
    "NoteProblem": "keyaction.models.notes",
    "Regulated": "keyaction.sim.coupling.tune",
    "Result": "keyaction.sim.files.labelled",
    "RightHandSide": "keyaction.sim.motion.right_hand_side",
    "Searched": "keyaction.sim.search.search",
    "Sized": "keyaction.sim.sizes.sized",
    "Swept": "keyaction.sim.sweep.sweep",
    "TrainProblem": "keyaction.models.train.train",
    "Verdict": "keyaction.sim.figures.verdict",
    "chord": "keyaction.sim.chord.of_case",
    "coupled_train": "keyaction.cases.instrument.coupled",
    "drawn_couplers": "keyaction.cases.instrument.drawn",
    "equations": "keyaction.sim.motion.equations",
    "evaluate": "keyaction.sim.sweep.table",
    "evaluate_parameters": "keyaction.sim.sweep.parameters",
    "jacobian": "keyaction.sim.motion.right_hand_side",
    "load": "keyaction.sim.files.hdf5",
    "modes": "keyaction.sim.figures.modes",
    "open_study": "keyaction.sim.sweep.sweep",
    "read_case": "keyaction.cases.action.reader",
    "read_instrument": "keyaction.cases.instrument.reader",
    "right_hand_side": "keyaction.sim.motion.right_hand_side",
    "run": "keyaction.sim.run.run",
    "run_search": "keyaction.sim.search.search",
    "run_study": "keyaction.sim.sweep.sweep",
    "save": "keyaction.sim.files.hdf5",
    "smallest_pallets": "keyaction.sim.sizes.sizes",
    "train_of": "keyaction.cases.action.trains",
    "tune_couplers": "keyaction.sim.coupling.tune",
    "verdict": "keyaction.sim.run.standings",
    "with_spread": "keyaction.sim.spread.spread",
}
"""Where each public name lives; it is loaded from there when it is first used."""

__all__ = [  # noqa: RUF022  in the order in which a reader meets them
    "read_case",
    "Case",
    "read_instrument",
    "Instrument",
    "run",
    "with_spread",
    "evaluate",
    "evaluate_parameters",
    "Result",
    "InstrumentResult",
    "load",
    "save",
    "run_study",
    "open_study",
    "Swept",
    "run_search",
    "Searched",
    "chord",
    "Chord",
    "smallest_pallets",
    "Sized",
    "train_of",
    "drawn_couplers",
    "coupled_train",
    "tune_couplers",
    "Regulated",
    "NoteModel",
    "Motion",
    "drives",
    "verdict",
    "Verdict",
    "equations",
    "Equations",
    "right_hand_side",
    "RightHandSide",
    "jacobian",
    "modes",
    "Modes",
    "CaseProblem",
    "CouplerProblem",
    "TrainProblem",
    "NoteProblem",
    "FileProblem",
    "ChordProblem",
    "__version__",
]


def __getattr__(name: str) -> Any:
    """Load a public name when it is first used, so that importing the package is quick."""
    from importlib import import_module

    if name == "drives":
        return import_module("keyaction.drives")
    if name in _PLACES:
        found = globals()[name] = getattr(import_module(_PLACES[name]), name)
        return found
    raise AttributeError(f"module 'keyaction' has no attribute '{name}'; it has {', '.join(sorted(__all__))}")


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
