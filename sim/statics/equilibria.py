"""Equations of equilibrium of a train with slips, as Newton's method takes them.

In the loops of `keyaction.sim.statics.path`, which says what the arrays are.
"""

from __future__ import annotations

from collections.abc import Callable
from math import exp

from keyaction.sim.statics.linear import Floats, Given, Places, Quick, Table

Equations = Callable[..., None]

SLIDING = 1e-3
"""What a bushing's friction may lack of its whole, as a share of it, where it slides."""
FORWARD = 1e-7
"""m: step of the difference quotient over the finger's way."""


def slipped(
    sense: float, z: Floats, u: Floats, far: Floats, owner: Places, reach: Floats, found: Floats, slope: Floats
) -> None:
    """Slips at z, and their slopes: they follow the way that their owners go on.

    What slides already does so too where the path folds back; friction that still holds does so against both ways.
    """
    for i in range(len(u)):
        found[i] = u[i]
        slope[i] = 0.0
        ahead = sense * (z[owner[i]] - far[i]) / reach[i]
        if ahead > 0.0:
            found[i] = sense - (sense - u[i]) * exp(-ahead)
            slope[i] = (sense - found[i]) * sense / reach[i]
        elif abs(sense - u[i]) > SLIDING:
            found[i] = (sense + u[i]) * exp(ahead) - sense
            slope[i] = (sense + found[i]) * sense / reach[i]


def placed(z: Floats, u: Floats, unknown: Places, slips: Places, scale: Floats, y: Floats) -> None:
    """The full state, at rest, into an array of noughts."""
    for i in range(len(unknown)):
        y[unknown[i]] = z[i] * scale[i]
    for i in range(len(slips)):
        y[slips[i]] = u[i]


def balanced(
    rates: Equations,
    slopes: Equations,
    p: Given,
    d: Given,
    x0: int,
    way: float,
    y: Floats,
    unknown: Places,
    rows: Places,
    slips: Places,
    out: Floats,
    ahead: Floats,
    whole: Table,
    off: Floats,
    along: Floats,
    by: Table,
) -> None:
    """What is out of balance with the finger at `way`, and by how much over its way, over unknowns and slips."""
    d[x0] = way
    rates(0.0, y, p, d, out)
    slopes(0.0, y, p, d, whole)
    d[x0] += FORWARD
    rates(0.0, y, p, d, ahead)
    for i in range(len(rows)):
        off[i] = out[rows[i]]
        along[i] = (ahead[rows[i]] - out[rows[i]]) / FORWARD
        for j in range(len(unknown)):
            by[i, j] = whole[rows[i], unknown[j]]
        for k in range(len(slips)):
            by[i, len(unknown) + k] = whole[rows[i], slips[k]]


def residual(
    rates: Equations,
    slopes: Equations,
    p: Given,
    d: Given,
    x0: int,
    unknown: Places,
    rows: Places,
    slips: Places,
    owner: Places,
    scale: Floats,
    reach: Floats,
    sense: float,
    z: Floats,
    u: Floats,
    far: Floats,
    now: Floats,
    give: Floats,
    y: Floats,
    out: Floats,
    ahead: Floats,
    whole: Table,
    off: Floats,
    along: Floats,
    by: Table,
    m: Quick,
) -> None:
    """Newton's equations but for the last: slopes, and less what is out of balance; each over its largest slope."""
    n = len(unknown)
    slipped(sense, z, u, far, owner, reach, now, give)
    placed(z, now, unknown, slips, scale, y)
    way = z[n] * scale[n]
    balanced(rates, slopes, p, d, x0, way, y, unknown, rows, slips, out, ahead, whole, off, along, by)
    for i in range(n):
        for j in range(n):
            by[i, j] *= scale[j]
        for k in range(len(slips)):
            if by[i, n + k] != 0.0:
                by[i, owner[k]] += by[i, n + k] * give[k]
        along[i] *= scale[n]
        largest = 0.0
        for j in range(n):
            if not abs(by[i, j]) <= largest:
                largest = abs(by[i, j])
        if not abs(along[i]) <= largest:
            largest = abs(along[i])
        if largest == 0.0:
            largest = 1.0
        for j in range(n):
            m[i, j] = by[i, j] / largest
        m[i, n] = along[i] / largest
        m[i, n + 1] = -off[i] / largest


def further_on(sense: float, z: Floats, u: Floats, far: Floats, owner: Places, further: Floats) -> None:
    """Ways of the slips' owners at an equilibrium that the path has come to."""
    for i in range(len(far)):
        further[i] = z[owner[i]]
        if sense * (far[i] - z[owner[i]]) > 0.0 and abs(sense - u[i]) < SLIDING:
            further[i] = far[i]


COMPILED = ("slipped", "placed", "balanced", "residual", "further_on")
"""What Numba compiles, in this order."""
