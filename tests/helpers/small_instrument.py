"""A small instrument: two manual divisions and a pedal, each of the short action, quick to play."""

from __future__ import annotations

from pathlib import Path

from short_case import QUICK, spoilt, write_case

ORGAN = """\
# An invented instrument of three short actions. No real instrument is described.
format = 1

[instrument]
title = "Three small divisions"

[climate]
temperature = "12 degC"
humidity = "60 %"

[materials.yew]
kind = "wood"
source = "invented"
density = "700 kg/m^3"
E = "10 GPa"

[[keyboard]]
name = "I"
low = "C4"
high = "G4"

[[keyboard]]
name = "feet"
low = "C4"
high = "E4"
pedals = true

[[division]]
name = "great"
case = "great.toml"
keyboard = "I"
set = { "box.pressure" = "80 mmH2O" }

[[division]]
name = "II"
case = "swell.toml"
keyboard = "I"
enclosed = true

[[division]]
name = "pedal"
case = "pedal.toml"
keyboard = "feet"
set.key.material = "yew"
"""
SHORTER = (
    ('title = "Invented short action"', 'title = "Invented pedal action"'),
    ('high = "G4"', 'high = "E4"'),
    ('length = { csv = "chest.csv", column = "wire", unit = "mm" }', 'length = "250 mm"'),
    ('{ between = "linear", C4 = "190 mm", G4 = "180 mm" }', '"185 mm"'),
)
"""What makes three keys and two sharps of the short case, without a CSV file."""


LAYOUT = """
[layout.chest]
order = "chromatic"
middle = "30 mm"

[layout.fan]
part = "pull-down"
"""
"""How the short case may be laid out."""


def write_instrument(folder: Path, *changes: tuple[str, str], more: str = "", name: str = "organ.toml") -> Path:
    """Write the instrument, some pieces of its text replaced, and its cases; each piece must be there once."""
    text = ORGAN
    for old, new in changes:
        assert text.count(old) == 1, f"{old!r} is there {text.count(old)} times"
        text = text.replace(old, new)
    write_case(folder, more=QUICK, name="great.toml")
    write_case(
        folder, ("short action", "upper action"), ('force = "3 N"', 'force = "2 N"'), more=QUICK, name="swell.toml"
    )
    (folder / "pedal.toml").write_text(spoilt(*SHORTER, more=QUICK), encoding="utf-8")
    path = folder / name
    path.write_text(text + more, encoding="utf-8")
    return path
