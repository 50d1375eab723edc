"""Labelled arrays with units and names, in memory as in the file."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal, overload

from numpy.typing import NDArray

from keyaction.cases.text.assumed import Assumption
from keyaction.cases.text.near import hint
from keyaction.models.notes import Naming, naming_of, note_name, parse_note

Array = NDArray[Any]
TextOfNote = Literal["note", "status", "verdict", "repetition_limit", "warning"]
"""Variables of `keyaction.run` that hold a text for each note."""


class NotHeld(KeyError):
    """A figure that a result does not hold."""


@dataclass(frozen=True)
class Variable:
    """An array with named axes, unit and long name."""

    dims: tuple[str, ...]
    data: Array
    unit: str = ""
    label: str = ""
    definition: str = ""


@dataclass(frozen=True)
class Result:
    """Labelled arrays over notes, in SI units.

    Attributes
    ----------
    variables : mapping of str to Variable
        Each with ``dims``, ``data``, ``unit``, ``label`` and ``definition``. The axes (``note``, ``time``, ``body``
        ...) are among them, under their own names.
    about : mapping of str to str
        Case text, versions, tolerances, assumptions: what is needed to believe the figures.

    Examples
    --------
    >>> import keyaction as ka
    >>> result = ka.evaluate("demo-wood", "C4,D4", [{}], ["key_dip"], sample=0)
    >>> result.notes, result["key_dip"].shape, result.variables["key_dip"].dims
    (['C4', 'D4'], (1, 2), ('design', 'note'))
    >>> result.variables["key_dip"].unit
    'm'
    """

    variables: Mapping[str, Variable]
    about: Mapping[str, str] = field(default_factory=dict)

    def __getitem__(self, name: str) -> Array:
        """The array of that name; `KeyError`, with the nearest name, if there is none."""
        return self.held(name).data

    def held(self, name: str) -> Variable:
        """The variable of that name; `KeyError`, with the nearest name, if there is none."""
        if name not in self.variables:
            raise NotHeld(f"no '{name}' in this result{hint(name, self.variables)}")
        return self.variables[name]

    def __contains__(self, name: object) -> bool:
        return name in self.variables

    def __iter__(self) -> Iterator[str]:
        return iter(self.variables)

    def __repr__(self) -> str:
        return f"<Result '{self.title}': {len(self.variables)} variables, notes {', '.join(self.notes[:3])} ...>"

    @property
    def naming(self) -> Naming:
        """How notes are named: ``scientific``, ``trade`` or ``german``."""
        return naming_of(self.about.get("note_names"))

    @property
    def notes(self) -> list[str]:
        """Names of the notes, rising."""
        return [str(name) for name in self["note"]]

    @property
    def title(self) -> str:
        """Title of the case; of a division of an instrument, with the division's name before it."""
        title, division = self.about.get("title", ""), self.about.get("division", "")
        return f"{division}: {title}" if division else title

    def index(self, note: str) -> int:
        """Row of a note.

        Parameters
        ----------
        note : str
            Its name.

        Returns
        -------
        int

        Raises
        ------
        KeyError
            If the result does not hold it; the message says which notes it holds.
        """
        wanted = note_name(parse_note(note, self.naming), self.naming)
        if wanted not in self.notes:
            raise KeyError(f"note {wanted} is not in this result; it holds {', '.join(self.notes)}")
        return self.notes.index(wanted)

    @overload
    def value(self, name: TextOfNote, note: str) -> str: ...  # type: ignore[overload-overlap]  # a word of `str`
    @overload
    def value(self, name: str, note: str) -> float: ...
    def value(self, name: str, note: str) -> float | str:
        """One figure or text of one note.

        Parameters
        ----------
        name : str
            Of a variable over ``note`` alone, as of `keyaction.run`.
        note : str
            Its name.

        Returns
        -------
        float or str
            A figure in SI, NaN where the note has none; the text of ``status``, ``verdict``, ``repetition_limit`` and
            ``warning``.

        Raises
        ------
        KeyError
            If the result does not hold the figure or the note.
        ValueError
            If there is more than one figure to a note: over designs, samples or quantiles.

        Examples
        --------
        >>> import keyaction as ka
        >>> result = ka.run(ka.read_case("demo-wood"), "C4")
        >>> round(result.value("pluck_point", "C4"), 4), result.value("status", "C4")
        (0.002, 'ok')
        """
        one, row = self[name], self.index(note)
        if (dims := self.variables[name].dims) != ("note",):
            raise ValueError(f"'{name}' is over {', '.join(dims)}, no one figure of a note: take result['{name}']")
        return str(one[row]) if one.dtype.kind in "OUS" else float(one[row])

    def assumptions(self) -> list[Assumption]:
        """Every value that the case left to the program, with its source."""
        return [Assumption(*one) for one in json.loads(self.about.get("assumptions", "[]"))]
