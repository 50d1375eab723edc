"""A case on the bench: read once, and again with every set of edits, all of it in memory."""

from __future__ import annotations

import hashlib
import tomllib
from collections import OrderedDict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any, TypeVar

from keyaction.cases.action.case import Case
from keyaction.cases.action.header import opened
from keyaction.cases.action.reader import case_from
from keyaction.cases.text.defects import BadValue, CaseProblem
from keyaction.cases.text.find import find_case
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
    """

    path: Path
    text: str
    case: Case | None
    problem: CaseProblem | None = None
    beside: tuple[Path, ...] = ()
    _kept: OrderedDict[tuple[object, ...], Case] = field(default_factory=OrderedDict, init=False, repr=False)
    _stood: OrderedDict[tuple[object, ...], Standing] = field(default_factory=OrderedDict, init=False, repr=False)
    _lock: Lock = field(default_factory=Lock, init=False, repr=False)

    @classmethod
    def of(cls, case: Case) -> Workbench:
        """That of a sound case."""
        beside = [case.path.parent / name for name in case.files]
        if case.within is not None:
            beside.append(case.path.parent / case.within.instrument)
        return cls(case.path, case.text, case, None, tuple(beside))

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
    def _at(cls, path: Path) -> Workbench:
        """That of this very file: where it is gone, no shipped case of its name takes its place."""
        try:
            return cls.of(_read_at(path))
        except CaseProblem as problem:
            try:
                return cls(path, read_text(path), None, problem)
            except BadValue:
                raise problem from None

    def again(self) -> Workbench:
        """The same file read anew; that of a division stands in its instrument as that was read before."""
        if self.case is None or self.case.within is None:
            return Workbench._at(self.path)
        return Workbench.of(_read_at(self.path, self.case.within))

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

    @cached_property
    def common(self) -> tuple[tuple[str, Scalar], ...]:
        """What the instrument sets, over whatever the case has."""
        return tuple(self.case.within.settings) if self.case and self.case.within else ()

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
            return case_from(self.path, text, data)
        own = case.settings[len(self.common) :]
        return case_from(case.path, text, data, settings=own, within=case.within)


def _read_at(path: Path, within: Within | None = None) -> Case:
    """The case of this very file."""
    text, data, _ = opened(path)
    return case_from(path, text, data, within=within)


def _keep(found: OrderedDict[_Key, _Found], key: _Key, one: _Found) -> None:
    """Keep what was found last, and of the others the latest."""
    found[key] = one
    while len(found) > _KEPT:
        found.popitem(last=False)
