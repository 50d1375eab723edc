"""Which causes the figures do not part from the first: by Bayes factors, without what custom says of either.

Kass and Raftery, Bayes factors, 1995, section 3.2, call evidence of a factor of 3 to 20 "positive" and of 20 to 150
"strong" (from memory). Below 20 a cause that is likely enough to be named shares the place of the first.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from keyaction.sim.diagnosis.evidence import Evidence
from keyaction.sim.diagnosis.posterior import Belief, Model

STRONG = math.log(20.0)
"""Logarithm of the Bayes factor from which on two causes are parted."""
LEAST = 0.02
"""Probability, in place of the first and if anything is wrong at all, from which on a cause shares its place (assumed):
below it custom and figures together part the two."""


def unparted(found: Evidence, belief: Belief, cause: Sequence[str], first: int) -> list[tuple[int, float, Model]]:
    """Faults of other causes that share the place of the first.

    Parameters
    ----------
    found : Evidence
        Of the note.
    belief : Belief
    cause : sequence of str
        Of every fault.
    first : int
        Place of the fault that is told first.

    Returns
    -------
    list of (int, float, Model)
        The likeliest first, one of every cause: its place, the probability that the cause stands in place of the
        first, and the model that it stands in.
    """
    model = next((model for model, _ in belief.models if first in model.faults), None)
    if model is None:
        return []
    beside = next((i for i in model.faults if i != first), None)
    logs: dict[str, tuple[float, int]] = {}
    for i, name in enumerate(cause):
        if beside is None or name != cause[beside]:
            logs[name] = max(logs.get(name, (-math.inf, -1)), (_log(found, model, beside, i), i))
    shares = _instead(belief, cause, cause[first])
    least = logs[cause[first]][0] - STRONG
    chosen = [
        (i, shares[name], Model((i,) if beside is None else (i, beside), model.misread))
        for name, (log, i) in logs.items()
        if name != cause[first] and log > least and shares.get(name, 0.0) >= LEAST * belief.faulty
    ]
    return sorted(chosen, key=lambda one: -one[1])


def _log(found: Evidence, model: Model, beside: int | None, i: int) -> float:
    """Logarithm of the marginal likelihood of a model with another fault in place of its first."""
    if beside is not None:
        return float(found.two[i, beside])
    return float(found.one[i] if model.misread < 0 else found.misread_one[model.misread, i])


def _instead(belief: Belief, cause: Sequence[str], first: str) -> Mapping[str, float]:
    """Probability of every cause in models without the first."""
    shares: dict[str, float] = {}
    for model, share in belief.models:
        names = {cause[i] for i in model.faults}
        for name in names if first not in names else ():
            shares[name] = shares.get(name, 0.0) + share
    return shares
