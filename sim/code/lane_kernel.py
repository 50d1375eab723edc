"""A batch module ready to run: generated, cached beside the scalar one, compiled by Numba."""

from __future__ import annotations

import hashlib
import inspect
import platform
import sys
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from keyaction.models.train.structure import Structure
from keyaction.sim.code import trials
from keyaction.sim.code.cache import kept_text, module_of
from keyaction.sim.code.kernel import generated_module, installed, load_module
from keyaction.sim.code.layout import Layout, read_layout
from keyaction.sim.code.need_numba import need_numba
from keyaction.sim.code.watch import WIDTH

FAST = {"contract", "nsz", "arcp", "reassoc"}
"""What the compiler may do to floating-point sums; NaN and infinity keep their meaning."""


@dataclass(frozen=True)
class LaneRows:
    """The rows of the arrays of lanes, and what fills in the constants.

    Attributes
    ----------
    layout : Layout
        Of the train's states and recorded quantities.
    rows : mapping of name to int
        Rows of what moves, as the code calls it; `states` are the states' names there, `ways` and `turning` those of
        the bodies' ways, and of those that turn.
    real : {"float64", "float32"}
        Precision of the lanes.
    source : str
        The batch module.
    """

    constants: Callable[..., None]
    layout: Layout
    rows: dict[str, int]
    states: tuple[str, ...]
    ways: tuple[str, ...]
    turning: tuple[str, ...]
    constant_count: int
    real: str
    source: str


@dataclass(frozen=True)
class LaneKernel(LaneRows):
    """Functions over blocks of lanes, compiled by Numba."""

    stroke: Callable[..., None]
    repeat: Callable[..., None]
    trace: Callable[..., None]
    width: int


def _text(structure: Structure, real: str) -> str:
    from keyaction.models.train.equations import derived
    from keyaction.sim.code.lanes import LaneModule

    return LaneModule(derived(structure), real).text()


@lru_cache(maxsize=32)
def _module(structure: Structure, real: str) -> Any:
    """The batch module, its straight-line functions handed to the compiler."""
    need_numba()
    from keyaction.sim.code.straight import straight

    path, text = generated_module(structure, f"lanes_{real}", lambda: _text(structure, real))
    module: Any = load_module(path, text)
    for name in module.STRAIGHT:
        setattr(module, name, straight(module, name))
    return module


def _rows(module: Any, real: str) -> dict[str, Any]:
    from keyaction.sim.code.compiled import compiled

    return {
        "constants": compiled(module.constants, nogil=True),
        "layout": read_layout(module.LAYOUT),
        "rows": module.ROWS,
        "states": module.STATES,
        "ways": module.WAYS,
        "turning": module.TURNING,
        "constant_count": module.CONSTANTS,
        "real": real,
        "source": vars(module)["__text__"],
    }


@lru_cache(maxsize=32)
def load_rows(structure: Structure, real: str = "float64") -> LaneRows:
    """The rows of a structure's lanes for another engine than Numba's, which computes their constants all the same.

    Raises
    ------
    keyaction.sim.code.no_numba.NoNumba
        If Numba cannot be used.
    """
    return LaneRows(**_rows(_module(structure, "float64"), real))


@lru_cache(maxsize=32)
def load_lanes(structure: Structure, real: str = "float64") -> LaneKernel:
    """Generate, cache and compile the batch functions of a structure (about half a second each the first time).

    Raises
    ------
    keyaction.sim.code.no_numba.NoNumba
        If Numba cannot be used.
    """
    module = _module(structure, real)
    from keyaction.sim.code.compiled import compiled

    made: dict[str, Any] = {
        name: compiled(getattr(module, name), nogil=True, fastmath=FAST) for name in ("stroke", "repeat", "trace")
    }
    return LaneKernel(**made, **_rows(module, real), width=WIDTH[real])


@lru_cache(maxsize=2)
def trials_of(real: str) -> Callable[..., int]:
    """The function `keyaction.sim.code.trials.trials` for lanes of a precision, compiled once for all trains."""
    from numba import types as numba_types

    from keyaction.sim.code.compiled import compiled

    types: Any = numba_types
    source = inspect.getsource(trials)
    about = source, installed("numba"), installed("numpy"), sys.version, platform.machine()
    name = f"trials_{hashlib.sha256(repr(about).encode()).hexdigest()[:24]}"
    made: Any = module_of(*kept_text(f"{name}.py", lambda: source), f"keyaction_generated_{name}_{real}")
    for inner in ("decided", "give_back", "take"):
        setattr(made, inner, compiled(getattr(made, inner), nogil=True, no_cpython_wrapper=True, no_cfunc_wrapper=True))
    found: Any = compiled(made.trials, nogil=True)
    one, whole = getattr(types, real), types.int64
    played = types.FunctionType(types.void(whole, one, one[::1]))
    wanted = played, one[:, :, ::1], whole[::1], whole, whole, one, whole
    with warnings.catch_warnings():  # functions as arguments are new to Numba, and it says so
        warnings.simplefilter("ignore")
        found.compile((*wanted, types.UniTuple(whole, 5), one, one[:, ::1], whole[::1], whole[::1]))
    found.disable_compile()
    return found  # type: ignore[no-any-return]
