"""What it costs that a rod or lever runs slantwise: closed forms in its splay.

The splay is the angle between a rod and the plane in which the levers at its ends turn. Both ends move in that plane,
alike, so a stiff rod is carried along parallel to itself, and the stroke is the same whatever its splay. Valid for
travels far below the rod's length l: a travel u of one end alone turns it by u sin(splay) cos(splay)/l at most.
"""

from __future__ import annotations

import math

from keyaction.models.many import maths

LARGEST = math.pi / 2
"""rad: a rod square to the plane of its levers moves nothing."""


def splay_of(sideways: float, within: float) -> float:
    """Splay (rad) of what leads `sideways` (m, either sense) over a length `within` the plane of its levers, m."""
    return math.atan2(abs(sideways), within)


def force_factor(splay: float) -> float:
    """Pull in a rod per force along the motion of its ends: 1/cos, since only that share of its pull is in it."""
    return 1.0 / maths.cos(_checked(splay))


def side_share(splay: float) -> float:
    """Side pull at each end, on pins and guides, per force along the motion: tan."""
    return maths.tan(_checked(splay))


def stiffness_factor(splay: float) -> float:
    """Stiffness along the motion per stiffness along the rod: cos².

    A travel u stretches the rod by u cos, and cos of its pull is in the line of the travel.
    """
    return maths.cos(_checked(splay)) ** 2


def extra_length(within: float, splay: float) -> float:
    """By how much a splayed rod is longer than the straight one of the length `within` the plane of its levers, m."""
    return within * (force_factor(splay) - 1.0)


def guide_share(splay: float, coefficient: float, ends: int = 2) -> float:
    """Friction per force along the motion of guides that hold the rod against the side pull at so many of its ends."""
    return ends * coefficient * side_share(splay)


def arm_factor(splay: float) -> float:
    """True arm of a splayed lever per arm in the side view: 1/cos.

    Whether its pin stands square to it or lies along a straight bridge, its ends move by the same ratio: on the bridge
    they move in the plane square to the pin, at the arms of the side view.
    """
    return force_factor(splay)


def _checked(splay: float) -> float:
    if not -LARGEST < splay < LARGEST:
        raise ValueError(f"a splay of {splay:g} rad; allowed: less than a right angle")
    return splay
