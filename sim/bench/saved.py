"""A case as it stands on the bench, written as a new file."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from keyaction.cases.action.case import Case
from keyaction.cases.text.signs import legible, unseen
from keyaction.sim.files.problem import FileProblem
from keyaction.sim.tune.new_case import other_files, write_case

_ENDING = ".toml"
_DEVICES = {"con", "prn", "aux", "nul"} | {f"{port}{n}" for port in ("com", "lpt") for n in range(1, 10)}
"""Names that a system keeps for devices."""
_LONGEST, _LONGEST_BYTES = 80, 200
"""Signs of a name, and bytes where signs have several: a system holds 255."""


class NotSaved(ValueError):
    """A file that is not written; the message says why."""


@dataclass(frozen=True)
class Saved:
    """What was written.

    Attributes
    ----------
    path : Path
        The case.
    files : tuple of str
        CSV files that were written beside it.
    apart : bool
        Whether it has a folder of its own, because other files of those names are there.
    """

    path: Path
    files: tuple[str, ...] = ()
    apart: bool = False


def save(case: Case, text: str, folder: Path, name: str) -> Saved:
    """Write a case and the CSV files that it needs into a folder, never over a file.

    Where a CSV file of another content is there, or a link or a file in its way, the case goes into a new folder of its
    own name.

    Parameters
    ----------
    case : Case
        As `text` has it.
    text : str
    folder : Path
    name : str
        A plain file name; ``.toml`` is added where it is missing.

    Returns
    -------
    Saved

    Raises
    ------
    NotSaved
        When the name is none or is taken, or a file cannot be written; then none is.
    """
    path = folder / _named(name)
    if not folder.is_dir():
        raise NotSaved(f"{folder}: no such folder any more; start the bench where it is now")
    if path.is_symlink() or path.exists():
        raise NotSaved(f"{path}: there already; choose another name")
    apart = any(_taken(folder, name) for name in case.files) or bool(other_files(case, folder))
    if apart:  # no name would help beside another file of that name
        path = folder / path.stem / path.name
        if path.parent.exists():
            raise NotSaved(f"{path.parent}: there already; choose another name")
    try:
        wrote = write_case(case, path, text)
    except FileProblem as problem:
        if apart:
            _unmake(path.parent)
        raise NotSaved(str(problem).removesuffix("; choose another --out")) from None
    return Saved(path, tuple(one.relative_to(path.parent).as_posix() for one in wrote if one != path), apart)


def _taken(folder: Path, name: str) -> bool:
    """Whether a link stands where a CSV file would, or something that is no folder on the way to it."""
    steps = PurePosixPath(name).parts
    ways = [folder.joinpath(*steps[:count]) for count in range(1, len(steps))]
    return (folder / name).is_symlink() or any(one.is_symlink() or (one.exists() and not one.is_dir()) for one in ways)


def _unmake(folder: Path) -> None:
    """Take away a folder that was made for nothing."""
    for one in sorted([folder, *folder.glob("**/*")], reverse=True):
        with suppress(OSError):
            one.rmdir()


def _named(name: str) -> str:
    """The file's name.

    Raises
    ------
    NotSaved
        When it leads anywhere else, or a system could not have it.
    """
    tidy = name.strip()
    if len(tidy) > _LONGEST or len(tidy.encode("utf-8", "replace")) > _LONGEST_BYTES:
        told = f"'{legible(tidy[:20])}...': too long a name; at most {_LONGEST} signs"
        raise NotSaved(f"{told}, fewer where they are not Latin")
    bad = tidy.startswith((".", "-")) or not name.isprintable() or tidy.partition(".")[0].lower() in _DEVICES
    if not tidy or bad or unseen(tidy) or set(tidy) & set('/\\:*?"<>|'):
        raise NotSaved(f"'{legible(tidy)}': a plain file name is needed, such as lighter{_ENDING}")
    return tidy if tidy.lower().endswith(_ENDING) else f"{tidy}{_ENDING}"
