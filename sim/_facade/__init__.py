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
    from keyaction.cases.reader import read_case
    from keyaction.sim.manual import run, train_of
    from keyaction.sim.note import NoteModel
    from keyaction.sim.store import load, save
    from keyaction.sim.sweep import open_study, run_study

_PLACES = {
    "read_case": "keyaction.cases.reader",
    "run": "keyaction.sim.manual",
    "train_of": "keyaction.sim.manual",
    "NoteModel": "keyaction.sim.note",
    "load": "keyaction.sim.store",
    "save": "keyaction.sim.store",
    "run_study": "keyaction.sim.sweep",
    "open_study": "keyaction.sim.sweep",
}

__all__ = ["NoteModel", "__version__", "load", "open_study", "read_case", "run", "run_study", "save", "train_of"]


def __getattr__(name: str) -> Any:
    """Load a public name when it is first used, so that importing the package is quick."""
    from importlib import import_module

    if name in _PLACES:
        return getattr(import_module(_PLACES[name]), name)
    raise AttributeError(f"module 'keyaction' has no attribute '{name}'; it has {', '.join(__all__)}")
