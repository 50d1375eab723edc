"""The figures of a sheet that is filled in at the instrument: what each is, in which unit, and with which tool."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from keyaction.models.units.names import STANDARD_GRAVITY

Tool = Literal["ruler", "balance"]

RULER = 0.2e-3
"""m: standard deviation of what is read with a ruler, a depth block or a feeler (common practice)."""
BALANCE = 2e-3 * STANDARD_GRAVITY
"""N: standard deviation of a mass laid on a key, weights of a few grams taken (common practice)."""
SPEECH = ("speaks", "weak", "mute", "ciphers", "hangs")
"""What a note may do, in the words of the sheet: the second speaks weakly, the third not at all."""


@dataclass(frozen=True)
class Measurable:
    """One figure that is read off at a key.

    Attributes
    ----------
    name : str
        In the program.
    heading : str
        In sheets and files.
    unit : str
        SI.
    tool : {"ruler", "balance"}
        What it is read with, which says how far it can be off.
    low, high : float
        What a reading can be, SI.
    wind : bool or None
        Whether the wind is on; None where it does not matter.
    doc : str
        How it is measured.
    """

    name: str
    heading: str
    unit: str
    tool: Tool
    low: float
    high: float
    wind: bool | None
    doc: str

    @property
    def said(self) -> str:
        """As a sentence has it: "up-weight (wind off)"."""
        what, _, state = self.heading.partition(", ")
        return f"{'up-weight' if what == 'up' else what}{f' ({state})' if state else ''}"


_WEIGHTS = (
    ("pluck", "smallest mass on the key front that takes the key through the pluck"),
    ("hold", "smallest mass that keeps the pressed key on its bottom felt"),
    ("up", "largest mass that the key lifts from the bottom until the pallet seats"),
)
MEASURABLE: tuple[Measurable, ...] = (
    Measurable(
        "level", "level", "m", "ruler", -0.03, 0.03, None,
        "height of the resting key front above the line of a straightedge at the level that is drawn; below 0: lower",
    ),
    Measurable("dip", "dip", "m", "ruler", 0.0, 0.05, None, "way of the key front from rest to its firm bottom"),
    Measurable("play", "play", "m", "ruler", 0.0, 0.03, None, "way of the key front before the run pulls"),
    Measurable(
        "point", "pluck point", "m", "ruler", 0.0, 0.05, True, "way of the key front, slowly pressed, to the pluck"
    ),
    Measurable("lift", "lift", "m", "ruler", 0.0, 0.05, None, "lift of the pallet at its eye, the key at the bottom"),
    *(Measurable(name, name, "N", "balance", 0.0, 50.0, True, f"{doc}, wind on") for name, doc in _WEIGHTS),
    *(
        Measurable(f"{name}_off", f"{name}, wind off", "N", "balance", 0.0, 50.0, False, f"{doc}, wind off")
        for name, doc in _WEIGHTS
    ),
)  # fmt: skip
"""In the order of the sheet."""
NAMES = tuple(one.name for one in MEASURABLE)
BY_NAME = {one.name: one for one in MEASURABLE}
