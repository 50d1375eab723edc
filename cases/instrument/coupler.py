"""A coupler of an instrument: what is played moves what else, from which place to which, and its figures by note."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from keyaction.models.fields.values import Given
from keyaction.models.parts.base import Part
from keyaction.models.train.structure import Outlet

OCTAVE = 12
PITCHES = {"unison": 0, "octave-up": OCTAVE, "octave-down": -OCTAVE}
"""Words for the semitones from the played note to the one that goes with it."""
_APART = re.compile(r"[^a-z0-9]+")


@dataclass(frozen=True)
class Coupler:
    """A coupler that has been read and found sound.

    Parameters
    ----------
    name : str
        As the player says it, such as "II/I".
    kind : str
        ``lever``, ``sticker``, ``hook`` or ``tumbler``.
    part : type of Part
        The class that computes it.
    played, driven : str
        The division that is played, and the one that goes with it.
    shift : int
        Semitones from the played note to the driven one.
    takes, gives : (str, str)
        Part and end of the played division's train of which it takes hold, and of the driven division's that it moves.
    fields : mapping
        Dotted path of a field to its `Given` at each played note, in SI units.

    Examples
    --------
    >>> import keyaction as ka
    >>> coupler = ka.read_instrument("demo-instrument").couplers["II/I"]
    >>> coupler.played, coupler.driven, coupler.shift, coupler.pitch
    ('behind', 'high', 0, 'unison')
    """

    name: str
    kind: str
    part: type[Part]
    played: str
    driven: str
    shift: int
    takes: Outlet
    gives: Outlet
    fields: Mapping[str, Mapping[int, Given]]

    @property
    def pitch(self) -> str:
        """The shift in words."""
        return pitch_told(self.shift)

    def values(self, note: int) -> dict[str, Given]:
        """Its values at a played note: dotted field path to `Given`."""
        return {path: course[note] for path, course in self.fields.items() if note in course}


def pitch_told(shift: int) -> str:
    """A shift in words, such as "octave up"."""
    word = next((word for word, semitones in PITCHES.items() if semitones == shift), "")
    return word.replace("-", " ") or f"{shift:+d} semitones"


def slug(name: str) -> str:
    """A coupler's name in small letters, anything else a hyphen: two couplers may not share it."""
    return _APART.sub("-", name.lower()).strip("-")
