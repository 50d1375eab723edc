"""A file that takes the place of another when it is whole, and not before."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from keyaction.sim.files.taken import end_of


@contextmanager
def replacing(path: Path) -> Iterator[Path]:
    """A temporary name beside `path` that is renamed onto it when all went well, and removed otherwise.

    Of a symlink, the file that it leads to is replaced.

    Raises
    ------
    OSError
        When the disk is full, or the folder is gone or closed; an older file stays as it was.
    """
    path = end_of(path)
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".tmp")
    os.close(handle)
    temporary = Path(name)
    try:
        yield temporary
        with temporary.open("r+b") as file:
            os.fsync(file.fileno())
        usual_mode(temporary)
        temporary.replace(path)
    finally:
        temporary.unlink(missing_ok=True)


def usual_mode(path: Path) -> None:
    """Let a temporary file, which is its maker's alone, be read and written by whom new files are open to."""
    current = os.umask(0)
    os.umask(current)
    path.chmod(0o666 & ~current)
