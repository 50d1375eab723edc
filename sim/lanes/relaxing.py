"""When a train without friction is taken to rest, whoever relaxes it."""

from __future__ import annotations

import numpy as np

from keyaction.sim.code.lane_kernel import LaneRows
from keyaction.sim.motion.integrate import Floats

RELAX_TIME, RELAX_LIMIT, RELAXED, FILLED = 0.05, 40, 1e-7, 1e-2
"""s of relaxing between looks, how many looks, and the changes (rad, m; Pa) below which a train is at rest."""


def looked_at(rows: LaneRows) -> tuple[list[int], Floats]:
    """Rows by which a train is seen to rest, and the changes below which it does."""
    pressures = [rows.rows[rows.states[i]] for i in rows.layout.of_kind("pressure")]
    ways = [rows.rows[name] for name in rows.ways]
    return [*ways, *pressures], np.array([RELAXED] * len(ways) + [FILLED] * len(pressures))[:, None]


def passing(rows: LaneRows) -> list[int]:
    """Rows of what moves that rest does not keep."""
    lasting = {rows.states[i] for i in rows.layout.of_kind("coordinate", "pressure")}
    return [row for name, row in rows.rows.items() if name not in lasting]
