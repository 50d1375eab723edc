"""What keyaction search is asked for: a study file, or a case, with the options over it as a study's tables."""

from __future__ import annotations

import argparse
import math
import re
from collections.abc import Mapping
from itertools import pairwise
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
_SPAN = re.compile(r"(?P<low>.+?)\s+to\s+(?P<high>.+?)(?:\s+in\s+(?P<levels>[+-]?[\d.][^\s]*))?")
_TIMES = re.compile(r"[x×]\s*(\d*\.?\d+)")
_LIKE_TIMES = re.compile(r"[x×]\s*[-+.\d].*")
_FACTORS = "factors are above zero: write FIELD=x0.8 to x1.3, or some that are evenly spaced, FIELD=x0.8, x1, x1.2"
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
    if options.limits is not None and not any(map(_words, options.limits)):
        told = "none given; leave it out for the usual ones, or write 'none'"
        found.append(Defect(_OPTIONS.name, "", "--limits", ", ".join(options.limits), told))
    if options.division and len(options.division) > 1:
        found.append(Defect(_OPTIONS.name, "", "--division", ",".join(options.division), "one division is searched"))
    return found


def _row(text: str, wrong: list[Defect]) -> dict[str, Any] | None:
    """A [[vary]] table that an option says."""
    fields, equals, span = (side.strip() for side in text.partition("="))
    names = [name.strip() for name in fields.split("+")]
    where: dict[str, Any] = {"fields": names, "name": " and ".join(names)} if len(names) > 1 else {"field": names[0]}
    if not (equals and span and all(names)):
        made: dict[str, Any] | str = _EXAMPLE
    else:
        made = "a field is named twice" if len(set(names)) < len(names) else _span(span)
    if isinstance(made, str):
        wrong.append(Defect(_OPTIONS.name, "", "--vary", text, made))
        return None
    return {**where, **made}


def _span(span: str) -> dict[str, Any] | str:
    """A span as the keys of a [[vary]] table, or what is wrong with it."""
    found = _SPAN.fullmatch(span)
    if found is None:
        values = [value.strip() for value in span.split(",")]
        if " to " in f" {span} " or not all(values):
            return _EXAMPLE
        return _factors(values) if any(map(_LIKE_TIMES.fullmatch, values)) else {"values": [*map(_typed, values)]}
    steps, low, high = found["levels"], found["low"].strip(), found["high"].strip()
    if steps and not steps.isdecimal():
        return f"'in {steps}': a whole number of steps is needed, as in FIELD=18 mm to 30 mm in 13"
    levels = {"levels": int(steps)} if steps else {}
    if not _LIKE_TIMES.fullmatch(low):
        return {"low": _typed(low), "high": _typed(high), **levels}
    least, most = _TIMES.fullmatch(low), _TIMES.fullmatch(high) or re.fullmatch(r"(\d*\.?\d+)", high)
    return {"scale": [float(least[1]), float(most[1])], **levels} if least and most else _FACTORS


def _factors(values: list[str]) -> dict[str, Any] | str:
    """Single factors as the steps of a range."""
    found = [one for value in values if (one := _TIMES.fullmatch(value))]
    numbers = sorted(float(one[1]) for one in found)
    if len(numbers) < len(values) or len(numbers) < 2:
        return _FACTORS
    step = (numbers[-1] - numbers[0]) / (len(numbers) - 1)
    even = all(math.isclose(b - a, step, rel_tol=1e-6) for a, b in pairwise(numbers))
    return {"scale": [numbers[0], numbers[-1]], "levels": len(numbers)} if even and step > 0.0 else _FACTORS


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
