"""Single equilibria of a note, and its friction: what the tests hold against figures by hand."""

from __future__ import annotations

import numpy as np

from keyaction.sim.motion.note import NoteModel
from keyaction.sim.statics.balance import NoEquilibrium
from keyaction.sim.statics.press import DIP_FORCE, STIFFNESS, StaticPress, Ways

NEAR = 1e-6
"""m, N: how far from what was asked for an equilibrium may be."""


def friction_at(found: StaticPress, travel: np.ndarray | float) -> np.ndarray:
    """(Down-force - up-force) / 2 at equal key travel, N."""
    return (found.down.force_at(travel) - found.up.force_at(travel)) / 2


def equilibrium(
    model: NoteModel,
    sense: int = 1,
    travel: float | None = None,
    load: float | None = None,
    stiffness: float = STIFFNESS,
    dip_force: float = DIP_FORCE,
) -> dict[str, float]:
    """The first equilibrium at a key travel or under a load, on the way down from rest or up from the bottom.

    Parameters
    ----------
    model : NoteModel
    sense : int
        +1 down, -1 up: friction holds against that way.
    travel : float, optional
        Key travel from rest, m. Give it or `load`.
    load : float, optional
        Key force, N.
    stiffness, dip_force
        As for `press`.

    Returns
    -------
    dict
        Every state and observable by name, and the key's ``travel`` from rest.

    Raises
    ------
    ValueError
        Unless one of `travel` and `load` is given, and `sense` is +1 or -1.
    keyaction.sim.statics.balance.NoEquilibrium
        When there is none on that way.
    """
    if (travel is None) == (load is None) or sense not in (1, -1):
        raise ValueError("give a key travel or a load, and a sense of +1 (down) or -1 (up)")
    ways = Ways(model, stiffness, dip_force)
    name, level = ("key_travel", travel + ways.rest) if travel is not None else ("key_force", float(load or 0.0))
    course = ways.course(sense, (ways.pressed if sense > 0 else ways.back)((name, level)))
    if sense * (course[name][-1] - level) < -NEAR:
        shown = f"{travel * 1e3:.3g} mm of key travel" if travel is not None else f"{level:.3g} N"
        raise NoEquilibrium(f"no equilibrium at {shown} on the way {'down' if sense > 0 else 'up'}")
    names = (*course.balance.kernel.states, *course.balance.kernel.observables)
    values = np.concatenate([course.states[-1], course.seen[-1]])
    return dict(zip(names, values.tolist(), strict=True)) | {"travel": float(course.travel[-1])}
