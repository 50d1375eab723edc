"""Finished blocks of a sweep: records in a few files, which only grow.

``blocks/00/00.blocks`` takes blocks as they are finished until it is full, then the next file does; 64 files lie in a
folder. A block that is computed again stands behind its former record, and the last one holds.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import IO, Any

import numpy as np
from numpy.typing import NDArray

from keyaction.sim.files.records import Record, append, damaged, read_body, record_at, records
from keyaction.sim.files.replace import replacing
from keyaction.sim.lanes.judge import Check
from keyaction.sim.sweep.blocks import LOST, Block, BlockResult, Coded

FULL = 1 << 26
"""Bytes from which on a file takes no more."""
TOGETHER = 64
"""Files in a folder."""
_AHEAD = 1 << 18
"""Bytes read at once where blocks are read one behind the other."""
_ADVICE = "compute again what is lost: give the command of the sweep with --resume"
_ARRAYS = ("values", "inputs", "places")


def shard(folder: Path, number: int) -> Path:
    """A file of blocks."""
    return folder / f"{number // TOGETHER:02d}" / f"{number % TOGETHER:02d}.blocks"


def shards(folder: Path) -> int:
    """How many files of blocks there are."""
    count = 0
    while shard(folder, count).exists():
        count += 1
    return count


class Writer:
    """Keeps blocks in a folder that nobody else writes to.

    Raises
    ------
    OSError
        When the folder cannot be written to.
    """

    def __init__(self, folder: Path) -> None:
        self._folder, self._number = folder, max(shards(folder) - 1, 0)
        self._file: IO[bytes] | None = None

    def add(self, results: Sequence[BlockResult], key: str) -> None:
        """Keep blocks, all of them whole or none: the disk is waited for once.

        Raises
        ------
        OSError
            When the disk is full or the folder is gone; what was kept before stays as it is.
        """
        append(self._room(), *(_as_record(result, key) for result in results))

    def _room(self) -> IO[bytes]:
        """The file that takes the next block."""
        if self._file is not None and self._file.tell() >= FULL:
            self._file.close()
            self._file, self._number = None, self._number + 1
        if self._file is None:
            path = shard(self._folder, self._number)
            path.parent.mkdir(parents=True, exist_ok=True)
            self._file = path.open("ab", buffering=0)
        return self._file

    def close(self) -> None:
        """Let go of the file."""
        if self._file is not None:
            self._file.close()


def mend(folder: Path) -> None:
    """Take out of the files what is damaged or was left half-written; each is changed whole or not at all.

    Raises
    ------
    OSError
        When a file cannot be read or written.
    """
    for number in range(shards(folder)):
        path = shard(folder, number)
        found = list(records(path, bodies=True))
        sound = [one for one in found if one is not None]
        if len(sound) < len(found) or sum(one.size for one in sound) != path.stat().st_size:
            with replacing(path) as temporary, temporary.open("wb") as new, path.open("rb") as old:
                for one in sound:
                    old.seek(one.at)
                    new.write(old.read(one.size))


Codes = Mapping[str, tuple[Sequence[str], Sequence[int]]]


@dataclass(frozen=True)
class Told:
    """What is told of a kept block in words, before its figures are read.

    Attributes
    ----------
    block : Block
    words : mapping of name to (texts, numbers)
        Different texts, and which of them holds for each train.
    checks : tuple of Check
    """

    block: Block
    words: Codes
    checks: tuple[Check, ...]

    @property
    def trains(self) -> int:
        """How many trains it has."""
        return len(self.words["status"][1])

    @property
    def lost(self) -> bool:
        """Whether the processes that were to compute it died."""
        return any(text.startswith(LOST) for text in self.words["status"][0])

    def count(self, text: str) -> int:
        """Trains of a status."""
        names, codes = self.words["status"]
        return sum(codes.count(code) for code, name in enumerate(names) if name == text)


@dataclass(frozen=True)
class Kept:
    """Where the blocks of a plan lie.

    Attributes
    ----------
    number, at : (blocks,) arrays of int
        File of each, -1 for those that are not there, and place in it.
    """

    folder: Path
    number: NDArray[np.int32]
    at: NDArray[np.int64]
    _open: dict[int, tuple[Path, IO[bytes]]] = field(default_factory=dict, repr=False)

    @property
    def there(self) -> NDArray[np.int64]:
        """Numbers of the blocks that are there."""
        return np.flatnonzero(self.number >= 0)

    def results(self) -> Iterator[BlockResult]:
        """The blocks that are there, in order, one at a time.

        Raises
        ------
        Unreadable
            When one of them is damaged.
        """
        try:
            for index in self.there.tolist():
                yield self._read(int(self.number[index]), int(self.at[index]))
        finally:
            self._close()

    def _read(self, number: int, at: int) -> BlockResult:
        if number not in self._open:
            if len(self._open) >= TOGETHER:
                self._close()
            path = shard(self.folder, number)
            self._open[number] = path, path.open("rb", buffering=_AHEAD)
        path, file = self._open[number]
        record = record_at(file, at)
        if record is None:
            raise damaged(path, _ADVICE)
        return _result(record, read_body(file, record, path, _ADVICE))

    def _close(self) -> None:
        for _, file in self._open.values():
            file.close()
        self._open.clear()


def newest(folder: Path, blocks: Sequence[Block], key: str) -> Iterator[tuple[Told, int, int]]:
    """The newest record of each of the blocks that is kept, whatever their order, with its file and place.

    Raises
    ------
    Unreadable
        When a file cannot be read or something in it is damaged.
    """
    seen = np.zeros(len(blocks), dtype=bool)
    for number in reversed(range(shards(folder))):
        path = shard(folder, number)
        found = list(records(path))
        if None in found:
            raise damaged(path, _ADVICE)
        for record in reversed(found):
            told = _told(record, key) if record is not None else None
            index = told.block.index if told is not None else -1
            if told is None or record is None or not 0 <= index < len(blocks) or seen[index]:
                continue
            if blocks[index] == told.block:
                seen[index] = True
                yield told, number, record.at


def _as_record(result: BlockResult, key: str) -> tuple[dict[str, Any], bytes]:
    arrays = [np.asarray(getattr(result, name), dtype="<f8") for name in _ARRAYS]
    head = {
        "key": key,
        "block": vars(result.block),
        "shapes": [one.shape for one in arrays],
        "words": {name: {"names": one.names, "codes": one.codes.tolist()} for name, one in result.words.items()},
        "checks": [asdict(check) for check in result.checks],
        "seconds": result.seconds,
    }
    return head, b"".join([one.tobytes() for one in arrays])


def _told(record: Record, key: str) -> Told | None:
    head = record.head
    if head.get("key") != key:
        return None
    words = {name: (one["names"], one["codes"]) for name, one in head["words"].items()}
    return Told(Block(**head["block"]), words, tuple(Check(**check) for check in head["checks"]))


def _result(record: Record, body: bytes) -> BlockResult:
    head, arrays, first = record.head, {}, 0
    for name, shape in zip(_ARRAYS, head["shapes"], strict=True):
        count = math.prod(shape)
        arrays[name] = np.frombuffer(body, dtype="<f8", count=count, offset=first).reshape(shape)
        first += 8 * count
    words = {name: Coded(one["names"], np.array(one["codes"], dtype=np.int32)) for name, one in head["words"].items()}
    checks = tuple(Check(**check) for check in head["checks"])
    return BlockResult(Block(**head["block"]), **arrays, words=words, checks=checks, seconds=head["seconds"])
