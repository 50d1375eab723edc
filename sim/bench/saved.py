"""A case as it stands on the bench, written as a new file."""

from __future__ import annotations

from pathlib import Path

from keyaction.cases.action.case import Case
from keyaction.cases.text.signs import unseen
from keyaction.cases.tuning.targets import TuneProblem
from keyaction.sim.tune.new_case import refuse_taken, write_case

_ENDING = ".toml"
_LONGEST = 80


class NotSaved(ValueError):
    """A file that is not written; the message says why."""


def save(case: Case, text: str, folder: Path, name: str) -> Path:
    """Write a case and the CSV files that it needs into a folder, never over a file of another content.

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
    Path
        The new file.

    Raises
    ------
    NotSaved
        When the name is none, or is taken.
    keyaction.sim.files.problem.FileProblem
        When a file cannot be written; then none is.
    """
    path = folder / _named(name)
    try:
        refuse_taken(case, path, force=False)
    except TuneProblem as problem:
        told = "; ".join(problem.defects).partition("; choose")[0]
        raise NotSaved(f"{told}; choose another name") from None
    write_case(case, path, text)
    return path


def _named(name: str) -> str:
    """The file's name.

    Raises
    ------
    NotSaved
        When it leads anywhere else, or a system could not have it.
    """
    tidy = name.strip()
    if not tidy or tidy.startswith(".") or unseen(tidy) or set(tidy) & set('/\\:*?"<>|') or len(tidy) > _LONGEST:
        raise NotSaved(f"'{name[:_LONGEST]}': a plain file name is needed, such as lighter{_ENDING}")
    return tidy if tidy.lower().endswith(_ENDING) else f"{tidy}{_ENDING}"
