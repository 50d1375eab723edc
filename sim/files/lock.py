"""One writer at a time: a file that one process holds for as long as it lives."""

from __future__ import annotations

from pathlib import Path
from typing import IO


def lock(path: Path, busy: Exception) -> IO[str]:
    """Hold a file until it is closed or the process ends, however it ends.

    Parameters
    ----------
    path : Path
        Made if it is not there. Where the system has no such locks, one writer at a time is up to the user.
    busy : Exception
        Raised when another process holds it.

    Raises
    ------
    OSError
        When the file cannot be made.
    """
    file = path.open("a", encoding="utf-8")
    try:
        import fcntl
    except ImportError:
        return file
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        file.close()
        raise busy from None
    return file
