"""Couplers for the small instrument and for the demonstration, and ways to spoil them."""

from __future__ import annotations

import shutil
from importlib.resources import files
from pathlib import Path

from small_instrument import write_instrument

SWELL = """
[[coupler]]
name = "II/I"
kind = "lever"
from = "great"
to = "II"
take_arm = "200 mm"
take_side = "front"
give_arm = "200 mm"
give_side = "front"
in_arm = "80 mm"
out_arm = "85 mm"
inertia = "20 kg*mm^2"
mass = "15 g"
play = "0.4 mm"
"""
"""The upper division to the lower one, of the keyboard that they share."""


def coupler(name: str, source: str, to: str, more: str = "", kind: str = "hook") -> str:
    """A coupler's table of no more than is needed."""
    return f'\n[[coupler]]\nname = "{name}"\nkind = "{kind}"\nfrom = "{source}"\nto = "{to}"\n{more}\n'


def write_coupled(folder: Path, *couplers: str, changes: tuple[tuple[str, str], ...] = ()) -> Path:
    """The small instrument with these couplers."""
    return write_instrument(folder, *changes, more="".join(couplers))


def write_demo(folder: Path, *couplers: str) -> Path:
    """The shipped instrument with these couplers in place of its own."""
    cases = Path(str(files("keyaction.cases")))
    shutil.copytree(cases / "demo-instrument", folder / "demo-instrument", dirs_exist_ok=True)
    text = (cases / "demo-instrument.toml").read_text(encoding="utf-8")
    path = folder / "organ.toml"
    path.write_text(text[: text.index("# Couplers")] + "".join(couplers), encoding="utf-8")
    return path
