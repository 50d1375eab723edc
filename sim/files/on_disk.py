"""Arrays of an HDF5 file that stay on the disk: what is asked for is read, and nothing else."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[Any]


@dataclass(frozen=True)
class OnDisk:
    """An array that lies in one piece in a file; indexed as NumPy's own, by rows first.

    Parameters
    ----------
    path : Path
    offset : int
        Its first byte.
    kind : dtype
    shape : tuple of int
    names : (m,) array of object, optional
        Texts that its numbers stand for; it then gives these.
    """

    path: Path
    offset: int
    kind: np.dtype[Any]
    shape: tuple[int, ...]
    names: Array | None = None

    @property
    def dtype(self) -> np.dtype[Any]:
        """Of what it gives."""
        return self.kind if self.names is None else np.dtype(object)

    @property
    def ndim(self) -> int:
        """Axes."""
        return len(self.shape)

    @property
    def size(self) -> int:
        """Numbers in it."""
        return int(np.prod(self.shape))

    def __len__(self) -> int:
        return self.shape[0]

    def __getitem__(self, key: Any) -> Any:
        found = self.numbers(key)
        return found if self.names is None else self.names[found]

    def __array__(self, dtype: Any = None, copy: bool | None = None) -> Array:
        return np.asarray(self[:], dtype=dtype)

    def numbers(self, key: Any) -> Any:
        """The same without texts in their place."""
        rows, *rest = key if isinstance(key, tuple) else (key,)
        found = self._rows(rows)
        if not rest:
            return found
        return found[tuple(rest)] if isinstance(rows, int | np.integer) else found[(slice(None), *rest)]

    def _rows(self, rows: Any) -> Any:
        if isinstance(rows, slice):
            first, last, step = rows.indices(len(self))
            if step == 1:
                return self._run(first, max(last - first, 0))
        elif isinstance(rows, int | np.integer):
            return self._run(range(len(self))[int(rows)], 1)[0]
        # memory that is lent by the system for as long as this takes
        return np.memmap(self.path, self.kind, "r", self.offset, self.shape)[rows].copy() if self.size else np.empty(0)

    def _run(self, first: int, count: int) -> Array:
        across = self.shape[1:]
        width = int(np.prod(across))
        offset = self.offset + first * width * self.kind.itemsize
        found = np.fromfile(self.path, self.kind, count * width, offset=offset)
        return found.reshape(count, *across)
