"""HDF5 files larger than memory whose figures are written by the system and not by the HDF5 library.

That library crashes when a disk fills up under it. Here it only lays the file out, in a memory image that holds the
pages it really touched; the figures go to their places in the file by plain writes, whose errors can be told.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

import h5py
import numpy as np
from h5py import h5d, h5p, h5s, h5t
from numpy.typing import NDArray

from keyaction.sim.files.seal import seal

_PAGE = 1 << 16


class SparseImage:
    """A file in memory that keeps only the pages that were written; what lies between reads as zeros."""

    def __init__(self) -> None:
        self.pages: dict[int, bytearray] = {}
        self.size = self._at = 0

    def seek(self, offset: int, whence: int = os.SEEK_SET) -> int:
        """Move as in any file."""
        self._at = {os.SEEK_SET: 0, os.SEEK_CUR: self._at, os.SEEK_END: self.size}[whence] + offset
        return self._at

    def tell(self) -> int:
        """Where it stands."""
        return self._at

    def _spans(self, count: int) -> Iterator[tuple[int, slice, slice]]:
        """Page, place in the page and place in the buffer, for the next `count` bytes."""
        done = 0
        while done < count:
            page, at = divmod(self._at + done, _PAGE)
            n = min(_PAGE - at, count - done)
            yield page, slice(at, at + n), slice(done, done + n)
            done += n

    def write(self, data: Any) -> int:
        """Write bytes."""
        view = memoryview(data).cast("B")
        for page, inside, here in self._spans(len(view)):
            self.pages.setdefault(page, bytearray(_PAGE))[inside] = view[here]
        self._at += len(view)
        self.size = max(self.size, self._at)
        return len(view)

    def readinto(self, buffer: Any) -> int:
        """Fill a buffer."""
        view = memoryview(buffer).cast("B")
        for page, inside, here in self._spans(len(view)):
            found = self.pages.get(page)
            view[here] = found[inside] if found else bytes(inside.stop - inside.start)
        self._at += len(view)
        return len(view)

    def read(self, count: int = -1) -> bytes:
        """Read bytes."""
        buffer = bytearray(self.size - self._at if count < 0 else count)
        self.readinto(buffer)
        return bytes(buffer)

    def truncate(self, size: int | None = None) -> int:
        """Set the size."""
        self.size = self._at if size is None else size
        return self.size

    def flush(self) -> None:
        """Nothing waits to be written."""


class Layout:
    """A file being laid out: `column` reserves an array that is filled later, `file` takes everything else."""

    def __init__(self, file: Any) -> None:
        self.file = file
        self.columns: dict[str, tuple[int, np.dtype[Any]]] = {}

    def column(self, name: str, shape: Sequence[int], kind: str) -> Any:
        """Reserve an array of numbers; its first axis is the one along which it will be filled."""
        how = h5p.create(h5p.DATASET_CREATE)
        how.set_layout(h5d.CONTIGUOUS)
        how.set_alloc_time(h5d.ALLOC_TIME_EARLY)
        how.set_fill_time(h5d.FILL_TIME_NEVER)
        dtype = np.dtype(kind)
        space = h5s.create_simple(tuple(shape))
        made = h5py.Dataset(h5d.create(self.file.id, name.encode(), h5t.py_create(dtype), space, how))
        self.columns[name] = (int(made.id.get_offset()), dtype)
        return made


Rows = tuple[int, dict[str, NDArray[Any]]]
"""First row, and the values of every column from there on."""


def write(path: Path, lay_out: Callable[[Layout], None], rows: Iterator[Rows]) -> None:
    """Write a file, and its seal behind it.

    Parameters
    ----------
    path : Path
        An existing file, which is filled.
    lay_out : callable
        Makes all arrays, attributes and axes of the file.
    rows : iterator
        The values of its columns, piece by piece.

    Raises
    ------
    OSError
        When the disk is full.
    """
    image = SparseImage()
    with h5py.File(image, "w") as file:
        layout = Layout(file)
        lay_out(layout)
    with path.open("r+b", buffering=0) as target:
        _reserve(target.fileno(), image.size)
        for page, content in image.pages.items():
            _put(target, memoryview(content)[: max(image.size - page * _PAGE, 0)], page * _PAGE)
        for first, values in rows:
            for name, (offset, dtype) in layout.columns.items():
                data = np.ascontiguousarray(values[name], dtype=dtype)
                across = data[:1].nbytes
                _put(target, memoryview(data.data).cast("B"), offset + first * across)
    with path.open("r+b") as whole:
        seal(whole)


def _reserve(handle: int, size: int) -> None:
    """Take the room beforehand where the system can, so that a full disk shows at once."""
    if hasattr(os, "posix_fallocate"):
        os.posix_fallocate(handle, 0, size)
    else:
        os.truncate(handle, size)


def _put(target: Any, data: memoryview, at: int) -> None:
    target.seek(at)
    while len(data):
        data = data[target.write(data) :]
