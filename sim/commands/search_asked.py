"""What keyaction search is asked for: a study file, or a case, with the options over it as a study's tables."""

from __future__ import annotations

import argparse
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from keyaction.cases.study.find import shipped_studies
from keyaction.cases.study.search import Search
from keyaction.cases.text.defects import CaseProblem, Defect
from keyaction.cases.text.find import find_case, is_file
from keyaction.cases.text.load import load_toml
from keyaction.sim.search.load import load_search

_OPTIONS = Path("options")
"""What defects of a search are said to be in that no file says."""
_SPAN = re.compile(r"(?P<low>.+?)\s+to\s+(?P<high>.+?)(?:\s+in\s+(?P<levels>\d+))?")
_TIMES = re.compile(r"[x×]\s*(\d*\.?\d+)")
_EXAMPLE = "write FIELD=LOW to HIGH, FIELD=x0.8 to x1.3 or FIELD=VALUE,VALUE, e.g. --vary 'roller.width=18 mm to 30 mm'"
_NUMBER = re.compile(r"[+-]?\d*\.?\d+(?:[eE][+-]?\d+)?")


def asked(options: argparse.Namespace) -> Search:
    """Read what is asked for.

    Raises
    ------
    CaseProblem
        With every defect of options, study and case.
    """
    path, data = _source(options)
    wrong = _wrong(options)
    rows = [row for text in options.vary if (row := _row(text, wrong)) is not None]
    made = _with_options(data, options, rows)
    try:
        return load_search(path, made)[0] if not wrong else _all_defects(path, made, wrong)
    except CaseProblem as problem:
        hidden = wrong and not made.get("vary")  # that nothing varies is told by the slip in --vary
        others = [one for one in problem.defects if not (hidden and one.message.startswith("nothing may vary"))]
        raise CaseProblem(path, list(dict.fromkeys([*wrong, *others]))) from None


def _all_defects(path: Path, data: Mapping[str, Any], wrong: list[Defect]) -> Search:
    load_search(path, data)
    raise CaseProblem(path, wrong)


def _source(options: argparse.Namespace) -> tuple[Path, dict[str, Any]]:
    """The file of a study with its tables; of a case the tables of a study of it."""
    name = str(options.case)
    shipped = shipped_studies().get(name.removesuffix(".toml"))
    case = find_case(name)
    path = shipped if shipped and not is_file(case) else case
    _, found = load_toml(path)
    if "study" in found:
        return path, dict(found)
    return _OPTIONS, {"format": 1, "study": {"case": name}}


def _wrong(options: argparse.Namespace) -> list[Defect]:
    found = []
    for name, least, meaning in (("jobs", 0, "0 (one per core) or more"), ("offer", 1, "1 or more")):
        value = getattr(options, name)
        if value < least:
            found.append(Defect(_OPTIONS.name, "", f"--{name}", str(value), f"must be {meaning}"))
    if options.resume and options.out is None:
        found.append(Defect(_OPTIONS.name, "", "--resume", "", "goes with --out, the folder that was begun"))
    if options.division and len(options.division) > 1:
        found.append(Defect(_OPTIONS.name, "", "--division", ",".join(options.division), "one division is searched"))
    return found


def _row(text: str, wrong: list[Defect]) -> dict[str, Any] | None:
    """A [[vary]] table that an option says."""
    fields, equals, span = (side.strip() for side in text.partition("="))
    names = [name.strip() for name in fields.split("+")]
    if not (equals and span and all(names)):
        wrong.append(Defect(_OPTIONS.name, "", "--vary", text, _EXAMPLE))
        return None
    where: dict[str, Any] = {"fields": names, "name": " and ".join(names)} if len(names) > 1 else {"field": names[0]}
    found = _SPAN.fullmatch(span)
    if found is None:
        if " to " in f" {span} " or not all(value.strip() for value in span.split(",")):
            wrong.append(Defect(_OPTIONS.name, "", "--vary", text, _EXAMPLE))
            return None
        return {**where, "values": [_typed(value.strip()) for value in span.split(",")]}
    levels = {"levels": int(found["levels"])} if found["levels"] else {}
    if low := _TIMES.fullmatch(found["low"].strip()):
        high = _TIMES.fullmatch(found["high"].strip()) or re.fullmatch(r"(\d*\.?\d+)", found["high"].strip())
        if high is None:
            wrong.append(Defect(_OPTIONS.name, "", "--vary", text, _EXAMPLE))
            return None
        return {**where, "scale": [float(low[1]), float(high[1])], **levels}
    return {**where, "low": _typed(found["low"].strip()), "high": _typed(found["high"].strip()), **levels}


def _typed(text: str) -> str | float | bool:
    """A value as TOML would have it."""
    if text in ("true", "false"):
        return text == "true"
    if _NUMBER.fullmatch(text):
        return float(text) if set(text) & set(".eE") else int(text)
    return text


def _with_options(data: dict[str, Any], options: argparse.Namespace, rows: list[dict[str, Any]]) -> dict[str, Any]:
    """A study's tables with the options over them; [[vary]] tables are added."""
    if not all(isinstance(data.get(name, {}), dict) for name in ("study", "search")):
        return data
    study, search = dict(data["study"]), dict(data.get("search", {}))
    given = {name: value for name, value in vars(options).items() if value is not None}
    study |= {name: given[name] for name in ("notes", "seed") if name in given}
    study |= {"division": options.division[0]} if options.division else {}
    search |= {name: given[name] for name in ("generations", "designs") if name in given}
    if options.aims is not None:
        search["aims"] = _words(options.aims)
    if options.limits is not None:
        search["limits"] = [word for text in options.limits for word in _words(text)]
    if options.price is not None:
        search["prices"] = options.price
    made = {**data, "study": study, "search": search}
    if rows and isinstance(made.get("vary", []), list):
        made["vary"] = [*made.get("vary", []), *rows]
    return made


def _words(text: str) -> list[str]:
    return [word.strip() for word in text.split(",") if word.strip()]
