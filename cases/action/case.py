"""A case that has been read and found sound."""

from __future__ import annotations

import csv
import hashlib
import inspect
import io
import json
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from keyaction.cases.action.strokes import Strokes
from keyaction.cases.text.assumed import Assumption
from keyaction.cases.text.near import hint
from keyaction.models.fields.values import Given, Scalar
from keyaction.models.materials.library import Library
from keyaction.models.notes import Naming, note_name
from keyaction.models.parts.base import Part
from keyaction.models.spreads.table import Spread
from keyaction.models.train.given import AnyPart

if TYPE_CHECKING:
    from keyaction.cases.layout.drawn import Drawn
    from keyaction.cases.layout.within import Within
    from keyaction.models.frame.frame import Frame
    from keyaction.models.historic.historic import Historic
    from keyaction.models.instrument.layout import Layout

OWN = "keyaction.models."
"""Where the program's own parts live; a run's fingerprint has the program's sources, and those of other parts."""


def source_said(part: type[Part]) -> str:
    """A part's name and source, as far as Python knows it."""
    try:
        return f"{part.__module__}.{part.__qualname__}\n{inspect.getsource(part)}"
    except (OSError, TypeError):
        return f"{part.__module__}.{part.__qualname__}"


def _said(text: str) -> str:
    """What a case says, without its remarks and blank space."""
    return json.dumps(tomllib.loads(text), sort_keys=True, default=str)


def cells_said(text: str) -> str:
    """What a CSV file says, without its remarks and blank space."""
    rows = [[cell.strip() for cell in row] for row in csv.reader(io.StringIO(text))]
    return json.dumps([row for row in rows if any(row) and not row[0].startswith("#")])


@dataclass(frozen=True)
class PartSpec:
    """One part of the train.

    Parameters
    ----------
    kind : str
        The kind of part, as registered.
    name : str
        Its name in the case, unique.
    part : type of Part
        The class that computes it.
    fields : mapping
        Dotted path of a field ("pin.diameter", "leads.0.mass") to its `Given` at each note, in SI units.
    after : (str, str), optional
        Of a rod that branches off: the part and its outlet from which it leads on, in place of the last body before.
    """

    kind: str
    name: str
    part: type[Part]
    fields: Mapping[str, Mapping[int, Given]]
    after: tuple[str, str] | None = None

    def given(self, values: Mapping[str, Given]) -> AnyPart:
        """The part with these values, as `keyaction.models.train.train.build_train` takes it."""
        named = (self.part, self.name, values)
        return (*named, self.after) if self.after else named


@dataclass(frozen=True)
class Case:
    """Everything a case file says, checked and in SI units; from `read_case`.

    Parameters
    ----------
    path : Path
        The case file.
    text : str
        Its text.
    title, description : str
        For people.
    naming : {"scientific", "trade", "german"}
        How notes are written in the file and shown.
    compass : tuple of int
        The notes, rising; C4 = 60.
    parts : tuple of PartSpec
        From the finger to the wind.
    library : Library
        Materials, the case's own included.
    strokes : Strokes
        What is played.
    files : mapping
        Name to text of the CSV files beside the case.
    settings : tuple of (str, str or number)
        Values set from outside the file, for the whole compass.
    warnings : tuple of str
        One line for every field with values outside what the trade uses.
    spreads : mapping of str to Spread
        How uncertain figures are, where the case says so itself: by ``PART.FIELD`` or ``materials.NAME.PROPERTY``.
    layout : Layout, optional
        Where keys, pallets and what lies between stand; None of a case that says nothing of it.
    drawn : Drawn, optional
        What the layout is made from.
    within : Within, optional
        The instrument that it was read in.
    frame : Frame, optional
        Members, rail and season; None of a case that says nothing of its seasons.
    historic : Historic, optional
        What is historic in it; None of a case that says nothing of that.

    Examples
    --------
    >>> import keyaction as ka
    >>> case = ka.read_case("demo-wood")
    >>> len(case.compass), [part.name for part in case.parts][:3]
    (56, ['key', 'riser', 'lower-square'])
    >>> case.strokes.down  # s
    0.04
    """

    path: Path
    text: str
    title: str
    description: str
    naming: Naming
    compass: tuple[int, ...]
    parts: tuple[PartSpec, ...]
    library: Library
    strokes: Strokes
    files: Mapping[str, str]
    settings: tuple[tuple[str, Scalar], ...]
    warnings: tuple[str, ...]
    spreads: Mapping[str, Spread] = field(default_factory=dict)
    layout: Layout | None = None
    drawn: Drawn | None = None
    within: Within | None = None
    frame: Frame | None = None
    historic: Historic | None = None

    def __repr__(self) -> str:
        ends = " to ".join(note_name(end, self.naming) for end in (self.compass[0], self.compass[-1]))
        return f"<Case '{self.title}': {ends}, {', '.join(part.name for part in self.parts)}>"

    @cached_property
    def assumptions(self) -> tuple[Assumption, ...]:
        """Every value that the case left to the program and that a figure comes of."""
        from keyaction.cases.action.reliance import assumptions_of  # which reads cases

        return assumptions_of(self)

    @property
    def division(self) -> str:
        """The division of the instrument whose action it is; empty of a case alone."""
        return self.within.division if self.within else ""

    @property
    def fingerprint(self) -> str:
        """SHA-256 (hexadecimal) of what the case says, its CSV files, its instrument and the values set from outside.

        Remarks, blank space, and the order of fields say nothing.
        """
        digest = hashlib.sha256()
        pieces = [_said(self.text)]
        pieces += [piece for name in sorted(self.files) for piece in (name, cells_said(self.files[name]))]
        pieces += [f"{path} = {value!r}" for path, value in self.settings]
        pieces += [self.division, _said(self.within.text)] if self.within else []
        pieces += [source_said(spec.part) for spec in self.parts if not spec.part.__module__.startswith(OWN)]
        for piece in pieces:
            coded = piece.encode()
            digest.update(f"{len(coded)}:".encode())
            digest.update(coded)
        return digest.hexdigest()

    def part(self, name: str) -> PartSpec:
        """The part of that name.

        Parameters
        ----------
        name : str

        Returns
        -------
        PartSpec

        Raises
        ------
        KeyError
            If there is none; the message gives the nearest name.
        """
        for one in self.parts:
            if one.name == name:
                return one
        raise KeyError(f"no part '{name}'{hint(name, [one.name for one in self.parts])}")

    def values(self, note: int, part: PartSpec) -> dict[str, Given]:
        """A part's values for one note.

        Parameters
        ----------
        note : int
            A note of the compass.
        part : PartSpec
            One of `parts`.

        Returns
        -------
        dict
            Dotted field path to `Given`: the SI value and where it came from. Fields that the case leaves
            out and that have no default are not in it.

        Raises
        ------
        KeyError
            If the note is not in the compass.
        """
        if note not in self.compass:
            ends = " to ".join(note_name(end, self.naming) for end in (self.compass[0], self.compass[-1]))
            raise KeyError(f"note {note} is outside the compass {ends}")
        return {path: course[note] for path, course in part.fields.items() if note in course}

    def given(self, note: int) -> tuple[AnyPart, ...]:
        """The parts of one note, as `keyaction.models.train.train.build_train` takes them.

        Parameters
        ----------
        note : int
            A note of the compass.

        Returns
        -------
        tuple of (kind, name, values) or (kind, name, values, outlet)

        Raises
        ------
        KeyError
            If the note is not in the compass.
        """
        return tuple(part.given(self.values(note, part)) for part in self.parts)
