"""All that a case says of its seasons: members, rail, and the climate in which it was regulated."""

from __future__ import annotations

from dataclasses import dataclass

from keyaction.models.climate.year import Year
from keyaction.models.frame.member import Member
from keyaction.models.frame.rail import Rail


@dataclass(frozen=True)
class Frame:
    """Members, rail and season of an action case.

    Attributes
    ----------
    members : tuple of Member
    rail : Rail, optional
    temperature, humidity : float
        Of the air in which it was regulated and in which wood and air were at rest, K and 0 to 1: lengths, nuts and
        the rail's centre are those of that day.
    year : Year, optional
        The climate that the case names.
    rod_finish : str
        Finish of wooden rods.
    warnings : tuple of str
        What `check` should say.
    """

    members: tuple[Member, ...]
    rail: Rail | None
    temperature: float
    humidity: float
    year: Year | None = None
    rod_finish: str = "bare"
    warnings: tuple[str, ...] = ()
