"""What goes wrong with files, in words."""

from __future__ import annotations

from pathlib import Path


class FileProblem(RuntimeError):
    """A file that cannot be written or read; the message names it and says what to do."""


class Taken(FileProblem):
    """A file that stands where another is to be written, and is not this program's to replace: wrong input."""


class Unreadable(FileProblem):
    """A file that was to be read and is not there, not of this program, or damaged: wrong input."""


def reason(problem: OSError | ValueError) -> str:
    """Why the system refused, in one line."""
    return getattr(problem, "strerror", None) or str(problem).split("\n")[0]


def unread(path: Path | str, problem: OSError | ValueError) -> Unreadable:
    """The complaint about something that the system does not let be read."""
    return Unreadable(f"{path}: cannot be read ({reason(problem)})")


def unwritten(path: Path | str, problem: OSError, advice: str = "") -> FileProblem:
    """The complaint about something that cannot be written, with what to do about it."""
    return FileProblem(f"{path}: cannot be written ({reason(problem)}){f'; {advice}' if advice else ''}")


def other_format(path: Path, found: int, known: int, advice: str) -> Unreadable:
    """The complaint about a file laid out by another version of the program, with what to do about an older one."""
    if found > known:
        return Unreadable(f"{path}: format {found}, written by a later version; this one reads format {known}")
    return Unreadable(f"{path}: format {found}, written by an earlier version; this one reads format {known}. {advice}")
