"""Events along a path of equilibria: what passes zero, and where within a step it does.

In the loops of `keyaction.sim.statics.path`, which says what the arrays are.
"""

from __future__ import annotations

from keyaction.sim.statics.equilibria import Equations, placed, slipped
from keyaction.sim.statics.linear import Floats, Given, Places, Table, moved

NEAR = 1e-6
"""Step along the path over which its slope is taken, as a share of the whole press."""
TOUCH = 1e-8
"""m that the finger is pressed in at the start of the way down and at the end of the way up."""
FOUND, FINE, TRIES = 1e-10, 1e-13, 60
"""Where an event is, as a share of the whole press; a value that is none; most trials."""
EVENTS, EXTREME, END = 5, 3, 4
"""Events that are sought; the highest and lowest key force among them, and what ends the path."""
PRESSED = EVENTS
"""Place behind them: how far the finger is pressed in, m."""
LOW, HIGH, AT_LOW, AT_HIGH, KEPT, TRIAL, BRACKET = 0, 1, 2, 3, 4, 5, 6
"""Places in an event's bracket: shares of the step, values there, the end that stayed (-1, 1), trials; how many."""


def looked(
    observe: Equations,
    p: Given,
    d: Given,
    x0: int,
    way: float,
    y: Floats,
    columns: Places,
    states: Table,
    row: Table,
    instant: Floats,
    found: Floats,
) -> None:
    """A few observables with the finger at `way`; nought where the column is none."""
    d[x0] = way
    for i in range(len(y)):
        states[0, i] = y[i]
    observe(instant, states, p, d, row)
    for i in range(len(columns)):
        found[i] = 0.0
        if columns[i] >= 0:
            found[i] = row[0, columns[i]]


def events(
    observe: Equations,
    p: Given,
    d: Given,
    x0: int,
    unknown: Places,
    slips: Places,
    owner: Places,
    scale: Floats,
    reach: Floats,
    columns: Places,
    wanted: Floats,
    sense: float,
    z: Floats,
    u: Floats,
    far: Floats,
    tangent: Floats,
    near: Floats,
    now: Floats,
    give: Floats,
    y: Floats,
    states: Table,
    row: Table,
    instant: Floats,
    here: Floats,
    found: Floats,
) -> None:
    """What passes zero at a place of its own.

    The seat left, the bottom felt touched, a fold of the finger's way, the highest and lowest key force, and the end:
    going down the dip force on the bottom felt, going up the finger leaving the key, or what is sought before it.
    After these how far the finger is pressed in. `columns` has gap, bottom felt, pad, key force, what is sought.
    """
    n = len(unknown)
    slipped(sense, z, u, far, owner, reach, now, give)
    placed(z, now, unknown, slips, scale, y)
    looked(observe, p, d, x0, z[n] * scale[n], y, columns, states, row, instant, here)
    pad = here[2]
    found[0] = here[0]
    found[1] = here[1]
    found[2] = tangent[n]
    if sense > 0.0:
        found[END] = min(here[3] - wanted[0], wanted[1] * here[1])
    else:
        found[END] = TOUCH - pad
    if columns[4] >= 0:
        found[END] = max(found[END], sense * (here[4] - wanted[2]))
    found[PRESSED] = pad
    moved(z, NEAR, tangent, near)
    slipped(sense, near, u, far, owner, reach, now, give)
    placed(near, now, unknown, slips, scale, y)
    looked(observe, p, d, x0, near[n] * scale[n], y, columns, states, row, instant, here)
    found[3] = here[2] - pad


def crossing(before: Floats, after: Floats, event: int) -> int:
    """The next event, from this one on, that passes zero within a step; all counted when there is none."""
    while event < EVENTS and not before[event] * after[event] < 0.0:
        event += 1
    return event


def trial(bracket: Floats) -> float:
    """Share of the step at which a straight line passes zero."""
    over = bracket[LOW] * bracket[AT_HIGH] - bracket[HIGH] * bracket[AT_LOW]
    return float(over / (bracket[AT_HIGH] - bracket[AT_LOW]))


def bracketed(before: float, after: float, bracket: Floats) -> float:
    """An event's bracket laid round the whole step; the first trial."""
    bracket[LOW] = 0.0
    bracket[HIGH] = 1.0
    bracket[AT_LOW] = before
    bracket[AT_HIGH] = after
    bracket[KEPT] = 0.0
    bracket[TRIAL] = 0.0
    return trial(bracket)


def first_trial(event: int, before: Floats, after: Floats, beside: Floats, bracket: Floats) -> float:
    """The bracket of an event within a step, that of the extreme force as it is known by now; the first trial."""
    if event != EXTREME:
        return bracketed(before[event], after[event], bracket)
    for i in range(BRACKET):
        bracket[i] = beside[i]
    return trial(bracket)


def seen_beside(bracket: Floats, share: float, value: float) -> None:
    """The bracket of an event drawn closer by a trial of another's: a force has its extreme where a contact begins."""
    if share > bracket[LOW] and share < bracket[HIGH]:
        if (value > 0.0) == (bracket[AT_HIGH] > 0.0):
            bracket[HIGH] = share
            bracket[AT_HIGH] = value
        else:
            bracket[LOW] = share
            bracket[AT_LOW] = value


def narrowed(bracket: Floats, share: float, value: float, length: float) -> int:
    """Whether the event is found; else the bracket drawn closer, by half the weight of an end that lasts."""
    bracket[TRIAL] += 1.0
    if abs(value) < FINE:
        return 1
    if (value > 0.0) == (bracket[AT_HIGH] > 0.0):
        bracket[HIGH] = share
        bracket[AT_HIGH] = value
        if bracket[KEPT] == 1.0:
            bracket[AT_LOW] /= 2
        bracket[KEPT] = 1.0
    else:
        bracket[LOW] = share
        bracket[AT_LOW] = value
        if bracket[KEPT] == -1.0:
            bracket[AT_HIGH] /= 2
        bracket[KEPT] = -1.0
    if (bracket[HIGH] - bracket[LOW]) * length < FOUND or bracket[TRIAL] >= TRIES:
        return 1
    return 0


COMPILED = ("looked", "events", "crossing", "trial", "bracketed", "first_trial", "seen_beside", "narrowed")
"""What Numba compiles, in this order."""
