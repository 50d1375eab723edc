"""What stands already where a file is to be written: replaced only if this program made it, of the same kind."""

from __future__ import annotations

import csv
import os
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

from keyaction.sim.files.problem import Taken, unread

CONTENT = "key action, note by note"
"""What a result file says of itself, near its head."""
DRAWN = "keyaction drawing to scale"
"""What a drawing says of itself: near its head, of a PDF near its end."""
_HEAD = 1 << 16
_HDF5 = b"\x89HDF\r\n\x1a\n"
_ALIKE = 3
"""Columns by whose headings a table is known; its unit and its last columns may be others."""
_UNIT = re.compile(r" \([^()]*\)$")


@dataclass(frozen=True)
class Kind:
    """A kind of file of this program.

    Attributes
    ----------
    words : str
        What one of them is called.
    known : callable
        Whether a file that begins with these bytes is one.
    """

    words: str
    known: Callable[[bytes], bool]


RESULT = Kind("result file of this program", lambda head: head.startswith(_HDF5) and CONTENT.encode() in head)
PICTURE = Kind("picture of this program", lambda head: head.startswith(b"\x89PNG") and b"Matplotlib" in head[:512])
PAGE = Kind("report of this program", lambda head: b'name="generator" content="keyaction' in head)
PRINT = Kind("printed report", lambda head: head.startswith(b"%PDF"))
DRAWING = Kind("drawing of this program", lambda head: DRAWN.encode() in head)


def table(heading: str) -> Kind:
    """A table as CSV whose headings are like those of this one, or of its first line."""
    wanted = _words(heading.split("\n", 1)[0])
    return Kind("table of this command", lambda head: _words(_line(head)) == wanted)


def _line(head: bytes) -> str:
    return head.decode("utf-8", "replace").split("\n", 1)[0]


def _words(heading: str) -> list[str]:
    """Headings of the first columns, without their units."""
    cells = next(csv.reader([heading.rstrip("\r")]), [])
    return [_UNIT.sub("", cell) for cell in cells[:_ALIKE]]


def end_of(path: Path) -> Path:
    """The file itself, or what it leads to where it is a symlink, there or not."""
    return Path(os.path.realpath(path)) if path.is_symlink() else path


def refuse_taken(path: Path, kind: Kind, option: str = "--out") -> None:
    """Complain about a file in whose place none of this kind may be written.

    Parameters
    ----------
    path : Path
    kind : Kind
        What may be replaced; a file that is not there may be made.
    option : str
        By which another name is given.

    Raises
    ------
    Taken
        If something else stands there.
    """
    if told := _told(path, kind):
        raise Taken(f"{told}; nothing was written. Choose another {option}, or delete it first")


def refuse_special(path: Path, option: str) -> None:
    """Complain about what is there and is no plain file: a device or a pipe is never replaced.

    Raises
    ------
    Taken
        If it is one.
    """
    if told := _special(path):
        raise Taken(f"{told}; choose another {option}")


def refuse_foreign(made: Iterable[Path], folder: Path, kinds: Callable[[Path], Kind]) -> None:
    """Complain about every file of a folder whose name a new one would take, and that is none of ours.

    Raises
    ------
    Taken
        With all of them.
    """
    told = [text for path in made if (text := _told(folder / path.name, kinds(path)))]
    if told:
        what = "them" if len(told) > 1 else "it"
        raise Taken("\n".join([*told, f"nothing was written; choose another folder, or delete {what} first"]))


def kind_of(path: Path) -> Kind:
    """The kind of a file that was just made."""
    if DRAWING.known(_head(path)):
        return DRAWING
    kinds = {".h5": RESULT, ".png": PICTURE, ".html": PAGE, ".pdf": PRINT}
    return kinds.get(path.suffix) or table(_line(_head(path)))


def _told(path: Path, kind: Kind) -> str:
    """Why a file may not be replaced; empty if it may, or is not there."""
    if (special := _special(path)) or not path.exists():
        return special
    return "" if kind.known(_head(path)) else f"{path}: is there already{_leads(path)} and is no {kind.words}"


def _special(path: Path) -> str:
    end = end_of(path)
    if end.is_symlink():
        return f"{path}: is a symlink that leads nowhere"
    if not end.exists() or end.is_file():
        return ""
    return f"{path}: is {'a folder' if end.is_dir() else 'no plain file'}{_leads(path)}"


def _leads(path: Path) -> str:
    return f" (a symlink to {end_of(path)})" if path.is_symlink() else ""


def is_one(path: Path, kind: Kind) -> bool:
    """Whether a plain file of this kind stands there, to be replaced or taken away."""
    return path.is_file() and not path.is_symlink() and kind.known(_head(path))


def _head(path: Path) -> bytes:
    """The beginning of a file; of a long PDF, which says at its end who made it, that as well."""
    try:
        with path.open("rb") as file:
            head = file.read(_HEAD)
            if head.startswith(b"%PDF") and file.seek(0, os.SEEK_END) > _HEAD:
                file.seek(-_HEAD, os.SEEK_END)
                head += file.read()
            return head
    except OSError as problem:
        raise Taken(str(unread(path, problem))) from problem


def refuse_same(*paths: tuple[str, Path | None]) -> None:
    """Complain about two options that name one file.

    Raises
    ------
    Taken
        Naming both.
    """
    seen: dict[str, str] = {}
    for option, path in paths:
        if path is None:
            continue
        first = seen.setdefault(os.path.realpath(path), option)
        if first != option:
            raise Taken(f"{path}: both {first} and {option}; name two files")
