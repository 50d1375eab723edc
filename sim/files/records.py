"""Records in one file, one behind the other: each whole with its checksums, or not there.

A file of records only grows. Its last record may be cut short by whatever stopped its writer; what stands before is not
touched by that. A record is a head (plain data) and a body (bytes), each with its own digest, so that heads can be
read without their bodies.
"""

from __future__ import annotations

import hashlib
import json
import os
import struct
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

from keyaction.sim.files.problem import Unreadable, unread

MARK = b"\nkeyaction record\n"
"""How a record begins."""
_SIZES = struct.Struct("<IQ32s32s")
"""Length of head and body, digest of the body, digest of all that stands before the body."""
_FIRST = len(MARK) + _SIZES.size
_PIECE = 1 << 20
_JSON = json.JSONEncoder(ensure_ascii=False)
_BLANK = 0x20
"""The least byte of a head: JSON writes whatever is below as words."""


@dataclass(frozen=True)
class Record:
    """Where a record lies in its file.

    Attributes
    ----------
    head : mapping
    at, size : int
        Its first byte, and its length.
    body : (int, int)
        First byte and length of its body.
    digest : bytes
        Of the body.
    """

    head: Mapping[str, Any]
    at: int
    size: int
    body: tuple[int, int]
    digest: bytes


def append(file: IO[bytes], *given: tuple[Mapping[str, Any], bytes]) -> None:
    """Put records, a head and a body each, behind what an unbuffered file holds, and see them onto the disk.

    Raises
    ------
    OSError
        When the disk is full; the file is then as it was.
    """
    at, content = file.seek(0, os.SEEK_END), b"".join([part for head, body in given for part in _record(head, body)])
    try:
        left = memoryview(content)
        while len(left):
            left = left[file.write(left) :]
        os.fsync(file.fileno())
    except BaseException:
        file.truncate(at)
        raise


def _record(head: Mapping[str, Any], body: bytes) -> tuple[bytes, ...]:
    text, own = _JSON.encode(head).encode("utf-8", "surrogatepass"), hashlib.sha256(body).digest()
    whole = hashlib.sha256(_SIZES.pack(len(text), len(body), own, bytes(32)) + text).digest()
    return MARK, _SIZES.pack(len(text), len(body), own, whole), text, body


def records(path: Path, bodies: bool = False) -> Iterator[Record | None]:
    """The records of a file in order, and None wherever one is damaged; a last one that is cut short is not there.

    Parameters
    ----------
    path : Path
    bodies : bool
        Whether bodies are looked at too, or heads only.

    Raises
    ------
    Unreadable
        When the file cannot be read.
    """
    try:
        with path.open("rb") as file:
            end, at = file.seek(0, os.SEEK_END), 0
            while at < end:
                found = _at(file, at, end)
                if found == "cut":
                    onward = _next(file, at + 1, end)
                    if onward == end:
                        return
                    yield None
                    at = onward
                elif isinstance(found, Record):
                    yield found if not bodies or _sound(file, found) else None
                    at += found.size
                else:
                    yield None
                    at = _next(file, at + 1, end)
    except OSError as problem:
        raise unread(path, problem) from problem


def record_at(file: IO[bytes], at: int) -> Record | None:
    """The record that begins at a place of an open file; None if it is damaged or cut short."""
    found = _at(file, at, os.fstat(file.fileno()).st_size)  # a seek to the end would drop what was read ahead
    return found if isinstance(found, Record) else None


def read_body(file: IO[bytes], record: Record, path: Path, advice: str) -> bytes:
    """The body of a record, if it is as it was written.

    Raises
    ------
    Unreadable
        With the advice, if it is not.
    """
    try:
        body = _read(file, record)
    except OSError as problem:
        raise unread(path, problem) from problem
    if hashlib.sha256(body).digest() != record.digest:
        raise damaged(path, advice)
    return body


def damaged(path: Path, advice: str) -> Unreadable:
    """What is said of a file with a damaged record."""
    return Unreadable(f"{path}: damaged, or changed since it was written; {advice}")


def _read(file: IO[bytes], record: Record) -> bytes:
    file.seek(record.body[0])
    return file.read(record.body[1])


def _at(file: IO[bytes], at: int, end: int) -> Record | str:
    """The record that begins at a place; "cut" if the file ends within it, "damaged" if none begins there."""
    file.seek(at)
    first = file.read(_FIRST)
    if not first.startswith(MARK[: len(first)]):
        return "damaged"
    if len(first) < _FIRST:
        return "cut"
    length, body, own, whole = _SIZES.unpack(first[len(MARK) :])
    start = at + _FIRST + length
    text = file.read(length)
    if start > end:
        return "damaged" if _no_beginning(text) else "cut"
    if hashlib.sha256(_SIZES.pack(length, body, own, bytes(32)) + text).digest() != whole:
        return "damaged"
    if start + body > end:
        return "cut"
    return Record(json.loads(text.decode("utf-8", "surrogatepass")), at, start + body - at, (start, body), own)


def _no_beginning(text: bytes) -> bool:
    """Whether what is said to be the beginning of a head is none, or holds one whole: then its length is wrong."""
    if min(text, default=_BLANK) < _BLANK or text[:1] not in (b"{", b""):
        return True
    try:
        json.JSONDecoder().raw_decode(text.decode("utf-8", "replace"))
    except ValueError:
        return False
    return True


def _sound(file: IO[bytes], record: Record) -> bool:
    return hashlib.sha256(_read(file, record)).digest() == record.digest


def _next(file: IO[bytes], at: int, end: int) -> int:
    """Where the next record seems to begin; the end of the file if none does."""
    while at < end:
        file.seek(at)
        piece = file.read(_PIECE + len(MARK))
        found = piece.find(MARK)
        if found >= 0:
            return at + found
        at += _PIECE
    return end
