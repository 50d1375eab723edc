"""Folders of files that belong together: all of them are made before the first is put in its place."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from keyaction.sim.files.problem import FileProblem, unwritten
from keyaction.sim.files.replace import usual_mode
from keyaction.sim.files.taken import end_of, kind_of, refuse_foreign


def refuse_unusable(folder: Path, option: str = "--out") -> None:
    """Complain early about a folder that nothing could be written into.

    Raises
    ------
    FileProblem
        If it is a file, or it or the folder that it would be made in cannot be written to.
    """
    if folder.exists() and not folder.is_dir():
        raise FileProblem(f"{folder}: is no folder; name another with {option}")
    nearest = folder.absolute()
    while not nearest.exists():
        nearest = nearest.parent
    if not nearest.is_dir():
        raise FileProblem(f"{folder}: {nearest} is no folder; name another with {option}")
    if not os.access(nearest, os.W_OK):
        raise FileProblem(f"{folder}: the folder {nearest} cannot be written to; name another with {option}")


@contextmanager
def staged(folder: Path) -> Iterator[Path]:
    """A hidden folder whose files move into `folder` when all of them have been made; else nothing is left.

    Files of the same name and kind are replaced, others stay. `folder` is made if it is not there.

    Raises
    ------
    Taken
        If a file that this program did not make has one of the names; none is then replaced.
    FileProblem
        If something cannot be written.
    """
    made: Path | None = None
    try:
        folder.mkdir(parents=True, exist_ok=True)
        made = Path(tempfile.mkdtemp(dir=folder, prefix=".", suffix=".tmp"))
        yield made
        files = sorted(made.iterdir())
        refuse_foreign(files, folder, kind_of)
        for path in files:
            usual_mode(path)
            path.replace(end_of(folder / path.name))
    except OSError as problem:
        raise unwritten(folder, problem, "name another folder") from None
    finally:
        if made:
            shutil.rmtree(made, ignore_errors=True)
        _remove_if_empty(folder)


def _remove_if_empty(folder: Path) -> None:
    if folder.is_dir() and not any(folder.iterdir()):
        folder.rmdir()
