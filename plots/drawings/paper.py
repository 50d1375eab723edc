"""Sheets of paper and scales.

Sizes: ISO 216, A series, mm. Scales: ISO 5455:1979, *Technical drawings - Scales*: 2, 5 and 10 to 1 and tenfold, 1:1,
1 to 2, 5 and 10 and tenfold.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from keyaction.cases.text.near import hint

PAPERS: dict[str, tuple[float, float]] = {
    "A4": (210.0, 297.0),
    "A3": (297.0, 420.0),
    "A2": (420.0, 594.0),
    "A1": (594.0, 841.0),
    "A0": (841.0, 1189.0),
}
"""Short and long side, mm; smallest first."""


class BadSheet(ValueError):
    """A paper or a scale that there is not."""


@dataclass(frozen=True)
class Scale:
    """A scale: so much on paper to so much of the real thing."""

    paper: int
    real: int

    @property
    def factor(self) -> float:
        """mm on paper for a mm of the real thing."""
        return self.paper / self.real

    def __str__(self) -> str:
        return f"{self.paper}:{self.real}"


SCALES: tuple[Scale, ...] = (
    *(Scale(n, 1) for n in (50, 20, 10, 5, 2, 1)),
    *(Scale(1, n * ten) for ten in (1, 10, 100, 1000) for n in (2, 5, 10)),
)
"""Largest first."""
FULL = Scale(1, 1)


@dataclass(frozen=True)
class Paper:
    """A sheet as it lies before one.

    Parameters
    ----------
    name : str
    width, height : float
        mm.
    """

    name: str
    width: float
    height: float


def lying(name: str) -> Paper:
    """The paper with its long side level."""
    return Paper(name, PAPERS[name][1], PAPERS[name][0])


def standing(name: str) -> Paper:
    """The paper with its long side upright."""
    return Paper(name, *PAPERS[name])


def read_paper(text: str) -> str:
    """The name of a paper.

    Raises
    ------
    BadSheet
        If it is none of A4 to A0.
    """
    name = text.strip().upper()
    if name not in PAPERS:
        known = ", ".join(PAPERS)
        raise BadSheet(f"paper '{text}' is not known: {known} (ISO 216){near(name, PAPERS)}")
    return name


def read_scale(text: str) -> Scale:
    """A scale such as ``"1:5"``.

    Raises
    ------
    BadSheet
        If it is none of ISO 5455; the message names the nearest.
    """
    found = re.fullmatch(r"\s*([0-9]{1,5})\s*[:/]\s*([0-9]{1,5})\s*", text)
    if found is None or int(found[1]) == 0 or int(found[2]) == 0:
        raise BadSheet(f"scale '{text}' is not of the form PAPER:REAL, such as 1:5")
    factor = int(found[1]) / int(found[2])
    for scale in SCALES:
        if scale.paper * int(found[2]) == scale.real * int(found[1]):
            return scale
    nearest = min(SCALES, key=lambda one: max(one.factor / factor, factor / one.factor))
    known = ", ".join(str(one) for one in SCALES if 0.005 <= one.factor <= 10)
    raise BadSheet(f"scale '{text}' is none of ISO 5455 ({known} ...); the nearest is {nearest}")


def near(name: str, known: Iterable[str]) -> str:
    """The end of a message about a name that is not known: the nearest, if one is near."""
    found = hint(name, known)
    return found if "did you mean" in found else ""
