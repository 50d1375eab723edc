"""What presses the key: a finger of given motion, a given force, or a mass laid on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from keyaction.models import algebra

if TYPE_CHECKING:
    from keyaction.models.algebra.builder import Builder, Port


HAND = "hand"
"""Account of the work of another hand that holds a key."""
PAD_DAMPING = 2.0
"""s/m in F = k x (1 + damping x'): a soft pad does not rebound (assumed)."""


def press(builder: Builder, front: Port) -> None:
    """Let the drive act on the key's front.

    The finger is a unilateral contact of stiffness ``k_finger`` at the position ``x_finger(t)``: it pushes
    and never pulls. A force drive is ``f_finger(t)`` straight on the key. With ``builder.rider`` the force
    acts on a mass that lies on the key, with the contact between them: that is how the shop measures.
    """
    here, builder.scope = builder.scope, algebra.FINGER
    law = algebra.Pull(
        builder.input("k_finger", "N/m", "stiffness of the finger"),
        builder.input("alpha_finger", "s/m", "damping of the finger"),
    )
    push = builder.input("f_finger", "N", "force of the drive")
    if builder.rider:
        mass = builder.coordinate("m", "way of the mass laid on the key, downwards", part=algebra.RIDER)
        builder.inertia(mass, builder.input("m_rider", "kg", "mass laid on the key"))
        builder.load(mass, push, "finger")
        top = algebra.Port("rider", mass, mass.q)
        contact = builder.element("", "finger", [(top, 1), (front, -1)], law, "contact of the mass and the key")
        force = contact.force
    else:
        x = builder.input("x_finger", "m", "way of the finger, downwards")
        v = builder.input("v_finger", "m/s", "speed of the finger")
        contact = builder.element("", "finger", [(front, -1)], law, "contact of finger and key", offset=x, drive_rate=v)
        builder.powers.setdefault("finger", []).append(contact.force * v)
        builder.load(front.coordinate, push * front.gradient, "finger")
        if front.pin:
            builder.bears(front.pin, push, front.along)
        force = contact.force + push
    builder.observe("key_force", force, "N", "force on the key front")
    builder.observe("key_travel", front.travel, "m", "travel of the key front")
    builder.observe("key_speed", front.gradient * front.coordinate.v, "m/s", "speed of the key front")
    builder.scope = here


def hold(builder: Builder, front: Port) -> None:
    """Let another hand hold the front of a key that couplers move, by a force that a drive may change."""
    held = builder.held = builder.outer("f_held", "N", "force with which another hand holds the key down").symbol
    builder.load(front.coordinate, held * front.gradient, HAND)
    if front.pin:
        builder.bears(front.pin, held, front.along)
