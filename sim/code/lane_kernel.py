"""A batch module ready to run: generated, cached beside the scalar one, compiled by Numba."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from keyaction.models.train.equations import Structure, derived
from keyaction.sim.code.kernel import generated_module, load_module
from keyaction.sim.code.lanes import WIDTH, LaneModule
from keyaction.sim.code.need_numba import need_numba

FAST = {"contract", "nsz", "arcp", "reassoc"}
"""What the compiler may do to floating-point sums; NaN and infinity keep their meaning."""


@dataclass(frozen=True)
class LaneKernel:
    """Compiled functions over blocks of lanes, and the rows of their arrays."""

    stroke: Callable[..., None]
    repeat: Callable[..., None]
    trace: Callable[..., None]
    constants: Callable[..., None]
    rows: dict[str, int]
    constant_count: int
    width: int
    real: str
    source: str


@lru_cache(maxsize=32)
def load_lanes(structure: Structure, real: str = "float64") -> LaneKernel:
    """Generate, cache and compile the batch functions of a structure (about 2 s each the first time).

    Raises
    ------
    keyaction.sim.code.no_numba.NoNumba
        If Numba cannot be used.
    """
    need_numba()
    from numba import njit

    path = generated_module(structure, f"lanes_{real}", lambda: LaneModule(derived(structure), real).text())
    module: Any = load_module(path, f"keyaction_generated_{path.stem}")
    for name in module.HELPERS:
        setattr(module, name, njit(inline="always", fastmath=FAST)(getattr(module, name)))
    options: dict[str, Any] = {"cache": True, "nogil": True, "error_model": "numpy", "fastmath": FAST}
    made = {name: njit(**options)(getattr(module, name)) for name in ("stroke", "repeat", "trace")}
    constants = njit(cache=True, error_model="numpy")(module.constants)
    return LaneKernel(
        **made,
        constants=constants,
        rows=module.ROWS,
        constant_count=module.CONSTANTS,
        width=WIDTH[real],
        real=real,
        source=path.read_text(encoding="utf-8"),
    )
