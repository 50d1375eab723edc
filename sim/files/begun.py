"""Folders in which long work is begun and gone on with: what each says of itself, and whether it may be used."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from keyaction.sim.files.problem import Unreadable, other_format, unread

_CHECKSUM = "checksum"


class Refused(RuntimeError):
    """Work that must not start in a folder; nothing has been written."""


@dataclass(frozen=True)
class Work:
    """A kind of long work that has a folder.

    Attributes
    ----------
    word : str
        What it is called.
    content : str
        What its manifest says that it is.
    format : int
        Version of the layout of its folder.
    manifest : str
        Name of the file that says what is in the folder.
    own : tuple of str
        What else may lie there before there is a manifest.
    command : str
        How it is begun; the folder follows.
    anew : str
        How it is begun anew, in words.
    """

    word: str
    content: str
    format: int
    manifest: str
    own: tuple[str, ...]
    command: str
    anew: str

    def begun_in(self, folder: Path) -> bool:
        """Whether such work was begun in a folder."""
        return (folder / self.manifest).is_file()


def read_manifest(folder: Path, work: Work) -> dict[str, Any]:
    """What a folder says of itself.

    Raises
    ------
    Unreadable
        When it is no folder of such work, damaged, or of another format.
    """
    path = folder / work.manifest
    try:
        text = path.read_text(encoding="utf-8")
        data = json.loads(text)
    except (FileNotFoundError, NotADirectoryError):
        raise Unreadable(f"{folder}: no {work.word} is here; make one with: {work.command} {folder}") from None
    except OSError as problem:
        raise unread(path, problem) from problem
    except (ValueError, RecursionError) as problem:
        told = "is empty" if not path.stat().st_size else "is no JSON, or damaged"
        raise Unreadable(f"{path}: {told}; {work.anew}") from problem
    if not isinstance(data, dict) or data.get("content") != work.content or not isinstance(data.get("format"), int):
        raise Unreadable(f"{path}: is not the manifest of a {work.word}, or damaged; {work.anew}")
    if data["format"] != work.format:
        raise other_format(path, data["format"], work.format, work.anew[:1].upper() + work.anew[1:])
    if text != manifest_text(data):
        raise Unreadable(f"{path}: damaged, or changed since it was written; {work.anew}")
    return data


def manifest_text(data: Mapping[str, Any]) -> str:
    """A manifest as it is written, with a checksum of all that is in it."""
    plain = {name: value for name, value in data.items() if name != _CHECKSUM}
    digest = hashlib.sha256(json.dumps(plain, ensure_ascii=False).encode("utf-8", "surrogatepass")).hexdigest()
    return json.dumps({**plain, _CHECKSUM: digest}, indent=1, ensure_ascii=False)


def look(folder: Path, work: Work) -> dict[str, Any] | None:
    """The manifest of a folder that may be used; None if nothing has been begun there.

    Raises
    ------
    Refused
        When other things are in it, or it cannot be a folder.
    """
    if not folder.exists():
        beside = next(parent for parent in folder.absolute().parents if parent.exists())
        if not beside.is_dir():
            raise Refused(f"{folder}: {beside} is not a folder; choose another place with --out")
        return None
    if not folder.is_dir():
        raise Refused(f"{folder}: is a file; name a folder with --out")
    if (folder / work.manifest).exists():
        try:
            return read_manifest(folder, work)
        except Unreadable as problem:
            raise Refused(str(problem)) from problem
    others = [one.name for one in folder.iterdir() if one.name not in work.own and not one.name.startswith(".")]
    if others:
        raise Refused(f"{folder}: a folder with other things in it ({', '.join(sorted(others)[:3])}); choose another")
    return None
