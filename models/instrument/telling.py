"""Notes in words, and defects of many notes in few lines."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence

_FIGURE = re.compile(r"(?<![\w.-])-?\d[\d.e+-]*(?= \D)")
"""A figure with its unit after it; a digit of a name has none."""
Names = Callable[[int], str]


def notes_told(notes: Iterable[int], among: Sequence[int], names: Names) -> str:
    """Notes in words, neighbours drawn together: "C2 to F3, A4".

    Parameters
    ----------
    notes : iterable of int
    among : sequence of int
        All that there are, rising: who counts as neighbours.
    names : callable
        Writes a note.

    Returns
    -------
    str
    """
    wanted, spans = set(notes), list[list[int]]()
    for before, note in zip((None, *among), among, strict=False):
        if note not in wanted:
            continue
        if spans and spans[-1][-1] == before:
            spans[-1].append(note)
        else:
            spans.append([note])
    return ", ".join(" to ".join(map(names, dict.fromkeys((span[0], span[-1])))) for span in spans)


def together(defects: Mapping[int, Sequence[str]], among: Sequence[int], names: Names) -> list[str]:
    """Defects of single notes, each once with all notes that have it; figures that differ are those of the first.

    Parameters
    ----------
    defects : mapping of int to sequence of str
        By note; they may begin with the note's name and a colon.
    among : sequence of int
        All notes that there are, rising.
    names : callable
        Writes a note.

    Returns
    -------
    list of str
    """
    groups: dict[str, dict[int, str]] = {}
    for note, texts in defects.items():
        for text in texts:
            bare = text.removeprefix(f"{names(note)}: ")
            groups.setdefault(_FIGURE.sub("#", bare), {})[note] = bare
    return [_told(group, among, names) for group in groups.values()]


def _told(group: Mapping[int, str], among: Sequence[int], names: Names) -> str:
    first, text = next(iter(group.items()))
    figures = f"; figures of {names(first)}" if len(set(group.values())) > 1 else ""
    return f"{text} (at {notes_told(group, among, names)}{figures})"
