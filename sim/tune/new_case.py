"""A case as a new case file: the original text with notes' own values, such as the forces of tuned springs."""

from __future__ import annotations

import tempfile
import tomllib
from collections.abc import Mapping
from contextlib import ExitStack
from pathlib import Path

from keyaction.cases.action.case import Case
from keyaction.cases.action.reader import read_case
from keyaction.cases.text.defects import BadValue
from keyaction.cases.text.edit import EditProblem, with_values
from keyaction.cases.text.textfile import line_ends, read_text
from keyaction.cases.text.written import Names
from keyaction.cases.tuning.targets import TuneProblem
from keyaction.models.notes import note_name, parse_note
from keyaction.sim.files.problem import unwritten
from keyaction.sim.files.replace import replacing


def tuned_text(case: Case, forces: Mapping[int, float], about: str) -> str:
    """The case's text with the spring force (N) of some notes set in the note's own values.

    Parameters
    ----------
    case : Case
    forces : mapping of note to N
    about : str
        What was tuned, for a remark before the tables that are added.

    Raises
    ------
    TuneProblem
        If the text cannot be changed so, because a force has a table of its own.
    """
    spring = next(part.name for part in case.parts if part.part.role == "spring")
    values = {note: (spring, "force", f"{force:.4f} N") for note, force in forces.items()}
    try:
        return with_own_values(case, values, f"Springs tuned: {about}")
    except EditProblem as problem:
        raise TuneProblem([f'{case.path.name}: {problem}; write it as force = "2 N", to tune it']) from None


def with_own_values(case: Case, values: Mapping[int, tuple[str, str, str]], remark: str) -> str:
    """The case's text with a field of some notes set in the note's own values.

    Parameters
    ----------
    case : Case
    values : mapping of note to (part, field, value)
    remark : str
        Before the tables that are added.

    Raises
    ------
    keyaction.cases.text.edit.EditProblem
        If the text cannot be changed so.
    """
    keys = _own_keys(case)
    found: dict[Names, str] = {
        ("notes", keys.get(note, note_name(note, case.naming)), part, field): value
        for note, (part, field, value) in sorted(values.items())
    }
    return with_values(case.text, found, remark)


def _own_keys(case: Case) -> dict[int, str]:
    """How the file itself calls the notes that have values of their own."""
    return {parse_note(key, case.naming): key for key in tomllib.loads(case.text).get("notes", {})}


def refuse_taken(case: Case, path: Path, force: bool) -> None:
    """Refuse to write over files that are there, unless forced.

    Raises
    ------
    TuneProblem
        If the case file, or a CSV file of another content beside it, is there already.
    """
    if force:
        return
    taken = [path] if path.exists() else []
    taken += other_files(case, path.parent)
    if taken:
        named = ", ".join(str(one) for one in taken)
        raise TuneProblem([f"{named}: there already; choose another --out, or give --force to write over it"])


def other_files(case: Case, folder: Path) -> list[Path]:
    """Files of another content in a folder, where the CSV files of a case would have to be."""
    found = ((folder / name, text) for name, text in case.files.items())
    return [path for path, text in found if path.exists() and _other_text(path, text)]


def _other_text(path: Path, text: str) -> bool:
    try:
        return read_text(path) != text
    except BadValue:
        return True


def check_text(case: Case, text: str, forces: Mapping[int, float]) -> None:
    """Read the new text as a case and make sure that every note has its spring.

    Raises
    ------
    TuneProblem
        If it has not.
    """
    again = read_again(case, text)
    spring = next(part for part in again.parts if part.part.role == "spring")
    wrong = [n for n, force in forces.items() if abs(float(spring.fields["force"][n].value) - force) > 1e-3]
    if wrong:
        raise TuneProblem([f"{case.path.name}: its text could not be given other springs"])


def read_again(case: Case, text: str) -> Case:
    """Another text of a case read as one, with the CSV files that are beside it."""
    with tempfile.TemporaryDirectory() as folder:
        files = {case.path.name: text, **case.files}
        for name, content in files.items():
            place = Path(folder) / name
            place.parent.mkdir(parents=True, exist_ok=True)
            place.write_text(content, encoding="utf-8")
        return read_case(Path(folder) / case.path.name, within=case.within)


def write_case(case: Case, path: Path, text: str) -> list[Path]:
    """Write the case and the CSV files that it needs beside it; all of them or none.

    Raises
    ------
    FileProblem
        If a file cannot be written.
    """
    files = {path: (text, case.path)}
    for name, content in case.files.items():
        if not (path.parent / name).exists() or _other_text(path.parent / name, content):
            files[path.parent / name] = content, case.path.parent / name
    try:
        with ExitStack() as stack:
            for place, (content, source) in files.items():
                place.parent.mkdir(parents=True, exist_ok=True)
                made = stack.enter_context(replacing(place))
                made.write_text(content, encoding="utf-8", newline=line_ends(source))
    except OSError as problem:
        raise unwritten(path, problem, "choose another --out") from None
    return list(files)
