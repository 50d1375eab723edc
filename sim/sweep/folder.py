"""The folder of a sweep: manifest, finished blocks, one writer at a time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from keyaction.sim.files.begun import Refused, Work, manifest_text
from keyaction.sim.files.lock import lock
from keyaction.sim.files.problem import FileProblem, unwritten
from keyaction.sim.files.replace import replacing
from keyaction.sim.sweep.blocks import BlockResult
from keyaction.sim.sweep.kept_blocks import Writer, mend
from keyaction.sim.sweep.manifest import CONTENT, FORMAT

LOCK, BLOCKS, RESULTS, PARTIAL = "lock", "blocks", "results.h5", "partial.h5"
SWEEP = Work(
    "sweep",
    CONTENT,
    FORMAT,
    "study.json",
    (LOCK, BLOCKS),
    "keyaction sweep STUDY --out",
    "sweep the study anew, into another folder",
)


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
            advice = f"choose another folder with --out, or mend this and go on with: {command}"
            raise unwritten(path, problem, advice) from problem

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
            with replacing(self.path / SWEEP.manifest) as temporary:
                temporary.write_text(manifest_text(data), encoding="utf-8")
        except OSError as problem:
            raise self._unwritten(problem) from problem

    def add(self, results: Sequence[BlockResult], key: str) -> None:
        """Keep finished blocks.

        Raises
        ------
        FileProblem
            When the disk is full or the folder is gone; the blocks kept before stay as they are.
        """
        try:
            self._writer.add(results, key)
        except OSError as problem:
            raise self._unwritten(problem) from problem

    def release(self) -> None:
        """Let go of the folder."""
        self._writer.close()
        self._lock.close()
