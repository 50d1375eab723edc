"""A short action with one tracker, quick to play, for the tests of the workshop's commands."""

from __future__ import annotations

from pathlib import Path

from short_case import CHEST, spoilt

_TRACKER = """\
[[train]]
part = "tracker"
name = "level-tracker"
length = { between = "linear", C4 = "1400 mm", G4 = "1200 mm" }
material = "sitka-spruce"
section = "rectangle"
width = "10 mm"
thickness = "1 mm"
moves = "level"

[[train]]
part = "square"
in_arm = "50 mm"
out_arm = "50 mm"
material = "sugar-maple"
width = "15 mm"
thickness = "6 mm"

[[train]]
part = "pull-down"
"""


def write_case(folder: Path, *changes: tuple[str, str], more: str = "", name: str = "workshop.toml") -> Path:
    """Write the case and its CSV file into a folder; `changes` are replaced in its text."""
    text = spoilt(('[[train]]\npart = "pull-down"\n', _TRACKER), ("Invented short action", "Invented workshop action"))
    for old, new in changes:
        assert text.count(old) == 1, f"{old!r} is there {text.count(old)} times"
        text = text.replace(old, new)
    path = folder / name
    path.write_text(text + more, encoding="utf-8")
    (folder / "chest.csv").write_text(CHEST, encoding="utf-8")
    return path
