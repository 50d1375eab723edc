"""What is asked of a search, in words."""

from __future__ import annotations

from keyaction.cases.fields.allowed import written
from keyaction.cases.study.inputs import Input
from keyaction.cases.study.search import Figure, Search
from keyaction.cases.study.spans import Choices, Range
from keyaction.models.notes import note_name
from keyaction.sim.figures.columns import QUANTITIES

_MOST = 8


def label_of(search: Search, one: Figure) -> str:
    """A figure in words."""
    where = f" at {note_name(one.note, search.case.naming)}" if one.note is not None else ""
    named = {"evenness": "step of pluck force from note to note", "cost": "price of the rods of all notes played"}
    label = QUANTITIES[one.name].label if one.name in QUANTITIES else named.get(one.name, one.name)
    return f"{'mean ' if one.mean else ''}{label}{where}"


def asked(search: Search) -> list[str]:
    """A line each on notes, what may vary, what is wanted and what must hold."""
    aims = ", ".join(_wanted(search, one) for one in search.aims)
    limits = ", ".join(f"{one.text}{' (usual)' if one.usual else ''}" for one in search.limits)
    return [
        f"notes: {notes_told(search)}",
        f"may vary: {'; '.join(_varies(one) for one in search.inputs)}",
        f"aims: {aims}",
        f"limits: {limits or 'none'}; and every note speaks and falls silent",
    ]


def notes_told(search: Search) -> str:
    """Names of the notes, the first of them where they are many."""
    names = [note_name(note, search.case.naming) for note in search.notes]
    told = ", ".join(names[:_MOST])
    return told if len(names) <= _MOST else f"{told} and {len(names) - _MOST} more, up to {names[-1]}"


def _wanted(search: Search, one: Figure) -> str:
    """An aim in words, with the note that counts where there are several."""
    several = one.name in QUANTITIES and one.note is None and not one.mean and len(search.notes) > 1
    return f"{'more' if one.more else 'less'} {label_of(search, one)}{' at its worst note' if several else ''}"


def _varies(one: Input) -> str:
    if isinstance(one.span, Choices):
        shown = [written(one.targets[0].field, float(value)) for value in one.span.values] if not one.chosen else []
        return f"{one.name} {', '.join(shown or one.labels)}"
    assert isinstance(one.span, Range)
    ends = one.span.ends
    steps = f" in {one.levels}" if one.levels else ""
    if one.factor:
        return f"{one.name} × {ends[0]:g} to {ends[1]:g}{steps}"
    return f"{one.name} {' to '.join(written(one.targets[0].field, end) for end in ends)}{steps}"
