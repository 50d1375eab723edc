"""A case file with the shortest train there is, quick to play, and ways to spoil it."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

SHORT = """\
# An invented action: a key that pulls its pallet directly. No real instrument is described.
format = 1

[case]
title = "Invented short action"

[compass]
low = "C4"
high = "G4"

[[train]]
part = "key"
balance = "tail-hinged"
front = "400 mm"
arm = "250 mm"
dip = "9.5 mm"
stick_front = "410 mm"
stick_tail = "10 mm"
width = "22 mm"
height = "24 mm"
material = "sitka-spruce"
rest_felt = { material = "key-felt", thickness = "4 mm", area = "150 mm^2" }
bottom_felt = { material = "key-felt", thickness = "4 mm", area = "200 mm^2" }

[[train]]
part = "pull-down"
length = { csv = "chest.csv", column = "wire", unit = "mm" }
material = "phosphor-bronze"
section = "round"
diameter = "1.5 mm"
moves = "down"

[[train]]
part = "pallet"
opening_length = { between = "linear", C4 = "190 mm", G4 = "180 mm" }
opening_width = "14 mm"
hinge_to_opening = "12 mm"
sealing_margin = "1.5 mm"
eye = "165 mm"
opens = "down"
thickness = "18 mm"
material = "eastern-white-pine"
seat = { material = "pallet-felt", thickness = "3 mm", area = "1500 mm^2" }

[[train]]
part = "spring"
name = "pallet-spring"
at = "100 mm"
force = "3 N"
rate = "12 N/m"

[[train]]
part = "groove"
length = "900 mm"
width = "14 mm"
depth = "80 mm"
stops = [{ name = "Principal 8", area = "40 mm^2", drawn = true }]

[[train]]
part = "box"
pressure = "70 mmH2O"
temperature = "20 degC"
humidity = "50 %"
atmosphere = "101325 Pa"
"""

NOTES = ("C4", "C#4", "D4", "D#4", "E4", "F4", "F#4", "G4")
CHEST = "note,wire\n" + "".join(f"{note},{250 + 2 * i}\n" for i, note in enumerate(NOTES))

QUICK = '\n[strokes]\nrepetition_highest = "2 Hz"\n'
"""Spares the search of the repetition rate nearly all its trials, for tests that ask nothing of it."""
ABSURD = '\n[notes.{note}.pallet]\nseat = {{ squeeze = "0.0005 mm", force = "500 N" }}\n'
"""A seat that was measured as hard as no felt is: no motion can be followed that fast."""
STIFFER = "pallet.seat.squeeze=0.0005 mm; pallet.seat.force=500 N"
"""The same as settings."""


def spoilt(*changes: tuple[str, str], more: str = "") -> str:
    """The short case's text with some pieces replaced; each must be there once."""
    text = SHORT
    for old, new in changes:
        assert text.count(old) == 1, f"{old!r} is there {text.count(old)} times"
        text = text.replace(old, new)
    return text + more


def write_case(folder: Path, *changes: tuple[str, str], more: str = "", name: str = "short.toml") -> Path:
    """Write the short case and its CSV file into a folder."""
    path = folder / name
    path.write_text(spoilt(*changes, more=more), encoding="utf-8")
    (folder / "chest.csv").write_text(CHEST, encoding="utf-8")
    return path


def start_case(folder: Path, name: str = "start.toml") -> Path:
    """The commented case that `keyaction new` gives."""
    path = folder / name
    text = files("keyaction.cases").joinpath("templates/start.toml").read_text(encoding="utf-8")
    path.write_text(text.replace("{title}", path.stem), encoding="utf-8")
    return path
