"""Where a case or instrument is: a path, or the name of one that ships with the program."""

from __future__ import annotations

from pathlib import Path

from keyaction.cases.text.near import hint

_SHIPPED = Path(__file__).parents[1]
_KINDS = "kinds"
"""Folder beside the demonstrations: a small case of every kind of action."""
_DEMOS = "demo-"


def shipped() -> dict[str, Path]:
    """The cases and instruments that ship with the program: name to path, the demonstrations first, by their names."""
    return {path.stem: path for folder in (_SHIPPED, _SHIPPED / _KINDS) for path in sorted(folder.glob("*.toml"))}


def find_case(path_or_name: str | Path) -> Path:
    """The file that is meant.

    Parameters
    ----------
    path_or_name : str or Path
        A path, or the name of a shipped case; a file of that name wins.

    Returns
    -------
    Path
        The file; if there is none, the path as given, for the reader to complain of.
    """
    path = Path(path_or_name)
    if is_file(path):
        return path
    found = shipped().get(str(path_or_name).removesuffix(".toml"))
    return found if found is not None else path


def missing_hint(path: Path) -> str:
    """What a file that is not there may have meant: a file in its folder, or a shipped case."""
    try:
        beside = [one.name for one in path.parent.glob("*.toml")]
    except (OSError, ValueError):
        beside = []
    for name, known in ((path.name, beside), (path.stem, shipped())):
        if "did you mean" in (near := hint(name, known)):
            return near
    ours = [one for one in shipped() if one.startswith(_DEMOS)]
    return f"{hint(path.name, beside)}; shipped: {', '.join(ours)}"


def is_file(path: Path) -> bool:
    """Whether there is such a file; a name that no file can have is none."""
    try:
        return path.is_file()
    except (OSError, ValueError):
        return False
