"""A batch module ready to run: generated, cached beside the scalar one, compiled by Numba."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from keyaction.models.train.structure import Structure
from keyaction.sim.code.kernel import generated_module, load_module
from keyaction.sim.code.layout import Layout, read_layout
from keyaction.sim.code.need_numba import need_numba
from keyaction.sim.code.watch import WIDTH

FAST = {"contract", "nsz", "arcp", "reassoc"}
"""What the compiler may do to floating-point sums; NaN and infinity keep their meaning."""


@dataclass(frozen=True)
class LaneKernel:
    """Compiled functions over blocks of lanes, and the rows of their arrays.

    Attributes
    ----------
    layout : Layout
        Of the train's states and recorded quantities.
    rows : mapping of name to int
        Rows of what moves, as the code calls it; `states` are the states' names there, `ways` and `turning` those of
        the bodies' ways, and of those that turn.
    """

    stroke: Callable[..., None]
    repeat: Callable[..., None]
    trace: Callable[..., None]
    constants: Callable[..., None]
    layout: Layout
    rows: dict[str, int]
    states: tuple[str, ...]
    ways: tuple[str, ...]
    turning: tuple[str, ...]
    constant_count: int
    width: int
    real: str
    source: str


def _text(structure: Structure, real: str) -> str:
    from keyaction.models.train.equations import derived
    from keyaction.sim.code.lanes import LaneModule

    return LaneModule(derived(structure), real).text()


@lru_cache(maxsize=32)
def load_lanes(structure: Structure, real: str = "float64") -> LaneKernel:
    """Generate, cache and compile the batch functions of a structure (about half a second each the first time).

    Raises
    ------
    keyaction.sim.code.no_numba.NoNumba
        If Numba cannot be used.
    """
    need_numba()
    from keyaction.sim.code.compiled import compiled
    from keyaction.sim.code.straight import straight

    path, text = generated_module(structure, f"lanes_{real}", lambda: _text(structure, real))
    module: Any = load_module(path, text)
    for name in module.STRAIGHT:
        setattr(module, name, straight(module, name))
    made = {name: compiled(getattr(module, name), nogil=True, fastmath=FAST) for name in ("stroke", "repeat", "trace")}
    constants = compiled(module.constants)
    return LaneKernel(
        **made,
        constants=constants,
        layout=read_layout(module.LAYOUT),
        rows=module.ROWS,
        states=module.STATES,
        ways=module.WAYS,
        turning=module.TURNING,
        constant_count=module.CONSTANTS,
        width=WIDTH[real],
        real=real,
        source=text,
    )
