"""The folder of a sweep: manifest, finished blocks, one writer at a time."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from keyaction.sim.files.lock import lock
from keyaction.sim.files.problem import FileProblem, Unreadable, other_format, unread, unwritten
from keyaction.sim.files.replace import replacing
from keyaction.sim.sweep.blocks import BlockResult
from keyaction.sim.sweep.kept_blocks import Writer, mend
from keyaction.sim.sweep.manifest import CONTENT, FORMAT, Refused

MANIFEST, LOCK, BLOCKS, RESULTS, PARTIAL = "study.json", "lock", "blocks", "results.h5", "partial.h5"
CHECKSUM = "checksum"
"""Entry of the manifest that tells whether it is as it was written."""
_ANEW = "sweep the study anew, into another folder"


def read_manifest(folder: Path) -> dict[str, Any]:
    """What the folder says about itself.

    Raises
    ------
    Unreadable
        When it is no folder of a sweep, damaged, or of another format.
    """
    path = folder / MANIFEST
    try:
        text = path.read_text(encoding="utf-8")
        data = json.loads(text)
    except (FileNotFoundError, NotADirectoryError):
        raise Unreadable(f"{folder}: no sweep is here; make one with: keyaction sweep STUDY --out {folder}") from None
    except OSError as problem:
        raise unread(path, problem) from problem
    except (ValueError, RecursionError) as problem:
        told = "is empty" if not path.stat().st_size else "is no JSON, or damaged"
        raise Unreadable(f"{path}: {told}; {_ANEW}") from problem
    if not isinstance(data, dict) or data.get("content") != CONTENT or not isinstance(data.get("format"), int):
        raise Unreadable(f"{path}: is not the manifest of a sweep, or damaged; {_ANEW}")
    if data["format"] != FORMAT:
        raise other_format(path, data["format"], FORMAT, "Sweep the study anew, into another folder")
    if text != manifest_text(data):
        raise Unreadable(f"{path}: damaged, or changed since it was written; {_ANEW}")
    return data


def manifest_text(data: Mapping[str, Any]) -> str:
    """A manifest as it is written, with a checksum of all that is in it."""
    plain = {name: value for name, value in data.items() if name != CHECKSUM}
    digest = hashlib.sha256(json.dumps(plain, ensure_ascii=False).encode("utf-8", "surrogatepass")).hexdigest()
    return json.dumps({**plain, CHECKSUM: digest}, indent=1, ensure_ascii=False)


def look(folder: Path) -> dict[str, Any] | None:
    """The manifest of a folder that may be used for a sweep; None if nothing has been begun there.

    Raises
    ------
    Refused
        When other things are in it, or it cannot be a folder.
    """
    if not folder.exists():
        beside = next(parent for parent in folder.absolute().parents if parent.exists())
        if not beside.is_dir():
            raise Refused(f"{folder}: {beside} is not a folder; choose another place with --out")
        return None
    if not folder.is_dir():
        raise Refused(f"{folder}: is a file; name a folder with --out")
    if (folder / MANIFEST).exists():
        try:
            return read_manifest(folder)
        except Unreadable as problem:
            raise Refused(str(problem)) from problem
    others = [
        path.name for path in folder.iterdir() if path.name not in (LOCK, BLOCKS) and not path.name.startswith(".")
    ]
    if others:
        raise Refused(f"{folder}: a folder with other things in it ({', '.join(sorted(others)[:3])}); choose another")
    return None


class StudyFolder:
    """The folder of a sweep, held by this process for writing.

    Raises
    ------
    Refused
        When another process holds it.
    FileProblem
        When it cannot be written to.
    """

    def __init__(self, path: Path, command: str) -> None:
        self.path, self.command = path, command
        try:
            (path / BLOCKS).mkdir(parents=True, exist_ok=True)
            self._lock = lock(path / LOCK, self._busy())
            self._writer = Writer(self.blocks)
        except OSError as problem:
            raise self._unwritten(problem) from problem

    @property
    def blocks(self) -> Path:
        """Where finished blocks are kept."""
        return self.path / BLOCKS

    def _busy(self) -> Refused:
        return Refused(f"{self.path}: another sweep is writing here; wait for it, or choose another folder with --out")

    def _unwritten(self, problem: OSError) -> FileProblem:
        return unwritten(self.path, problem, f"what was finished is kept. Make room, then go on with: {self.command}")

    def begin(self, data: Mapping[str, Any]) -> None:
        """Write the manifest, sweep up what a killed process left half-written, take out what is damaged."""
        try:
            for half in (*self.path.glob(".*.tmp"), *self.blocks.rglob(".*.tmp")):
                half.unlink(missing_ok=True)
            mend(self.blocks)
            (self.path / PARTIAL).unlink(missing_ok=True)
            with replacing(self.path / MANIFEST) as temporary:
                temporary.write_text(manifest_text(data), encoding="utf-8")
        except OSError as problem:
            raise self._unwritten(problem) from problem

    def add(self, result: BlockResult, key: str) -> None:
        """Keep a finished block.

        Raises
        ------
        FileProblem
            When the disk is full or the folder is gone; the blocks kept before stay as they are.
        """
        try:
            self._writer.add(result, key)
        except OSError as problem:
            raise self._unwritten(problem) from problem

    def release(self) -> None:
        """Let go of the folder."""
        self._writer.close()
        self._lock.close()
