"""The wooden demo with one note that cannot be played: a square that turns further than the equations hold."""

from __future__ import annotations

from pathlib import Path

from keyaction.cases.text.find import find_case

WIDE = """
[notes.C4.upper-square]
in_arm = "9 mm"
out_arm = "9 mm"
"""


def write_case(folder: Path, name: str = "wide.toml") -> Path:
    """Write the case and its CSV file into a folder; C4 is the note."""
    source = find_case("demo-wood")
    (folder / name).write_text(source.read_text(encoding="utf-8") + WIDE, encoding="utf-8")
    (folder / "demo-chest.csv").write_bytes((source.parent / "demo-chest.csv").read_bytes())
    return folder / name
