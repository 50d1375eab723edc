"""Text files that are written whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

from keyaction.sim.files.problem import FileProblem, unwritten
from keyaction.sim.files.replace import replacing
from keyaction.sim.files.taken import Kind, end_of, refuse_taken


def refuse_unwritable(path: Path, option: str, kind: Kind | None = None) -> None:
    """Complain early about a file that could not be written, or that stands there and is none of this kind.

    Raises
    ------
    FileProblem
        If its folder is not there or cannot be written to, or it is a folder itself.
    Taken
        If something else stands there.
    """
    folder = end_of(path).parent
    if not folder.is_dir():
        raise FileProblem(f"{path}: there is no folder {folder}; make it or choose another {option}")
    if path.is_dir():
        raise FileProblem(f"{path}: is a folder; name a file with {option}")
    if not os.access(folder, os.W_OK):
        raise FileProblem(f"{path}: the folder {folder} cannot be written to; choose another {option}")
    if kind is not None:
        refuse_taken(path, kind, option)


def write_text(path: Path, text: str) -> None:
    """Write a file under a temporary name and rename it.

    Raises
    ------
    FileProblem
        If it cannot be written; an older file stays as it was.
    """
    try:
        with replacing(path) as temporary:
            temporary.write_text(text, encoding="utf-8")
    except OSError as problem:
        raise unwritten(path, problem) from problem
