"""The case that a result was made from, read again from the texts that travel with it."""

from __future__ import annotations

import json
import tempfile
from pathlib import Path, PurePosixPath

from keyaction.cases.action.case import Case
from keyaction.cases.action.reader import read_case
from keyaction.cases.layout.within import Within, within_told
from keyaction.cases.text.defects import CaseProblem
from keyaction.sim.files.labelled import Result


def case_of(result: Result) -> Case | None:
    """The case, or None where the result does not carry one that this version can read."""
    try:
        return _read(result)
    except (CaseProblem, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None


def _read(result: Result) -> Case | None:
    name, text = Path(result.about.get("case_name", "")).name, result.about.get("case_text", "")
    if not name or not text:
        return None
    settings = [(str(path), value) for path, value in json.loads(result.about.get("case_settings", "[]"))]
    within = _within(result)
    own = settings[len(within.settings) :] if within else settings
    with tempfile.TemporaryDirectory(prefix="keyaction-case-") as folder:
        for beside, content in json.loads(result.about.get("case_files", "{}")).items():
            _put(Path(folder), beside, content)
        path = Path(folder) / name
        path.write_text(text, encoding="utf-8")
        return read_case(path, set_=own, within=within)


def _within(result: Result) -> Within | None:
    """What the instrument gave to the case; None of a case alone."""
    text = result.about.get("within", "")
    return within_told(text) if text else None


def _put(folder: Path, name: str, content: str) -> None:
    """Write a file below the folder; a name that leads out of it is left out, and the reader then complains."""
    path = PurePosixPath(name)
    if path.is_absolute() or ".." in path.parts:
        return
    target = folder / path
    target.parent.mkdir(parents=True, exist_ok=True)
    target.write_text(content, encoding="utf-8")
