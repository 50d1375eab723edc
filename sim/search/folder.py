"""The folder of a search: what it is, its generations one behind the other, and one writer at a time."""

from __future__ import annotations

import io
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from keyaction.sim.files.begun import Refused, Work, manifest_text
from keyaction.sim.files.lock import lock
from keyaction.sim.files.problem import FileProblem, unwritten
from keyaction.sim.files.records import append, read_body, records
from keyaction.sim.files.replace import replacing
from keyaction.sim.search.optimiser import Floats
from keyaction.sim.search.scores import Looked

LOCK, GENERATIONS, RESULTS = "lock", "generations", "results.h5"
_ANEW = "search anew, into another folder"
SEARCH = Work("search", "search of key actions", 1, "search.json", (LOCK,), "keyaction search CASE --out", _ANEW)
_WORDS = ("status", "verdict", "sensitive")
_NUMBERS = ("values", "inputs", "costs")


class SearchFolder:
    """The folder of a search, held by this process for writing.

    Raises
    ------
    Refused
        When another process holds it.
    FileProblem
        When it cannot be written to.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        busy = Refused(f"{path}: another search is writing here; wait for it, or choose another folder with --out")
        try:
            path.mkdir(parents=True, exist_ok=True)
            self._lock = lock(path / LOCK, busy)
        except OSError as problem:
            raise self._unwritten(problem) from problem

    def _unwritten(self, problem: OSError) -> FileProblem:
        advice = "what was finished is kept. Make room, then give the same command with --resume"
        return unwritten(self.path, problem, advice)

    def begin(self, data: Mapping[str, Any]) -> list[tuple[Floats, Looked | None]]:
        """Write the manifest; the generations that are kept whole, in order: whatever stands behind them is cut off."""
        found, end = self._kept(str(data["key"]))
        try:
            for half in self.path.glob(".*.tmp"):
                half.unlink(missing_ok=True)
            with replacing(self.path / SEARCH.manifest) as temporary:
                temporary.write_text(manifest_text(data), encoding="utf-8")
            self._file = (self.path / GENERATIONS).open("ab", buffering=0)
            self._file.truncate(end)
        except OSError as problem:
            raise self._unwritten(problem) from problem
        return found

    def _kept(self, key: str) -> tuple[list[tuple[Floats, Looked | None]], int]:
        path, found, end = self.path / GENERATIONS, list[tuple[Floats, Looked | None]](), 0
        if not path.exists():
            return found, end
        with path.open("rb") as file:
            for record in records(path, bodies=True):
                if record is None or record.head.get("key") != key or record.head.get("generation") != len(found):
                    break
                found.append(_unpacked(read_body(file, record, path, _ANEW)))
                end = record.at + record.size
        return found, end

    def add(self, key: str, number: int, rows: Floats, looked: Looked | None) -> None:
        """Keep the new designs of a generation.

        Raises
        ------
        FileProblem
            When the disk is full or the folder is gone; the generations before stay as they are.
        """
        try:
            append(self._file, ({"key": key, "generation": number, "designs": len(rows)}, _packed(rows, looked)))
        except OSError as problem:
            raise self._unwritten(problem) from problem

    def release(self) -> None:
        """Let go of the folder."""
        if hasattr(self, "_file"):
            self._file.close()
        self._lock.close()


def _packed(rows: Floats, looked: Looked | None) -> bytes:
    arrays: dict[str, Any] = {"rows": rows}
    if looked is not None:
        arrays |= {name: getattr(looked, name) for name in _NUMBERS}
        arrays |= {name: np.array(json.dumps(getattr(looked, name).tolist())) for name in _WORDS}
    file = io.BytesIO()
    np.savez(file, **arrays)
    return file.getvalue()


def _unpacked(body: bytes) -> tuple[Floats, Looked | None]:
    with np.load(io.BytesIO(body), allow_pickle=False) as file:
        found = {name: file[name] for name in file.files}
    if "values" not in found:
        return found["rows"], None
    words = [np.array(json.loads(str(found[name])), dtype=object) for name in _WORDS]
    return found["rows"], Looked(*(found[name] for name in _NUMBERS), *words)
