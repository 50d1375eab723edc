"""From a case file to plain TOML values, with the line of a slip in the TOML itself."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from keyaction.cases.text.defects import BadValue, CaseProblem, Defect
from keyaction.cases.text.find import missing_hint
from keyaction.cases.text.signs import unseen, without_unseen
from keyaction.cases.text.textfile import read_text

_PLACE = re.compile(r"(?P<what>.*) \(at (?:line (?P<line>\d+), column (?P<column>\d+)|end of document)\)")
_BARE_SHARP = re.compile(r"""(?<!["'\w])[1-2]?([A-Ga-g]#-?[0-9]?)(?!["'\w])""")
_BARE_UNIT = re.compile(r"[=\[,]\s*([+-]?\d[\d.]*\s*[A-Za-zµ°%][\w./*^%°µ²³]*)\s*(?=[,}\]#]|$)")
_DEEPEST = 30
_TOO_DEEP = "not readable: tables or lists are nested too deeply"


def load_toml(path: Path) -> tuple[str, dict[str, Any]]:
    """The text of a case file and its values.

    Raises
    ------
    CaseProblem
        With one defect, if the file cannot be read or is not TOML.
    """
    try:
        text = read_text(path)
    except BadValue as problem:
        near = missing_hint(path) if str(problem) == "no such file" else ""
        raise CaseProblem(path, [Defect(str(path), "", "", "", f"{problem}{near}")]) from None
    try:
        data = tomllib.loads(text)
        _refuse_monsters(data)
        return text, data
    except RecursionError:
        defect = Defect(path.name, "", "", "", _TOO_DEEP)
    except BadValue as problem:
        defect = Defect(path.name, "", "", "", str(problem))
    except ValueError as problem:
        defect = _toml_defect(path.name, text, str(problem))
    raise CaseProblem(path, [defect])


def _refuse_monsters(data: dict[str, Any]) -> None:
    """Refuse what no result could hold or no message could print.

    Whole numbers beyond 64 bits are not TOML; a sign that is not seen cuts a text off, reverses it or moves the cursor.
    """
    waiting: list[tuple[int, str, Any]] = [(0, "", data)]
    while waiting:
        depth, path, value = waiting.pop()
        if depth > _DEEPEST:
            raise BadValue(_TOO_DEEP)
        if isinstance(value, dict):
            waiting.extend((depth + 1, path, str(name)) for name in value)
            waiting.extend((depth + 1, f"{path}.{name}".lstrip("."), one) for name, one in value.items())
        elif isinstance(value, list):
            waiting.extend((depth + 1, path, one) for one in value)
        elif isinstance(value, str) and (sign := unseen(value)):
            where = f"field '{without_unseen(path)}'" if path else "a name"
            raise BadValue(f"{where} holds {sign}; leave it out")
        elif isinstance(value, int) and not -(2**63) <= value < 2**63:
            raise BadValue("holds a whole number of more than 64 bits")


def _toml_defect(file: str, text: str, problem: str) -> Defect:
    found = _PLACE.fullmatch(problem)
    if found is None:
        return Defect(file, "", "", "", f"not readable as TOML: {problem}")
    lines = text.split("\n")
    line = int(found["line"] or len(lines))
    column = int(found["column"] or len(lines[-1]) + 1)
    hint = _hint(lines[line - 1]) if line <= len(lines) else ""
    where = f"line {line}, column {column}"
    return Defect(file, where, "", "", f"not readable as TOML: {found['what']}{hint}")


def _hint(line: str) -> str:
    """What is often forgotten: quotes round a note with a sharp or a size with its unit, or the second quote."""
    if sharp := _BARE_SHARP.search(line):
        note = sharp[1]
        return f'; a sharp needs quotes: "{note}" or {note.replace("#", "s")}'
    if bare := _BARE_UNIT.search(line):
        return f'; put quotes around what has a unit: "{bare[1]}"'
    if line.partition("#")[0].replace('\\"', "").count('"') % 2:
        return "; a quote is missing in this line"
    return ""
