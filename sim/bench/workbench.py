"""A case on the bench: read once, and again with every set of edits, all of it in memory."""

from __future__ import annotations

import hashlib
import tomllib
from collections import OrderedDict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any, TypeVar

from keyaction.cases.action.case import Case
from keyaction.cases.action.header import opened
from keyaction.cases.action.reader import case_from
from keyaction.cases.instrument.reader import read_stands
from keyaction.cases.text.defects import BadValue, CaseProblem, Defect
from keyaction.cases.text.find import find_case
from keyaction.cases.text.near import hint
from keyaction.cases.text.textfile import check_plain, read_bytes, read_text
from keyaction.models.fields.values import Scalar
from keyaction.sim.bench.edits import Edit, Ground, UnknownField, key_of
from keyaction.sim.bench.laid import overlaid
from keyaction.sim.bench.played import stood
from keyaction.sim.bench.written import written
from keyaction.sim.run.standings import Standing

if TYPE_CHECKING:
    from keyaction.cases.layout.within import Within

_KEPT = 32
"""Cases with edits that are kept read, and notes that are kept pressed."""
_Key = TypeVar("_Key")
_Found = TypeVar("_Found")


@dataclass(frozen=True)
class Workbench:
    """A case file and what is kept of it under edits.

    Attributes
    ----------
    path : Path
    text : str
        Of the file as it was read.
    case : Case, optional
        As the file has it; None where it has defects.
    problem : CaseProblem, optional
        Those defects.
    beside : tuple of Path
        Files that the case needs: its CSV files, the instrument that it stands in.
    within : Within, optional
        What that instrument gives to it.
    stands : (Path, str), optional
        The instrument's file, and the division.
    fixed : tuple of Defect
        What the instrument's own tables have wrong: no edit of the case mends it.
    """

    path: Path
    text: str
    case: Case | None
    problem: CaseProblem | None = None
    beside: tuple[Path, ...] = ()
    within: Within | None = None
    stands: tuple[Path, str] | None = None
    fixed: tuple[Defect, ...] = ()
    _kept: OrderedDict[tuple[object, ...], Case] = field(default_factory=OrderedDict, init=False, repr=False)
    _stood: OrderedDict[tuple[object, ...], Standing] = field(default_factory=OrderedDict, init=False, repr=False)
    _lock: Lock = field(default_factory=Lock, init=False, repr=False)

    @classmethod
    def of(cls, case: Case) -> Workbench:
        """That of a sound case."""
        beside = tuple(case.path.parent / name for name in case.files)
        return cls(case.path, case.text, case, None, beside, case.within)

    @classmethod
    def opened(cls, path_or_name: str | Path) -> Workbench:
        """That of an action case which may have defects.

        Raises
        ------
        keyaction.CaseProblem
            When there is no such file, or it is no text.
        """
        return cls._at(find_case(path_or_name))

    @classmethod
    def of_division(cls, instrument: str | Path, division: str) -> Workbench:
        """That of a division's case as it stands in its instrument; both may have defects.

        Raises
        ------
        keyaction.CaseProblem
            When a file is not there, or is no text, or the instrument has no such division.
        """
        return cls._in(find_case(instrument), division)

    @classmethod
    def _in(cls, path: Path, division: str) -> Workbench:
        stands = read_stands(path)
        if division not in stands.names:
            told = f"there is no such division{hint(division, stands.names)}"
            raise CaseProblem(path, [Defect(path.name, "", "", division, told)])
        fixed = stands.defects[division]
        if division not in stands.cases:
            raise CaseProblem(path, fixed)
        file, within = stands.cases[division]
        found = cls._at(file, within)
        if fixed and found.case is not None:
            found = replace(found, case=None, problem=CaseProblem(path, fixed))
        elif fixed and found.problem is not None:
            found = replace(found, problem=CaseProblem(path, [*fixed, *found.problem.defects]))
        return replace(found, beside=(*found.beside, path), within=within, stands=(path, division), fixed=fixed)

    @classmethod
    def _at(cls, path: Path, within: Within | None = None) -> Workbench:
        """That of this very file: where it is gone, no shipped case of its name takes its place."""
        try:
            return cls.of(_read_at(path, within))
        except CaseProblem as problem:
            try:
                return cls(path, read_text(path), None, problem)
            except BadValue:
                raise problem from None

    def again(self) -> Workbench:
        """The same files read anew."""
        return Workbench._in(*self.stands) if self.stands else Workbench._at(self.path, self.within)

    @cached_property
    def data(self) -> Mapping[str, Any] | None:
        """Tables of the file; None where it is no TOML."""
        try:
            return tomllib.loads(self.text)
        except (tomllib.TOMLDecodeError, RecursionError):
            return None

    @cached_property
    def ground(self) -> Ground:
        """What edits are laid over."""
        return Ground.of(self.case) if self.case else Ground.unsound(self.text, self.data or {})

    @cached_property
    def stamp(self) -> str:
        """Of the files as they were read."""
        return self.stamp_now()

    def stamp_now(self) -> str:
        """A hash of the files as they are on the disk now."""
        digest = hashlib.sha256()
        for path in (self.path, *self.beside):
            try:
                digest.update(read_bytes(path))
            except (BadValue, OSError) as problem:
                digest.update(str(problem).encode())
            digest.update(b"\0")
        return digest.hexdigest()[:32]

    def lost(self) -> list[str]:
        """What is wrong with files that cannot be read any more; only plain ones are looked into."""
        found = []
        for path in (self.path, *self.beside):
            try:
                check_plain(path)
            except (BadValue, OSError) as problem:
                found.append(f"{path.name}: {problem}")
        return found

    @property
    def division(self) -> str:
        """The division that it is; empty of an action case."""
        return self.within.division if self.within else self.stands[1] if self.stands else ""

    @cached_property
    def common(self) -> tuple[tuple[str, Scalar], ...]:
        """What the instrument sets, over whatever the case has."""
        return tuple(self.within.settings) if self.within else ()

    def with_edits(self, edits: Sequence[Edit]) -> Case:
        """The case with some fields moved.

        Raises
        ------
        keyaction.CaseProblem
            With every defect that the edits make, or leave.
        keyaction.sim.bench.edits.UnknownField
            When an edit names what the case does not have, or what its instrument sets.
        """
        key = key_of(edits)
        if not key and self.case is not None:
            return self.case
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
        found = self._read(edits, self.text)
        with self._lock:
            _keep(self._kept, key, found)
        return found

    def tables(self, edits: Sequence[Edit]) -> Mapping[str, Any]:
        """Tables of the file with edits laid over them; errors as of `overlaid`."""
        return overlaid(self.ground, self.data or {}, edits)

    def stood(self, edits: Sequence[Edit], note: int) -> Standing:
        """A note under edits as it stands, pressed as slowly as can be; errors as of `with_edits` and `stood`."""
        key = key_of(edits), note
        with self._lock:
            if key in self._stood:
                return self._stood[key]
        found = stood(self.with_edits(edits), note)
        with self._lock:
            _keep(self._stood, key, found)
        return found

    def written(self, edits: Sequence[Edit]) -> str:
        """The file's text with the edits in it, which reads as `with_edits` has them; errors as there.

        Raises
        ------
        keyaction.cases.text.edit.EditProblem
            When the text has no form in which they can be written into it.
        """
        self.with_edits(edits)
        return written(self.ground, edits, "Moved on the bench")

    def _read(self, edits: Sequence[Edit], text: str) -> Case:
        if self.problem is not None and (not edits or self.data is None):
            raise self.problem
        for name in {f"{one.part}.{one.path}" for one in edits} & {name for name, _ in self.common}:
            part, _, path = name.partition(".")
            told = f"{part}: '{path}' is set by the instrument; change it there"
            raise UnknownField(told, part, path)
        case = self.case
        data = self.tables(edits)
        if case is None:
            return self._mended(text, data)
        own = case.settings[len(self.common) :]
        return case_from(case.path, text, data, settings=own, within=case.within)

    def _mended(self, text: str, data: Mapping[str, Any]) -> Case:
        """A case that had defects, if none are left."""
        try:
            found = case_from(self.path, text, data, within=self.within)
        except CaseProblem as problem:
            raise CaseProblem(self.path, [*self.fixed, *problem.defects]) from None
        if self.fixed:
            raise CaseProblem(self.path, self.fixed)
        return found


def _read_at(path: Path, within: Within | None = None) -> Case:
    """The case of this very file."""
    text, data, _ = opened(path)
    return case_from(path, text, data, within=within)


def _keep(found: OrderedDict[_Key, _Found], key: _Key, one: _Found) -> None:
    """Keep what was found last, and of the others the latest."""
    found[key] = one
    while len(found) > _KEPT:
        found.popitem(last=False)
