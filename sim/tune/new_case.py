"""The tuned case as a new case file: the original text, its springs' forces in [notes] tables."""

from __future__ import annotations

import json
import re
import tempfile
import tomllib
from collections.abc import Mapping
from contextlib import ExitStack
from copy import deepcopy
from pathlib import Path
from typing import Any

from keyaction.cases.action.case import Case
from keyaction.cases.action.reader import read_case
from keyaction.cases.text.defects import BadValue
from keyaction.cases.text.textfile import read_text
from keyaction.cases.tuning.targets import TuneProblem
from keyaction.models.notes import note_name, parse_note
from keyaction.sim.files.problem import unwritten
from keyaction.sim.files.replace import replacing

_HEADER = re.compile(r"^\s*\[([^\[\]].*?)\]\s*(?:#.*)?$")
_BARE = re.compile(r"[A-Za-z0-9_-]+")
_FORCE = re.compile(r"^\s*force\s*=")


def tuned_text(case: Case, forces: Mapping[int, float], about: str) -> str:
    """The case's text with the spring force (N) of some notes set in a table of each note.

    Parameters
    ----------
    case : Case
    forces : mapping of note to N
    about : str
        What was tuned, for a remark in the file.

    Raises
    ------
    TuneProblem
        If the text cannot be changed so, because its own [notes] tables are written in another way.
    """
    spring = next(part.name for part in case.parts if part.part.role == "spring")
    data = tomllib.loads(case.text)
    wanted, lines = deepcopy(data), case.text.rstrip("\n").split("\n")
    keys = _own_keys(case, data)
    added: list[str] = []
    for note, force in sorted(forces.items()):
        key = keys.get(note, note_name(note, case.naming))
        value = f"{force:.4f} N"
        wanted.setdefault("notes", {}).setdefault(key, {}).setdefault(spring, {})["force"] = value
        if spring in data.get("notes", {}).get(key, {}):
            _change(lines, ["notes", key, spring], value)
        else:
            added += ["", f"[notes.{_quoted(key)}.{spring}]", f'force = "{value}"']
    head = ["", f"# Springs tuned: {about}"] if added else []
    text = "\n".join([*lines, *head, *added]) + "\n"
    if _read(text) != wanted:
        raise TuneProblem([f"{case.path.name}: write the notes' own values as tables, [notes.C4.{spring}], to tune it"])
    return text


def _own_keys(case: Case, data: Mapping[str, Any]) -> dict[int, str]:
    """How the file itself calls the notes that have a table."""
    return {parse_note(key, case.naming): key for key in data.get("notes", {})}


def _quoted(key: str) -> str:
    return key if _BARE.fullmatch(key) else json.dumps(key, ensure_ascii=False)


def _read(text: str) -> object:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return None


def _change(lines: list[str], path: list[str], value: str) -> None:
    """Set `force` in the table of that path; its other lines stay."""
    start = next((i for i, line in enumerate(lines) if _names(line) == path), None)
    if start is None:
        return
    end = next((i for i in range(start + 1, len(lines)) if lines[i].lstrip().startswith("[")), len(lines))
    kept = [line for line in lines[start + 1 : end] if not _FORCE.match(line)]
    lines[start + 1 : end] = [f'force = "{value}"', *kept]


def _names(line: str) -> list[str]:
    """The dotted path of a table's header; empty for other lines."""
    if not _HEADER.match(line):
        return []
    found: Any = _read(line)
    names = []
    while isinstance(found, dict) and len(found) == 1:
        name, found = next(iter(found.items()))
        names.append(name)
    return names


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
    for name, text in case.files.items():
        other = path.parent / name
        if other.exists() and _other_text(other, text):
            taken.append(other)
    if taken:
        named = ", ".join(str(one) for one in taken)
        raise TuneProblem([f"{named}: there already; choose another --out, or give --force to write over it"])


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
    with tempfile.TemporaryDirectory() as folder:
        files = {case.path.name: text, **case.files}
        for name, content in files.items():
            place = Path(folder) / name
            place.parent.mkdir(parents=True, exist_ok=True)
            place.write_text(content, encoding="utf-8")
        again = read_case(Path(folder) / case.path.name)
    spring = next(part for part in again.parts if part.part.role == "spring")
    wrong = [n for n, force in forces.items() if abs(float(spring.fields["force"][n].value) - force) > 1e-3]
    if wrong:
        raise TuneProblem([f"{case.path.name}: its text could not be given other springs"])


def write_case(case: Case, path: Path, text: str) -> list[Path]:
    """Write the case and the CSV files that it needs beside it; all of them or none.

    Raises
    ------
    FileProblem
        If a file cannot be written.
    """
    files = {path: text}
    for name, content in case.files.items():
        if not (path.parent / name).exists() or _other_text(path.parent / name, content):
            files[path.parent / name] = content
    try:
        with ExitStack() as stack:
            for place, content in files.items():
                place.parent.mkdir(parents=True, exist_ok=True)
                stack.enter_context(replacing(place)).write_text(content, encoding="utf-8")
    except OSError as problem:
        raise unwritten(path, problem, "choose another --out") from None
    return list(files)
