"""Blocks kept while others are computed: a thread writes them, and what it has written is told."""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from types import TracebackType

from keyaction.sim.sweep.blocks import BlockResult
from keyaction.sim.sweep.folder import StudyFolder

AHEAD = 4
"""Groups of blocks that wait to be written, at most: the next one has to wait itself."""
PATIENCE = 0.1
"""Share of the time that blocks took, so long at most the disk is waited for before others are computed."""


class Keeper:
    """Keeps blocks in a folder; those that it gives back are on the disk.

    Parameters
    ----------
    held : StudyFolder
    key : str
        Of the study.
    behind : bool
        Whether others may be computed before those handed in are kept; else each is waited for.
    """

    def __init__(self, held: StudyFolder, key: str, behind: bool) -> None:
        self._held, self._key, self._behind, self._since = held, key, behind, time.monotonic()
        self._thread = ThreadPoolExecutor(1)
        self._out: deque[tuple[Sequence[BlockResult], Future[None]]] = deque()

    def __enter__(self) -> Keeper:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, problem: BaseException | None, where: TracebackType | None
    ) -> None:
        self._thread.shutdown()  # what was handed in is kept, whatever happened

    def add(self, results: Sequence[BlockResult]) -> Iterator[Sequence[BlockResult]]:
        """Hand in blocks that were computed together; groups that have been kept since.

        Raises
        ------
        FileProblem
            When the disk is full or the folder is gone; the blocks kept before stay as they are.
        """
        now = time.monotonic()
        self._out.append((results, self._thread.submit(self._held.add, results, self._key)))
        yield from self._kept(now + PATIENCE * (now - self._since) if self._behind else None)
        self._since = time.monotonic()

    def rest(self) -> Iterator[Sequence[BlockResult]]:
        """Groups that have not been given back, as they are kept; errors are those of `add`."""
        yield from self._kept(None)

    def _kept(self, until: float | None) -> Iterator[Sequence[BlockResult]]:
        while self._out:
            results, written = self._out[0]
            left = None if until is None or len(self._out) > AHEAD else max(until - time.monotonic(), 0.0)
            try:
                written.result(left)
            except TimeoutError:
                return
            self._out.popleft()
            yield results
