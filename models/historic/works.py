"""What is done to an action when it is regulated or repaired: whether it can be undone, and what trace it leaves.

Common practice, after the principles of conservation that original matter is kept, repaired as needed with like
materials, and all is recorded; no published table is known. Who is responsible for a historic instrument decides.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Undone = Literal["yes", "in part", "no"]


@dataclass(frozen=True)
class Work:
    """One kind of work.

    Attributes
    ----------
    name : str
    does : str
        In words, as a sheet has them.
    undone : {"yes", "in part", "no"}
        Whether it is reversible.
    trace : str
        What it leaves behind.
    swaps : bool
        Whether a part, or matter of one, is taken away and another put in its place: never in silence.
    """

    name: str
    does: str
    undone: Undone
    trace: str
    swaps: bool = False


_WORKS = (
    Work("turn-nut", "turn a nut or button on its thread", "yes", "none, if the thread is sound; count the turns"),
    Work("common-adjuster", "move a rail, beam or frame by its common adjuster", "yes", "none; mark where it stood"),
    Work("pressure", "set the pressure", "yes", "none; note weights or springs as found"),
    Work("bend-spring", "bend the spring", "in part", "the wire keeps its bend and hardens"),
    Work("swap-spring", "put in another spring", "yes", "the old one is kept, labelled with its note", swaps=True),
    Work("dip-washer", "lay in a washer of paper or cloth or take one out", "yes", "none; keep what is taken out"),
    Work("swap-felt", "put in other felt, cloth or leather", "no", "glue, fibres; a sample is kept", swaps=True),
    Work("clean-pin", "clean and polish a pin, free its bushing", "in part", "dirt and a little metal are gone"),
    Work("ease-guide", "ease a guide, slot or bushing", "no", "matter is taken away"),
    Work("straighten-wire", "straighten or align a pull-down", "in part", "the wire keeps its bend and hardens"),
    Work("move-lead", "add, move or take out a lead weight", "in part", "holes"),
    Work("lay-weight", "lay a weight on the key, nothing bored or glued", "yes", "none; label it with its note"),
    Work("fix-roller", "fix a loose or twisted roller arm", "in part", "glue or a pin"),
    Work("swap-roller", "put in another roller", "yes", "the old one is kept, labelled with its note", swaps=True),
    Work("reseat-pallet", "clean seat and pallet, raise the nap", "in part", "dirt is gone; the nap is raised"),
    Work("releather-pallet", "leather the pallet anew", "no", "the old leather is gone; a sample is kept", swaps=True),
    Work("swap-pallet", "put in another pallet", "in part", "the old one is kept; its hinge is cut", swaps=True),
    Work("add-relief", "build relief into pallet or run", "no", "new parts, bored or glued on", swaps=True),
    Work("draw-stops", "draw the stops that were meant", "yes", "none"),
    Work("look", "look and measure once more", "yes", "none"),
)  # fmt: skip
WORKS = {one.name: one for one in _WORKS}
"""Every kind of work, by name."""
FIRST = {
    "swap-spring": "bend-spring",
    "swap-felt": "dip-washer",
    "ease-guide": "clean-pin",
    "move-lead": "lay-weight",
    "swap-roller": "fix-roller",
    "releather-pallet": "reseat-pallet",
    "swap-pallet": "reseat-pallet",
    "add-relief": "look",
}
"""Of work that takes matter away or swaps a part: what takes less and is tried before it (common practice)."""
