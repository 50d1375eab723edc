"""The case or the instrument that a result was made from, read again from the texts that travel with it."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Mapping
from pathlib import Path, PurePosixPath

from keyaction.cases.action.case import Case
from keyaction.cases.action.reader import read_case
from keyaction.cases.instrument.instrument import Instrument
from keyaction.cases.instrument.reader import read_instrument
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


def instrument_of(about: Mapping[str, str]) -> Instrument | None:
    """The instrument of a result, by its texts; None where it does not carry one that this version can read."""
    try:
        return _read_instrument(about)
    except (CaseProblem, OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None


def _read_instrument(about: Mapping[str, str]) -> Instrument | None:
    name, text = Path(about.get("instrument_name", "")).name, about.get("instrument_text", "")
    if not name or not text or "instrument_cases" not in about:
        return None
    with tempfile.TemporaryDirectory(prefix="keyaction-instrument-") as folder:
        beside = dict(json.loads(about.get("instrument_files", "{}")))
        for path, (case, files) in json.loads(about["instrument_cases"]).items():
            beside |= {str(PurePosixPath(path).parent / file): content for file, content in files.items()}
            beside[path] = case
        for path, content in beside.items():
            _put(Path(folder), path, content)
        place = Path(folder) / name
        place.write_text(text, encoding="utf-8")
        return read_instrument(place)


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
