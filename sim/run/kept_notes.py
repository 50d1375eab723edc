"""Notes that are done, kept one by one beside the result until it is whole, so that a run can be taken up again."""

from __future__ import annotations

import re
import shutil
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from keyaction.sim.code.layout import Body, Recorded
from keyaction.sim.figures.verdict import Fate, Verdict
from keyaction.sim.files.kept import keep, kept
from keyaction.sim.files.lock import lock
from keyaction.sim.files.problem import FileProblem, Taken, Unreadable, reason, unwritten
from keyaction.sim.files.replace import replacing
from keyaction.sim.run.note import Figure, NoteResult
from keyaction.sim.run.pallets import OfPallet

_ARRAYS = ("frequencies", "shapes", "ratios")
_PLAIN = (
    "note",
    "status",
    "limit",
    "quantities",
    "compliance",
    "owners",
    "masses",
    "bodies",
    "links",
    "played",
    "parameters",
    "warnings",
    "verdict",
    "pallets",
    "coupled",
    "joins",
)


_OURS = re.compile(r"([A-Za-z0-9-]+\.)?\d+\.npz|\..*\.tmp")


def _begun(division: str) -> str:
    """How the names of a division's files begin."""
    return f"{division}." if division else ""


def _marks(text: str) -> dict[str, str]:
    """The fingerprint of each division, as the mark of a folder has it."""
    return {name: told for line in text.splitlines() for name, _, told in [line.rpartition(" ")]}


class Busy(FileProblem):
    """Another run is writing the same result."""


class PartsFolder:
    """The folder ``RESULT.part`` of one run, held by one process and marked with the fingerprint of what is played.

    Parameters
    ----------
    result : Path
    fingerprints : str, or mapping of str to str
        That of an action case, or those of divisions by their names.

    Raises
    ------
    Busy
        When another process holds it.
    Taken
        When other things are in it.
    FileProblem
        When it cannot be made.
    """

    def __init__(self, result: Path, fingerprints: str | Mapping[str, str]) -> None:
        self.path = result.with_name(result.name + ".part")
        try:
            self._refuse_foreign()
            self.path.mkdir(parents=True, exist_ok=True)
            self._lock = lock(self.path / "lock", self._busy())
            self._begin({"": fingerprints} if isinstance(fingerprints, str) else fingerprints)
        except OSError as problem:
            raise unwritten(result, problem, "choose another place with --out") from problem

    def _busy(self) -> Busy:
        return Busy(f"{self.path}: another run is writing this result; wait for it or choose another --out")

    def _refuse_foreign(self) -> None:
        """The folder is removed in the end: one with other things in it is not taken for a run's."""
        found = sorted(self.path.iterdir()) if self.path.is_dir() else []
        others = [path.name for path in found if path.name not in ("lock", "run") and not _OURS.fullmatch(path.name)]
        if others:
            raise Taken(
                f"{self.path}: a folder with other things in it ({', '.join(others[:3])}); choose another --out"
            )

    def _begin(self, fingerprints: Mapping[str, str]) -> None:
        """Notes of what has changed since are thrown away; those of divisions that are not asked for wait."""
        mark = self.path / "run"
        before = _marks(mark.read_text()) if mark.exists() else {}
        for division, fingerprint in fingerprints.items():
            if before.get(division) != fingerprint:
                for old in self._files(division):
                    old.unlink()
        with replacing(mark) as temporary:
            temporary.write_text(
                "\n".join(f"{name} {told}".strip() for name, told in {**before, **fingerprints}.items())
            )

    def _files(self, division: str) -> list[Path]:
        """The notes of a division that are kept."""
        name = re.compile(rf"{re.escape(_begun(division))}\d+\.npz")
        return sorted(path for path in self.path.glob("*.npz") if name.fullmatch(path.name))

    def add(self, result: NoteResult, division: str = "") -> None:
        """Keep a finished note.

        Raises
        ------
        FileProblem
            When the disk is full or the folder is gone; the notes kept before stay as they are.
        """
        plain = {name: getattr(result, name) for name in _PLAIN}
        plain["verdict"] = (result.verdict.fate.name, result.verdict.reason)
        arrays = {name: getattr(result, name) for name in _ARRAYS}
        curves = {f"curve:{name}": course for name, course in result.curves.items()}
        try:
            keep(self.path / f"{_begun(division)}{result.note}.npz", plain, {**arrays, **curves})
        except OSError as problem:
            raise FileProblem(
                f"{self.path}: a finished note cannot be kept ({reason(problem)}); "
                "make room and give the same command again, or choose another place with --out"
            ) from problem

    def done(self, division: str = "") -> dict[int, NoteResult]:
        """The notes of a division that are kept and whole; failed ones are played again."""
        found = (self._read(path) for path in self._files(division))
        return {result.note: result for result in found if result is not None and result.ok}

    @staticmethod
    def _read(path: Path) -> NoteResult | None:
        try:
            found = kept(path, "the note is played again")
        except Unreadable:
            found = None
        if found is None:
            return None
        plain, arrays = found
        curves = {name[6:]: arrays.pop(name) for name in list(arrays) if name.startswith("curve:")}
        plain["bodies"] = tuple(Body(*one) for one in plain["bodies"])
        plain["links"] = tuple(Recorded(*one) for one in plain["links"])
        plain["parameters"] = tuple(Figure(*one) for one in plain["parameters"])
        plain["warnings"] = tuple(plain["warnings"])
        plain["joins"] = tuple((start, end) for start, end in plain["joins"])
        plain["pallets"] = tuple(OfPallet(*one) for one in plain["pallets"])
        fate, why = plain["verdict"]
        plain["verdict"] = Verdict(Fate[fate], why)
        plain["played"] = tuple((name, method, count, tuple(audit)) for name, method, count, audit in plain["played"])
        whole: dict[str, Any] = {**plain, **arrays}
        return NoteResult(curves=curves, **whole)

    def release(self) -> None:
        """Let go of the folder; it stays if finished notes are in it."""
        if not any(self.path.glob("*.npz")):
            shutil.rmtree(self.path, ignore_errors=True)
        self._lock.close()

    def remove(self) -> None:
        """The result is whole: the parts are no longer needed."""
        self._lock.close()
        shutil.rmtree(self.path, ignore_errors=True)
