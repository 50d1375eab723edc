"""A console sheet on which somebody wrote is set aside, and sheets of an earlier run that this one has not."""

from __future__ import annotations

import csv
from collections.abc import Collection
from pathlib import Path

from keyaction.sim.files.problem import unread, unwritten

SOMETIMES = {"progress": ["figure"], "proposed": ["note", "part", "work"]}
"""Sheets that not every run writes, and their first columns, by which they are known as ours."""


def set_aside(folder: Path, name: str = "console") -> Path | None:
    """Rename a filled-in sheet so that it is not written over.

    Parameters
    ----------
    folder : Path
        That is about to be written into.
    name : str
        Of the sheet, without its ending.

    Returns
    -------
    Path or None
        Where it is now: ``console.csv.old``, or the next such name that is free; None where nothing was filled in.

    Raises
    ------
    keyaction.sim.files.problem.FileProblem
        If it cannot be read or renamed.
    """
    file = folder / f"{name}.csv"
    if not file.is_file() or not any((row.get("done") or row.get("remark") or "").strip() for row in _rows(file)):
        return None
    kept, k = folder / f"{name}.csv.old", 1
    while kept.exists():
        kept, k = folder / f"{name}.csv.old{k + 1}", k + 1
    try:
        file.rename(kept)
    except OSError as problem:
        raise unwritten(file, problem, "name another folder") from None
    return kept


def remove_stale(folder: Path, written: Collection[str]) -> list[str]:
    """Remove sheets of an earlier run that this one did not write; their names."""
    removed = []
    for name, first in SOMETIMES.items():
        file = folder / f"{name}.csv"
        if file.name in written or not file.is_file():
            continue
        with file.open(encoding="utf-8", errors="replace", newline="") as lines:
            heads = next(csv.reader(lines), [])
        if heads[: len(first)] == first:
            file.unlink()
            removed.append(file.name)
    return removed


def _rows(file: Path) -> list[dict[str, str]]:
    try:
        with file.open(encoding="utf-8-sig", errors="replace", newline="") as lines:
            text = lines.read()
    except OSError as problem:
        raise unread(file, problem) from None
    semicolons = text.split("\n", 1)[0].count(";") > text.split("\n", 1)[0].count(",")
    return list(csv.DictReader(text.splitlines(), delimiter=";" if semicolons else ","))
