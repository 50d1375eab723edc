"""Variants that bring several fields each: written on the command line, or as tables of a file."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from keyaction.cases.text.defects import CaseProblem
from keyaction.cases.text.flat import flattened
from keyaction.cases.text.load import load_toml
from keyaction.cases.text.near import hint
from keyaction.sim.compare.rod_choice import AS_DRAWN, Choice, Setting

TABLE = "variants"
_EXAMPLE = "--variant 'thin: level-tracker.width=8 mm; level-tracker.thickness=1 mm'"
_LONGEST = 60


def read_bundles(texts: Sequence[str], file: Path | None, defects: list[str]) -> list[Choice]:
    """Bundles of a file, then those of the command line.

    Parameters
    ----------
    texts : sequence of str
        ``"NAME: FIELD=VALUE; FIELD=VALUE"``, or "case" for the case as it is.
    file : Path, optional
        TOML with a table ``[variants.NAME]`` for each, its fields as in a study's options.
    defects : list of str
        Takes what is wrong.
    """
    found = _of_file(file, defects) if file else []
    for text in texts:
        if text.strip() == AS_DRAWN:
            found.append(Choice(AS_DRAWN))
            continue
        name, colon, given = (piece.strip() for piece in text.partition(":"))
        pairs = [[side.strip() for side in piece.partition("=")] for piece in given.split(";") if piece.strip()]
        if not (name and colon and pairs and all(all(pair) for pair in pairs)):
            defects.append(f"--variant {text}: write NAME: FIELD=VALUE; FIELD=VALUE, e.g. {_EXAMPLE}")
            continue
        settings = [(path, value) for path, _, value in pairs]
        found += _bundle(f"--variant {text}", name, settings, defects)
    return found


def _of_file(file: Path, defects: list[str]) -> list[Choice]:
    try:
        _, data = load_toml(file)
    except CaseProblem as problem:
        defects += [str(defect) for defect in problem.defects]
        return []
    defects += [f"{file.name}: '{key}' is unknown{hint(key, [TABLE])}" for key in data if key != TABLE]
    tables = data.get(TABLE, {})
    if not isinstance(tables, dict) or not tables:
        defects.append(f"{file.name}: a table for each variant is needed: [{TABLE}.NAME]")
        return []
    found: list[Choice] = []
    for name, table in tables.items():
        place = f"{file.name}: [{TABLE}.{name}]"
        if not isinstance(table, dict):
            defects.append(f"{place}: a table of fields and values is needed, not {table!r}")
            continue
        given = flattened(table)
        settings = [(path, value) for path, value in given if isinstance(value, (str, int, float, bool))]
        lists = [path for path, _ in given if path not in dict(settings)]
        defects += [f"{place}, field '{path}': one value is needed" for path in lists]
        if not lists:
            found += _bundle(place, name, settings, defects)
    return found


def _bundle(place: str, name: str, settings: Sequence[Setting], defects: list[str]) -> list[Choice]:
    if not name.strip() or len(name) > _LONGEST or not name.isprintable():
        defects.append(f"{place}: a name of 1 to {_LONGEST} letters is needed")
        return []
    twice = [path for path in dict(settings) if sum(one == path for one, _ in settings) > 1]
    defects += [f"{place}, field '{path}': given twice" for path in twice]
    return [] if twice else [Choice(name, tuple(settings))]
