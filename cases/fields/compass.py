"""The notes of a case and how they are written."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from keyaction.cases.text.defects import BadValue
from keyaction.models.notes import HIGHEST, LOWEST, Naming, NoteProblem, note_name, parse_note


@dataclass(frozen=True)
class Compass:
    """The notes of a case in rising order.

    `known` is False where the file does not say which notes there are; then every note is taken for one of
    them, so that the rest of the file can still be checked.
    """

    notes: tuple[int, ...]
    naming: Naming
    known: bool = True

    @classmethod
    def unknown(cls, naming: Naming) -> Compass:
        """A stand-in where the file's compass cannot be read."""
        return cls(tuple(range(LOWEST, HIGHEST + 1)), naming, known=False)

    def name(self, note: int) -> str:
        """The note as the case writes it."""
        try:
            return note_name(note, self.naming)
        except NoteProblem:
            return note_name(note)

    def read(self, text: str) -> int:
        """A note of the compass.

        Raises
        ------
        BadValue
            If the text is not a note, or not one of this compass.
        """
        try:
            note = parse_note(text, self.naming)
        except NoteProblem as problem:
            raise BadValue(f"{problem}{self._limits()}") from None
        if note not in self.notes:
            raise BadValue(f"note '{text}' is outside the compass{self._limits()}")
        return note

    def _limits(self) -> str:
        return f"; allowed: {self.name(self.notes[0])} to {self.name(self.notes[-1])}" if self.known else ""

    def ranges(self, notes: Iterable[int]) -> str:
        """Notes in words, neighbours drawn together: "C2 to F3, A4"."""
        wanted = set(notes)
        spans: list[list[int]] = []
        for index, note in enumerate(self.notes):
            if note not in wanted:
                continue
            if spans and index and spans[-1][-1] == self.notes[index - 1]:
                spans[-1].append(note)
            else:
                spans.append([note])
        return ", ".join(self._span(span) for span in spans)

    def _span(self, span: list[int]) -> str:
        first, last = self.name(span[0]), self.name(span[-1])
        return first if len(span) == 1 else f"{first} to {last}"
