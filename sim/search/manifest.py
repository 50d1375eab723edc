"""What a folder of a search says of itself, and whether a search may go on in it."""

from __future__ import annotations

import datetime
import hashlib
import json
from collections.abc import Mapping
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

from keyaction.cases.study.search import Search
from keyaction.sim.files.begun import Refused, look
from keyaction.sim.search.folder import SEARCH
from keyaction.sim.search.optimiser import Everything, Proposer
from keyaction.sim.sweep.designs import Recipe


def manifest(search: Search, made: Recipe, by: Proposer) -> dict[str, Any]:
    """Everything that a folder must know for a search to go on in it, as plain data."""
    meaning = json.loads(json.dumps(search.meaning()))
    whole = isinstance(by, Everything)
    optimiser = "none, all are looked at" if whole else f"pymoo {_version('pymoo')}"
    told = [meaning, search.case.fingerprint, made.program, optimiser, *([made.device] if made.device != "cpu" else [])]
    return {
        "format": SEARCH.format,
        "content": SEARCH.content,
        "key": hashlib.sha256(json.dumps(told, sort_keys=True).encode()).hexdigest(),
        "search": meaning,
        "case": search.case.fingerprint,
        "case_name": search.case.path.name,
        "program": made.program,
        "device": made.device,
        "optimiser": optimiser,
        "made": datetime.datetime.now(datetime.UTC).isoformat(timespec="seconds"),
    }


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return "of no known version"


def may_begin(folder: Path, data: Mapping[str, Any], resume: bool) -> dict[str, Any] | None:
    """What the manifest of a folder says, if any, after asking whether the search may go on with it."""
    old = look(folder, SEARCH)
    if old is None:
        return None
    if changes := list(_changes(old, data)):
        raise Refused(
            f"{folder}: holds another search, begun {old['made']}: {'; '.join(changes)}. "
            "Nothing was written; choose another folder with --out, or bring back what has changed"
        )
    if not resume:
        raise Refused(f"{folder}: this search was begun there already; add --resume to go on, or choose another folder")
    return old


def _changes(old: Mapping[str, Any], new: Mapping[str, Any]) -> list[str]:
    before, after = old["search"], new["search"]
    words = {"vary": "what varies has changed", "aims": "the aims have changed", "limits": "the limits have changed"}
    found = [
        words.get(name) or f"{name} = {_short(after.get(name))} was {_short(before.get(name))}"
        for name in dict.fromkeys([*before, *after])
        if before.get(name) != after.get(name)
    ]
    found += [f"the case {new['case_name']} has changed"] if old["case"] != new["case"] else []
    found += ["the program has changed"] if old["program"] != new["program"] else []
    if old.get("device", "cpu") != new["device"]:
        found.append(f"--device {new['device']} was {old.get('device', 'cpu')}")
    if old["optimiser"] != new["optimiser"]:
        found.append(f"who proposes the designs = {new['optimiser']} was {old['optimiser']}")
    return found


def _short(value: object) -> str:
    text = json.dumps(value)
    return text if len(text) <= 60 else f"{text[:56]} ..."
