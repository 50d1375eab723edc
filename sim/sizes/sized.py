"""What is found of one note's pallet: as drawn, the smallest that feeds the stops, and what is said of it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from keyaction.models.formulas.openings import HIGHEST, custom_length, gap_for, groove_share
from keyaction.models.parts.pallet import Pallet
from keyaction.models.parts.pneumatic_lever import PneumaticLever
from keyaction.models.train.train import Train
from keyaction.sim.sizes.shape import Shape
from keyaction.sim.sizes.supply import Feed
from keyaction.sim.sizes.tried import Tried
from keyaction.sim.wind.stops import groove_of

FEEDS, EYE, WIDTH = "share", "eye", "width"
"""What stands against a still shorter opening: the share; the eye, which could not stay, for no lighter touch; the
opening's width, as none is shorter than wide."""


@dataclass(frozen=True)
class Sized:
    """The pallet of one note.

    Attributes
    ----------
    note : int
    wanted : float
        Share of the pressure of the box with no key down that the groove is to hold.
    stops : tuple of str
        That are drawn; empty where the case gives the toe area of all together.
    toes, leak : float
        Of the groove, m2.
    outlet : float
        Both with their flow coefficient, m2.
    supply : Feed
        What feeds the box.
    others : float
        What the chord's other notes draw from the box, as one orifice, m2.
    inlet : float
        Effective area that the way in needs, m2; NaN where none is enough.
    drawn : Tried
        As the case has it.
    custom : float
        Length that custom gives the opening of this groove at this turn, m; NaN where its section is not known.
    smallest : Tried or None
        The shortest opening that reaches the share; None where there is none.
    kept : Tried or None
        The shortest with eye and spring in their places; the same one where they keep them.
    limit : str
        What stands against a shorter one: `FEEDS`, `EYE` or `WIDTH`; empty where there is none.
    why : str
        Why there is none, in words.
    remarks : tuple of str
    presses : int
        Slow presses that it took.
    seat_leak : float
        Open area past the shut pallet, m2.
    pedal : bool
        Whether the key is for feet.
    left_out : str
        Why this program seeks no size of such a pallet at all; empty where it does.

    Examples
    --------
    >>> import keyaction as ka
    >>> (one,) = ka.smallest_pallets(ka.read_case("demo-wood"), "C4", keep_eye=True)
    >>> one.limit, round(1e3 * one.smallest.length), one.too_small  # mm; a shorter pallet would end before its eye
    ('eye', 155, False)
    >>> round(one.saved, 1)  # N at the finger
    0.2
    """

    note: int
    wanted: float
    stops: tuple[str, ...]
    toes: float
    leak: float
    outlet: float
    supply: Feed
    others: float
    inlet: float
    drawn: Tried
    custom: float = math.nan
    smallest: Tried | None = None
    kept: Tried | None = None
    limit: str = ""
    why: str = ""
    remarks: tuple[str, ...] = ()
    presses: int = 1
    seat_leak: float = 0.0
    pedal: bool = False
    left_out: str = ""

    def share_of(self, one: Tried | None, chord: bool = False) -> float:
        """What the groove holds of the pressure of the box with no key down: alone, or with the chord on.

        Closed form of the two orifices, with the lift of the press; the press itself gives `Tried.share`.
        """
        if one is None or one.passed is None or self.supply.pressure <= 0.0:
            return math.nan
        return self.supply.share(one.passed.inlet, self.outlet, self.others if chord else 0.0)

    def share_of_box(self, one: Tried | None) -> float:
        """What it holds of the pressure of the box as it then is: whether the pallet robs, and not the trunk."""
        return math.nan if one is None or one.passed is None else groove_share(one.passed.inlet, self.outlet)

    @property
    def too_small(self) -> bool:
        """Whether the opening as drawn does not reach the share."""
        share = self.share_of(self.drawn, chord=True)
        return bool(share < self.wanted * (1 - 1e-9))

    @property
    def lift_wanted(self) -> float:
        """Lift at the eye (m) at which the opening as drawn would reach the share; infinite where none does."""
        one = self.drawn.passed
        if one is None or not math.isfinite(self.inlet) or self.toes <= 0.0 or one.gap <= self.seat_leak:
            return math.nan
        flow = one.inlet * math.hypot(one.gap, one.slot) / (one.gap * one.slot)
        return (
            max(gap_for(self.inlet / flow, one.slot) - self.seat_leak, 0.0)
            / (one.gap - self.seat_leak)
            * self.drawn.lift
        )

    @property
    def lacks(self) -> str:
        """What an opening as drawn that is too small wants: ``lift`` where a usual one would feed it, else ``length``.

        Empty where it is large enough, or where nothing is known.
        """
        if not self.too_small or math.isnan(self.lift_wanted):
            return ""
        return "lift" if self.lift_wanted <= HIGHEST else "length"

    @property
    def saved(self) -> float:
        """Pluck force that the smallest opening saves, N; below zero where it costs."""
        return math.nan if self.smallest is None else self.drawn.pluck - self.smallest.pluck


def custom_of(shape: Shape, turn: float) -> float:
    """Length that custom gives the opening, m; NaN where the groove's section or the turn is not known."""
    groove, pallet = shape.groove.values, shape.pallet.values
    if not groove.has("width", "depth") or not math.isfinite(turn):
        return math.nan
    section = groove.number("width") * groove.number("depth")
    return custom_length(section, turn, pallet.number("hinge_to_opening"), shape.width)


def remarks_of(train: Train) -> list[str]:
    """What a reader of a note's sizes should know of its train."""
    said, groove = [], groove_of(train)
    if 0.0 < groove.figure("feet") < groove.values.number("leak"):
        said.append("the groove leaks more than its toes take: most of the wind that is fed here is lost")
    if sum(part.role == "pallet" for part in train.parts) > 1:
        said.append(f"several pallets: {train.role('pallet').name}, the first, is sized for the groove behind it alone")
    return said


def left_out(train: Train) -> str:
    """Why no size is sought of the pallets of a train; empty where it is."""
    pallet = train.role("pallet")
    before = train.parts[: train.parts.index(groove_of(train))]
    feeding = [part for part in before if part.role == "pallet"]
    if len(feeding) > 1:
        names = " and ".join(part.name for part in feeding)
        return f"{names} feed one groove together: no size is sought, as each hangs on the other; see run and chord"
    lever = next((part for part in before if part.part.kind == PneumaticLever.kind), None)
    if lever is not None:
        moved = f"{pallet.name} is moved by {lever.name}, a {lever.part.title}"
        return f"{moved}: the key does not feel its size, none is sought"
    if pallet.part.kind != Pallet.kind:
        return f"{pallet.name} is a {pallet.part.title}: sizes are sought of plain pallets alone"
    return ""
