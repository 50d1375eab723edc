"""What is said of a coupled result beside its tables: what couples where, and what is wrong with driven pallets."""

from __future__ import annotations

from collections.abc import Iterator

from keyaction.sim.figures.pallets import Pallet, couplers, is_coupled, note_ranges, pallets, verdict_text
from keyaction.sim.figures.telling import read_verdict
from keyaction.sim.figures.verdict import Fate, alike
from keyaction.sim.files.labelled import Result

_FINE = (Fate.HELD, Fate.UNKNOWN)
"""Verdicts of driven pallets of which nothing is to be told."""


def verdict_lines(result: Result) -> list[str]:
    """What is wrong with pallets that couplers open, a line for each kind of fault."""
    found: list[str] = []
    for one in pallets(result)[1:]:
        told = {
            f"{one.label} at {note}" if i == 0 else note: verdict_text(result, row, one)
            for i, (row, note) in enumerate(_notes_of(result, one))
        }
        found += alike(told)
    return found


def _notes_of(result: Result, one: Pallet) -> Iterator[tuple[int, str]]:
    for row, note in enumerate(result.notes):
        text = verdict_text(result, row, one)
        if text and text != Fate.SPEAKS.value and read_verdict(text).fate not in _FINE:
            yield row, note


def coupled_lines(result: Result) -> list[str]:
    """Which couplers reach a key at which notes, and which of them couple nothing where."""
    if not is_coupled(result):
        return []
    played = [row for row, status in enumerate(result["status"]) if status == "ok"]
    numbers = [int(result["semitone"][row]) for row in played]
    at = [couplers(result, row) for row in played]
    lines = []
    for names in dict.fromkeys(tuple(one) for one in at):
        notes = note_ranges(result, (note for note, one in zip(numbers, at, strict=True) if tuple(one) == names))
        told = f"coupled by {', '.join(names)}" if names else "nothing is coupled, played alone"
        lines.append(f"{notes}: {told}")
    for name in dict.fromkeys(name for one in at for name in one):
        lacking = [note for note, one in zip(numbers, at, strict=True) if name not in one]
        if lacking:
            lines.append(f"{name} couples nothing at {note_ranges(result, lacking)}")
    return lines
