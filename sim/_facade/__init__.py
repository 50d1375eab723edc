"""keyaction: how a tracker key action will feel, speak and repeat.

>>> import keyaction as ka
>>> result = ka.run(ka.read_case("demo-wood"), "C4")
>>> round(result.value("pluck_force", "C4"), 1)  # N
1.7
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from keyaction._version import __version__

if TYPE_CHECKING:
    from keyaction.cases.action.reader import read_case
    from keyaction.cases.action.trains import train_of
    from keyaction.sim.files.hdf5 import load, save
    from keyaction.sim.motion.note import NoteModel
    from keyaction.sim.run.run import run
    from keyaction.sim.sweep.sweep import open_study, run_study

_PLACES = {
    "read_case": "keyaction.cases.action.reader",
    "run": "keyaction.sim.run.run",
    "train_of": "keyaction.sim.run.run",
    "NoteModel": "keyaction.sim.motion.note",
    "load": "keyaction.sim.files.hdf5",
    "save": "keyaction.sim.files.hdf5",
    "run_study": "keyaction.sim.sweep.sweep",
    "open_study": "keyaction.sim.sweep.sweep",
}

__all__ = ["NoteModel", "__version__", "load", "open_study", "read_case", "run", "run_study", "save", "train_of"]


def __getattr__(name: str) -> Any:
    """Load a public name when it is first used, so that importing the package is quick."""
    from importlib import import_module

    if name in _PLACES:
        return getattr(import_module(_PLACES[name]), name)
    raise AttributeError(f"module 'keyaction' has no attribute '{name}'; it has {', '.join(__all__)}")
