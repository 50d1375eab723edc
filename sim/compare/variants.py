"""The variants of a comparison: one case for every combination of rods and other values."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from pathlib import Path

from keyaction.cases.action.case import Case
from keyaction.cases.action.reader import read_case
from keyaction.cases.text.defects import CaseProblem, Defect
from keyaction.models.parts import PARTS
from keyaction.models.parts.base import Part
from keyaction.sim.compare.rod_choice import Choice, Setting, read_rods

LETTERS = "ABCDEFG"
MOST = len(LETTERS)
"""Variants that can still be told apart in a table and a picture."""


class ComparisonProblem(ValueError):
    """A comparison that cannot be made; `defects` lists every reason."""

    def __init__(self, defects: Sequence[str]) -> None:
        self.defects = list(dict.fromkeys(defects))
        super().__init__("\n".join(self.defects))


@dataclass(frozen=True)
class Variant:
    """One of the things compared: its letter in tables, its name, and its case."""

    letter: str
    name: str
    case: Case


def read_variants(
    path_or_name: str | Path,
    rods: Sequence[str] = (),
    settings: Sequence[str] = (),
    parts: Mapping[str, type[Part]] = PARTS,
) -> list[Variant]:
    """Read a case once for every combination of what is compared.

    Parameters
    ----------
    path_or_name : str or Path
        A case file, or the name of a shipped case.
    rods : sequence of str
        Materials of the trackers, as for `keyaction.sim.compare.rod_choice.read_rods`.
    settings : sequence of str
        ``"roller.width=24 mm,30 mm"``: the field and its values; with one value it holds for every variant.
    parts : mapping
        The kinds of part there are.

    Returns
    -------
    list of Variant
        Two or more, in the order given; the first is what the others are held against.

    Raises
    ------
    ComparisonProblem
        With everything that is wrong with what is asked for.
    keyaction.cases.text.defects.CaseProblem
        If the case itself is wrong, or a field or value does not fit it.
    """
    case = read_case(path_or_name, parts)
    defects: list[str] = []
    axes = [read_rods(case, rods, defects)] if rods else []
    axes += [choices for text in settings if (choices := _read_setting(text, defects))]
    count = 1
    for axis in axes:
        count *= len(axis)
        _refuse_twice(axis, defects)
    if count < 2 or defects:
        defects[:0] = _misread(case, settings, parts)
    if count < 2 and not any(text.startswith("--") for text in defects):
        defects.append(
            "one variant is no comparison: name two rods or more with --rod, or two values with --set FIELD=VALUE,VALUE"
        )
    if count > MOST:
        defects.append(f"{count} variants are too many to compare side by side; at most {MOST}")
    if defects:
        raise ComparisonProblem(defects)
    return _read_all(case.path, list(product(*axes)), parts)


def _misread(case: Case, settings: Sequence[str], parts: Mapping[str, type[Part]]) -> list[str]:
    """What is wrong with single fields and values that are to be set, each once."""
    found: dict[tuple[str, str], str] = {}
    for choice in (choice for text in settings for choice in _read_setting(text, [])):
        try:
            read_case(case.path, parts, choice.settings)
        except CaseProblem as problem:
            for defect in problem.defects:
                found.setdefault((defect.field, defect.message), str(defect))
    return list(found.values())


def _read_setting(text: str, defects: list[str]) -> list[Choice]:
    field, equals, values = (piece.strip() for piece in text.partition("="))
    wanted = [value.strip() for value in values.split(",")]
    if not (field and equals and all(wanted)):
        defects.append(f"--set {text}: write FIELD=VALUE,VALUE, e.g. --set 'roller.width=24 mm,30 mm'")
        return []
    named = len(wanted) > 1
    return [Choice(f"{field} {value}" if named else "", ((field, value),)) for value in wanted]


def _refuse_twice(axis: Sequence[Choice], defects: list[str]) -> None:
    names = [choice.name for choice in axis]
    defects += [f"'{name}' is named twice" for name in dict.fromkeys(names) if names.count(name) > 1]


def _read_all(path: Path, combinations: Sequence[Sequence[Choice]], parts: Mapping[str, type[Part]]) -> list[Variant]:
    """All cases, or the defects of all of them, each once."""
    found: list[Variant] = []
    wrong: dict[tuple[str, str, str, str], Defect] = {}
    for letter, chosen in zip(LETTERS, combinations, strict=False):
        settings: list[Setting] = [setting for choice in chosen for setting in choice.settings]
        name = ", ".join(choice.name for choice in chosen if choice.name)
        try:
            found.append(Variant(letter, name, read_case(path, parts, settings)))
        except CaseProblem as problem:
            for defect in problem.defects:  # the same message about another value says nothing new
                wrong.setdefault((defect.file, defect.table, defect.field, defect.message), defect)
    if wrong:
        raise CaseProblem(path, list(wrong.values()))
    return found
