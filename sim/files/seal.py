"""A digest at the end of a file, by which any damage to it is seen before anything of it is believed.

The readers of HDF5 and of zip files pass over what follows their content, so that other programs open such a file as
it is; after one has changed it, its seal no longer fits.
"""

from __future__ import annotations

import hashlib
import re
from pathlib import Path
from typing import IO

from keyaction.sim.files.problem import Unreadable, unread

_PIECE = 1 << 20
_MARK = b"\nkeyaction sha256 %s\n"
_SEAL = re.compile(rb"\nkeyaction sha256 ([0-9a-f]{64})\n")
_LENGTH = len(_MARK % (b"0" * 64))


def sealed(content: bytes) -> bytes:
    """The content with its seal."""
    return content + _MARK % hashlib.sha256(content).hexdigest().encode()


def seal(file: IO[bytes]) -> None:
    """Put the seal behind what an open file holds, whatever its size.

    Raises
    ------
    OSError
        When the disk is full.
    """
    file.seek(0)
    digest = _digest(file)
    file.write(_MARK % digest.encode())


def read_sealed(path: Path, wrong: str, advice: str) -> bytes:
    """The content of a file, if it is as it was written.

    Parameters
    ----------
    path : Path
    wrong : str
        What is said of a file that does not end with a seal.
    advice : str
        What to do about one that is damaged.

    Raises
    ------
    Unreadable
        In one sentence.
    """
    try:
        content = path.read_bytes()
    except (OSError, ValueError) as problem:
        raise unread(path, problem) from problem
    found = _SEAL.fullmatch(content[-_LENGTH:])
    if found is None:
        raise _unsealed(path, content[:8], wrong)
    content = content[:-_LENGTH]
    _refuse_damaged(path, found[1], hashlib.sha256(content).hexdigest(), advice)
    return content


def check_seal(path: Path, wrong: str, advice: str) -> None:
    """The same for a file that may be larger than memory, whose content is read elsewhere."""
    try:
        with path.open("rb") as file:
            size = file.seek(0, 2)
            file.seek(max(0, size - _LENGTH))
            found = _SEAL.fullmatch(file.read())
            file.seek(0)
            if found is None:
                raise _unsealed(path, file.read(8), wrong)
            told = _digest(file, size - _LENGTH)
    except (OSError, ValueError) as problem:
        raise unread(path, problem) from problem
    _refuse_damaged(path, found[1], told, advice)


def _digest(file: IO[bytes], size: int | None = None) -> str:
    """Digest of what comes next in a file, as far as `size`."""
    digest, left = hashlib.sha256(), size
    while piece := file.read(_PIECE if left is None else min(_PIECE, left)):
        digest.update(piece)
        left = None if left is None else left - len(piece)
    return digest.hexdigest()


def _unsealed(path: Path, head: bytes, wrong: str) -> Unreadable:
    return Unreadable(f"{path}: {wrong if head else 'is empty'}")


def _refuse_damaged(path: Path, told: bytes, found: str, advice: str) -> None:
    if told.decode() != found:
        raise Unreadable(f"{path}: damaged, or changed by another program since it was written; {advice}")
