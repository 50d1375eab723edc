"""Notes whose parts have the same fields, of which only figures differ: they are built as one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from keyaction.models.many.many import Blanks, Many
from keyaction.models.train.given import AnyPart, with_values
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.sweep.grouped import Places


@dataclass(frozen=True)
class Alike:
    """Some notes.

    Attributes
    ----------
    notes : (k,) array of int
        Their places among the recipe's.
    parts : tuple of AnyPart
        Those of the first of them.
    figures : tuple of mapping of path to (k,) array
        Of each part the fields in which they differ.
    """

    notes: Places
    parts: tuple[AnyPart, ...]
    figures: tuple[Mapping[str, Floats], ...]

    def at(self, which: Places, blanks: Blanks) -> tuple[AnyPart, ...]:
        """The parts of many trains in one: `which` of the notes each of them is."""
        if len(self.notes) == 1:
            return self.parts
        made = []
        for part, figures in zip(self.parts, self.figures, strict=True):
            many: dict[str, Any] = {path: Many(values[which], blanks) for path, values in figures.items()}
            own = {path: replace(part[2][path], value=value) for path, value in many.items()}
            made.append(with_values(part, {**part[2], **own}) if own else part)
        return tuple(made)


def alone(parts: Sequence[Sequence[AnyPart]]) -> list[Alike]:
    """Every note by itself."""
    return [Alike(np.array([i]), tuple(one), ({},) * len(one)) for i, one in enumerate(parts)]


def alike(parts: Sequence[Sequence[AnyPart]]) -> list[Alike]:
    """Notes together whose fields are the same but for figures.

    Parameters
    ----------
    parts : sequence of sequence of AnyPart
        Of each note.
    """
    if len(parts) == 1:
        return alone(parts)
    found: dict[object, list[int]] = {}
    for i, one in enumerate(parts):
        found.setdefault(tuple(_likeness(part) for part in one), []).append(i)
    return [_as_one(parts, notes) for notes in found.values()]


def _likeness(part: AnyPart) -> tuple[object, ...]:
    """What notes must have in common in a part: all but its figures, where they are from, and their order."""
    kind, name, given, *ends = part
    fields = [(path, one.default, one.written, _word(one.value)) for path, one in given.items()]
    return kind, name, tuple(fields), tuple(ends)


def _word(value: object) -> tuple[str, object]:
    return ("", None) if type(value) is float else (type(value).__name__, value)


def _as_one(parts: Sequence[Sequence[AnyPart]], notes: Sequence[int]) -> Alike:
    figures = []
    for k, part in enumerate(parts[notes[0]]):
        values = {path: [parts[i][k][2][path].value for i in notes] for path in part[2]}
        figures.append({path: np.array(one) for path, one in values.items() if any(v != one[0] for v in one)})
    return Alike(np.array(notes), tuple(parts[notes[0]]), tuple(figures))
