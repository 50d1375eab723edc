"""A small case with squares, and tables of its seasons to put behind it."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from keyaction.cases.action.case import Case
from keyaction.cases.action.reader import read_case
from keyaction.cases.text.defects import CaseProblem

BARE = (files("keyaction.cases") / "kinds" / "square-rails.toml").read_text(encoding="utf-8")
"""Key, riser, lower-square, level-tracker, upper-square, drop, roller, pull-down, pallet: 13 notes from C3 to C4."""
POSTS = """
[[member]]
name = "posts"
material = "white-oak"
length = { between = "linear", C3 = "2.1 m", C4 = "1.4 m" }
towards = "up"
grain = "along"
carries = ["roller"]
thickness = "60 mm"
finish = "shellac-3"
faces = 1
"""
BEARER = """
[[member]]
name = "bearer"
material = "eastern-white-pine"
length = "120 mm"
towards = "up"
grain = "radial"
on = "posts"
carries = ["pallet"]
lag = "20 day"
"""
RAIL = """
[rail]
carries = ["lower-square"]
towards = "down"
mass = "2.4 kg"
"""
SEASON = """
[season]
climate = "year.csv"
"""
YEAR = "# invented\ndate,temperature,humidity\n2025-01-01,18,50\n2025-01-02,19,52\n2025-01-03,18,51\n"


def written(folder: Path, tables: str, year: str = YEAR, bare: str = BARE) -> Path:
    """The case with these tables, and a climate beside it."""
    (folder / "year.csv").write_text(year, encoding="utf-8")
    path = folder / "squares.toml"
    path.write_text(f"{bare}\n{tables}", encoding="utf-8")
    return path


def framed(folder: Path, tables: str, set_: dict[str, str] | None = None, year: str = YEAR, bare: str = BARE) -> Case:
    """That case, read."""
    return read_case(written(folder, tables, year, bare), set_=set_)


def wrong(folder: Path, tables: str, year: str = YEAR, bare: str = BARE) -> list[str]:
    """What is wrong with it, a line each."""
    try:
        framed(folder, tables, year=year, bare=bare)
    except CaseProblem as problem:
        return str(problem).split("\n")
    return []
