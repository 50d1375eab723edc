"""The variants of a comparison: one case for every combination of rods, rollers, bundles and other values."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from pathlib import Path

from keyaction.cases.action.case import Case
from keyaction.cases.action.reader import read_case
from keyaction.cases.text.defects import CaseProblem, Defect
from keyaction.models.parts import PARTS
from keyaction.models.parts.base import Part
from keyaction.sim.compare.bundles import read_bundles
from keyaction.sim.compare.rod_choice import AS_DRAWN, ROD, ROLLER, Choice, Setting, read_bars, read_ends

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
    path_or_name: str | Path | Case,
    rods: Sequence[str] = (),
    settings: Sequence[str] = (),
    parts: Mapping[str, type[Part]] = PARTS,
    *,
    rollers: Sequence[str] = (),
    bundles: Sequence[str] = (),
    file: Path | None = None,
    ends: Sequence[str] = (),
) -> list[Variant]:
    """Read a case once for every combination of what is compared.

    Parameters
    ----------
    path_or_name : str, Path or Case
        A case file, or the name of a shipped case; a case that was read within an instrument is taken as it stands
        there.
    rods, rollers : sequence of str
        Materials of the trackers and of the rollers, as for `keyaction.sim.compare.rod_choice.read_bars`.
    settings : sequence of str
        ``"roller.width=24 mm,30 mm"``: the field and its values; with one value it holds for every variant.
    parts : mapping
        The kinds of part there are.
    bundles, file
        Variants of several fields each, as for `keyaction.sim.compare.bundles.read_bundles`.
    ends : sequence of str
        Ends that go with a material of `rods`, as for `keyaction.sim.compare.rod_choice.read_ends`.

    Returns
    -------
    list of Variant
        In the order given; the first is what the others are held against. Where only one is named, the case as it is
        goes before it; the case itself may stand alone.

    Raises
    ------
    ComparisonProblem
        With everything that is wrong with what is asked for.
    keyaction.cases.text.defects.CaseProblem
        If the case itself is wrong, or a field or value does not fit it.
    """
    case = path_or_name if isinstance(path_or_name, Case) else read_case(path_or_name, parts)
    defects: list[str] = []
    axes = [read_bars(ROD, case, rods, defects, read_ends(case, ends, rods, defects))] if rods or ends else []
    axes += [read_bars(ROLLER, case, rollers, defects)] if rollers else []
    axes += [read_bundles(bundles, file, defects)] if bundles or file else []
    axes += [choices for text in settings if (choices := _read_setting(text, defects))]
    if defects:
        defects[:0] = _misread(case, settings, parts)
    if not axes and not defects:
        defects.append(
            "nothing is named to compare: --rod, --roller, --variant, --variants or --set; --rod case shows the case "
            "by itself"
        )
    for axis in axes:
        _refuse_twice(axis, defects)
    count = math.prod(len(axis) for axis in axes)
    if count > MOST:
        defects.append(f"{count} variants are too many to compare side by side; at most {MOST}")
    if defects:
        raise ComparisonProblem(defects)
    return _read_all(case, _beside_the_case(list(product(*axes))), parts)


def _beside_the_case(combinations: Sequence[tuple[Choice, ...]]) -> Sequence[tuple[Choice, ...]]:
    """Where one variant is named, the case as it is goes before it, with the settings that hold for all."""
    if len(combinations) > 1 or not any(choice.settings for choice in combinations[0]):
        return combinations
    (only,) = combinations
    common = tuple(choice for choice in only if not choice.name)
    if len(common) < len(only):
        return [(Choice(AS_DRAWN), *common), only]
    named = [
        Choice(", ".join(f"{path} {value}" for path, value in choice.settings), choice.settings) for choice in only
    ]
    return [(Choice(AS_DRAWN),), tuple(named)]


def _misread(case: Case, settings: Sequence[str], parts: Mapping[str, type[Part]]) -> list[str]:
    """What is wrong with single fields and values that are to be set, each once."""
    found: dict[tuple[str, str], str] = {}
    for choice in (choice for text in settings for choice in _read_setting(text, [])):
        try:
            read_case(case.path, parts, choice.settings, case.within)
        except CaseProblem as problem:
            for defect in problem.defects:
                found.setdefault((defect.field, defect.message), str(defect))
    return list(found.values())


def _read_setting(text: str, defects: list[str]) -> list[Choice]:
    path, equals, values = (piece.strip() for piece in text.partition("="))
    wanted = [value.strip() for value in values.split(",")]
    if not (path and equals and all(wanted)):
        defects.append(f"--set {text}: write FIELD=VALUE,VALUE, e.g. --set 'roller.width=24 mm,30 mm'")
        return []
    named = len(wanted) > 1
    return [Choice(f"{path} {value}" if named else "", ((path, value),)) for value in wanted]


def _refuse_twice(axis: Sequence[Choice], defects: list[str]) -> None:
    names = [choice.name for choice in axis]
    defects += [f"'{name}' is named twice" for name in dict.fromkeys(names) if names.count(name) > 1]


def _read_all(case: Case, combinations: Sequence[Sequence[Choice]], parts: Mapping[str, type[Part]]) -> list[Variant]:
    """All cases, or the defects of all of them, each once."""
    found: list[Variant] = []
    wrong: dict[tuple[str, str, str, str], Defect] = {}
    for letter, chosen in zip(LETTERS, combinations, strict=False):
        settings: list[Setting] = [setting for choice in chosen for setting in choice.settings]
        name = ", ".join(choice.name for choice in chosen if choice.name)
        try:
            found.append(Variant(letter, name, read_case(case.path, parts, settings, case.within)))
        except CaseProblem as problem:
            for defect in problem.defects:  # the same message about another value says nothing new
                wrong.setdefault((defect.file, defect.table, defect.field, defect.message), defect)
    if wrong:
        raise CaseProblem(case.path, list(wrong.values()))
    return found
