"""Reading a text file that somebody else wrote, with one clear reason where it cannot be read."""

from __future__ import annotations

from pathlib import Path

from keyaction.cases.text.defects import BadValue

LARGEST = 5_000_000
"""Largest file in bytes that is taken for a case or its CSV file."""


def read_text(path: Path, largest: int = LARGEST) -> str:
    r"""The text of a UTF-8 file of at most so many bytes, without byte-order mark and with ``\n`` line ends.

    Raises
    ------
    BadValue
        If there is no such file, or it is a folder, empty, too large, unreadable or not UTF-8.
    """
    try:
        return _decode(read_bytes(path, largest))
    except OSError as problem:
        raise BadValue(f"cannot be read: {problem.strerror or problem}") from None
    except BadValue:
        raise
    except ValueError as problem:
        raise BadValue(f"not a usable path: {problem}") from None


def line_ends(path: Path) -> str:
    r"""How the lines of a file end, ``\n`` or ``\r\n``: what its first line has; ``\n`` where it cannot be read."""
    try:
        check_plain(path)
        with path.open("rb") as stream:
            first = stream.readline(LARGEST)
    except (OSError, BadValue):
        return "\n"
    return "\r\n" if first.endswith(b"\r\n") else "\n"


def check_plain(path: Path) -> None:
    """Refuse what is no plain file before it is opened: a pipe would be waited for without end.

    Raises
    ------
    BadValue
    """
    if path.is_dir():
        raise BadValue("is a folder; name the file in it")
    if not path.exists():
        raise BadValue("no such file")
    if not path.is_file():
        raise BadValue("is not a plain file")


def read_bytes(path: Path, largest: int = LARGEST) -> bytes:
    """What is in a plain file of at most so many bytes.

    Raises
    ------
    BadValue
    """
    check_plain(path)
    with path.open("rb") as stream:
        content = stream.read(largest + 1)
    if len(content) > largest:
        raise BadValue(f"is larger than {largest // 1_000_000} MB")
    return content


def _decode(content: bytes) -> str:
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        line = content.count(b"\n", 0, problem.start) + 1
        raise BadValue(f"is not UTF-8 text (line {line}); save it as UTF-8") from None
    if not text.strip():
        raise BadValue("is empty")
    return text.replace("\r\n", "\n")
