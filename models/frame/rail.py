"""A rail of levers that floats: its load draws it one way, the rods of all its notes hold it."""

from __future__ import annotations

from dataclasses import dataclass

from keyaction.models.frame.member import Direction


@dataclass(frozen=True)
class Rail:
    """The floating rail of a division.

    Attributes
    ----------
    carries : tuple of str
        The levers whose pins sit on it.
    towards : str
        The direction in which its load draws it; so it takes up the slack of its rods.
    mass : float
        Of the rail and all that goes with it, kg.
    load : float
        The force towards that direction with the rail at its centre, N: its own weight where it hangs, a weight over a
        lever, or a spring.
    rate : float
        How the load falls for each metre that the rail goes that way, N/m: 0 of a weight.
    friction : float
        Force that just moves the unloaded rail in its guides, N.
    ahead, behind : float
        From its centre to the end stop towards `towards`, and to that against it, m.
    stop_stiffness : float
        Of the end stops, N/m.
    damping : float
        Of its motion in the guides beside their friction, N s/m.
    fixed : bool
        Whether it is made fast at its centre: the same action with a rail that does not move.
    """

    carries: tuple[str, ...]
    towards: Direction
    mass: float
    load: float
    rate: float = 0.0
    friction: float = 0.0
    ahead: float = 0.005
    behind: float = 0.005
    stop_stiffness: float = 1e5
    damping: float = 0.0
    fixed: bool = False
