"""The results of all divisions of an instrument, in memory as in the file."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from keyaction.cases.text.near import hint
from keyaction.models.notes import NoteProblem
from keyaction.sim.files.division_notes import BETWEEN, division_named, full_name
from keyaction.sim.files.labelled import NotHeld, Result


@dataclass(frozen=True)
class InstrumentResult(Mapping[str, Result]):
    """A result for each division of an instrument: a mapping from its name to what a run of its own gives.

    Attributes
    ----------
    divisions : mapping of str to Result
        In the order of the instrument.
    about : mapping of str to str
        Title and text of the instrument, versions.

    Examples
    --------
    >>> import keyaction as ka
    >>> own = ka.run(ka.read_case("demo-wood"), "C4")
    >>> whole = ka.InstrumentResult({"great": own, "swell": own}, {"title": "Two alike"})
    >>> whole.notes, round(whole.value("pluck_force", "swell/C4"), 2)
    (['great/C4', 'swell/C4'], 1.64)
    >>> whole["great"].value("status", "C4")
    'ok'
    """

    divisions: Mapping[str, Result]
    about: Mapping[str, str] = field(default_factory=dict)

    def __getitem__(self, division: str) -> Result:
        """The result of that division; `KeyError`, with the nearest name, if there is none."""
        if division not in self.divisions:
            raise NotHeld(f"no division '{division}' in this result{hint(division, self.divisions)}")
        return self.divisions[division]

    def __iter__(self) -> Iterator[str]:
        return iter(self.divisions)

    def __len__(self) -> int:
        return len(self.divisions)

    def __repr__(self) -> str:
        told = ", ".join(f"{name} ({len(result.notes)} notes)" for name, result in self.divisions.items())
        return f"<InstrumentResult '{self.title}': {told}>"

    @property
    def title(self) -> str:
        """Title of the instrument."""
        return self.about.get("title", "")

    @property
    def notes(self) -> list[str]:
        """Names of all notes, DIVISION/NOTE."""
        return [full_name(name, note) for name, result in self.divisions.items() for note in result.notes]

    def find(self, note: str) -> tuple[str, str]:
        """Division and note that ``"great/C4"`` names.

        Parameters
        ----------
        note : str
            A bare note will do where one division alone has it.

        Returns
        -------
        tuple of str
            The division's name, and the note as its result has it.

        Raises
        ------
        KeyError
            If no division holds it, or several do; the message names them.
        """
        division, between, plain = note.rpartition(BETWEEN)
        if between:
            try:
                named = division_named(division, self.divisions)
            except NoteProblem as problem:
                raise KeyError(f"'{note}': {problem}") from None
            try:
                return named, self[named].notes[self[named].index(plain)]
            except (KeyError, ValueError) as problem:
                raise KeyError(f"{named}: {problem.args[0]}") from None
        found = [full_name(name, plain) for name in self.divisions if self.holds(name, plain)]
        if len(found) == 1:
            return self.find(found[0])
        if not found:
            raise KeyError(f"no division of this result holds '{note}'; it holds {_told(self.divisions)}")
        raise KeyError(f"'{note}' is a note of several divisions; write one of {', '.join(found)}")

    def holds(self, division: str, note: str) -> bool:
        """Whether a division holds a note.

        Parameters
        ----------
        division, note : str

        Returns
        -------
        bool
        """
        try:
            self[division].index(note)
        except (KeyError, ValueError):
            return False
        return True

    def value(self, name: str, note: str) -> float | str:
        """One figure or text of one note, as `Result.value` has it.

        Parameters
        ----------
        name : str
            Of a variable over ``note`` alone.
        note : str
            ``"great/C4"``.

        Returns
        -------
        float or str
            In SI.

        Raises
        ------
        KeyError
            If the result does not hold the figure or the note.
        ValueError
            If there is more than one figure to a note.
        """
        division, plain = self.find(note)
        return self[division].value(name, plain)


def _told(divisions: Mapping[str, Result]) -> str:
    return "; ".join(f"{name}: {result.notes[0]} to {result.notes[-1]}" for name, result in divisions.items())
