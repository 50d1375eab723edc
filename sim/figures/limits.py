"""The thresholds of the figures: one name each, with its unit and why it is that much.

What integrates with SciPy, what watches in lanes and what draws all read them here.
"""

from __future__ import annotations

from keyaction.models.train.speech import EMPTY as EMPTY
from keyaction.models.train.speech import FULL as FULL

# -- the key ---------------------------------------------------------------------------------------------
SPEECH_START = 1e-3
"""m of key travel from which opening time and speech delay count, so that usual play is not in them."""
TAKEN_UP = 0.010
"""N above its load at rest at which a rod counts as carrying: 1 gf, small beside any pluck."""
NO_FORCE = 0.010
"""N at the key below which a force is none and nothing is told as a share of it: 1 gf, small beside any pluck."""

# -- the groove, as shares of the box pressure -----------------------------------------------------------
HALF = 0.5
"""Open: where the opening time ends, amid the steep rise."""
NOTHING = 1e-9
"""Share below which a pressure is none: what iterations leave over."""

# -- the pallet, at its eye ------------------------------------------------------------------------------
REOPENED = 5e-5
"""m of gap beyond which a seated pallet has opened again: small beside any lift."""
NEAR, FAR = 0.5e-3, 3e-3
"""m of gap between which the speed after the pluck is taken: clear of the seat, and well before the full lift."""

# -- repetition ------------------------------------------------------------------------------------------
AGREES = 0.11
"""Hz by which two searches of a repetition rate may differ: one step of the search."""

LIMITS = {
    "": "not up to the highest rate tried",
    "not full": "the groove did not fill",
    "not empty": "the groove did not empty",
    "not seated": "the pallet did not seat",
    "beyond": "a body turned further than the equations hold",
    "failed": "the motion could not be integrated",
}
"""What can limit a repetition rate, in words."""


MORE = "+"
"""Behind a repetition rate that is but the highest tried."""


def still_passes(limit: str) -> bool:
    """Whether the words of a limit say that the highest rate tried passes, so that the rate may be higher."""
    return limit.startswith(LIMITS[""])


# -- draws ----------------------------------------------------------------------------------------------
FEW = 59
"""Draws from which on a 5 % edge lies among them, and not below all, at 95 % confidence: 0.95**59 < 5 % (S. S. Wilks,
Ann. Math. Stat. 12, 1941)."""
