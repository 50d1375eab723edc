"""Where a study is: a path, or the name of one that ships with the program."""

from __future__ import annotations

from pathlib import Path

from keyaction.cases.text.defects import CaseProblem, Defect
from keyaction.cases.text.near import hint

_STUDIES = Path(__file__).parents[1] / "studies"


def shipped_studies() -> dict[str, Path]:
    """The studies that ship with the program: name to path."""
    return {path.stem: path for path in sorted(_STUDIES.glob("*.toml"))}


def find_study(path_or_name: str | Path) -> Path:
    """The file that is meant; a file of that name wins over a shipped study.

    Raises
    ------
    CaseProblem
        If there is none.
    """
    path = Path(path_or_name)
    try:
        there = path.exists()
    except (OSError, ValueError):
        there = False
    shipped = shipped_studies()
    if there:
        return path
    if str(path_or_name).removesuffix(".toml") in shipped:
        return shipped[str(path_or_name).removesuffix(".toml")]
    message = f"no such file{hint(path.stem, shipped)}; shipped studies: {', '.join(shipped)}"
    raise CaseProblem(path, [Defect(str(path), "", "", "", message)])
