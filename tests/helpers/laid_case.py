"""An invented action of 25 notes with a roller board, laid out, and ways to spoil it."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from keyaction.cases.action.case import Case
from keyaction.cases.action.reader import read_case

TRAIN = """\
# An invented action: balanced key, tracker, square, level tracker, square, roller. No real instrument is described.
format = 1

[case]
title = "Invented action with a roller board"

[compass]
low = "C3"
high = "C5"

[[train]]
part = "key"
balance = "balanced"
front = "230 mm"
arm = "150 mm"
dip = "9.5 mm"
stick_front = "250 mm"
stick_tail = "180 mm"
width = "22 mm"
height = "24 mm"
material = "sitka-spruce"
leads = [{ mass = "40 g", at = "-150 mm" }]
rest_felt = { material = "key-felt", thickness = "4 mm", area = "150 mm^2" }
bottom_felt = { material = "key-felt", thickness = "4 mm", area = "200 mm^2" }

[[train]]
part = "tracker"
name = "riser"
length = { layout = true }
material = "western-redcedar"
section = "rectangle"
width = "10 mm"
thickness = "1.2 mm"
moves = "up"

[[train]]
part = "square"
name = "lower-square"
in_arm = "50 mm"
out_arm = "50 mm"
material = "sugar-maple"
width = "15 mm"
thickness = "6 mm"

[[train]]
part = "tracker"
name = "level-tracker"
length = { layout = "level-tracker.length" }
material = "western-redcedar"
section = "rectangle"
width = "10 mm"
thickness = "1.2 mm"
moves = "level"

[[train]]
part = "square"
name = "upper-square"
in_arm = "50 mm"
out_arm = "50 mm"
turn = { layout = true }
material = "sugar-maple"
width = "15 mm"
thickness = "6 mm"

[[train]]
part = "tracker"
name = "drop"
length = { layout = true }
splay = { layout = true }
material = "western-redcedar"
section = "rectangle"
width = "10 mm"
thickness = "1.2 mm"
moves = "down"

[[train]]
part = "roller"
length = { layout = true }
material = "sitka-spruce"
section = "square"
width = "24 mm"
in_arm = "60 mm"
out_arm = "60 mm"
arm_material = "sugar-maple"
arm_width = "15 mm"
arm_thickness = "8 mm"

[[train]]
part = "pull-down"
length = { layout = true }
splay = { layout = true }
material = "phosphor-bronze"
section = "round"
diameter = "1.5 mm"
moves = "down"

[[train]]
part = "pallet"
opening_length = "185 mm"
opening_width = "14 mm"
hinge_to_opening = "12 mm"
sealing_margin = "1.5 mm"
eye = "170 mm"
opens = "down"
thickness = "18 mm"
material = "eastern-white-pine"
seat = { material = "pallet-felt", thickness = "3 mm", area = "1500 mm^2" }

[[train]]
part = "spring"
name = "pallet-spring"
at = "100 mm"
force = "1.9 N"
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

CHEST = """
[layout.chest]
order = "chromatic"
bar = "12 mm"
back = "1500 mm"
up = "900 mm"
"""
RUN = """
[layout.run]
key = { back = "300 mm", up = "-30 mm" }
lower-square = { back = "500 mm", up = "-640 mm" }
upper-square = { back = "1450 mm", up = "-640 mm" }
roller = { back = "1440 mm", up = "300 mm" }
"""
LAYOUT = CHEST + RUN


def laid_text(layout: str = LAYOUT, changes: Mapping[str, str] | None = None) -> str:
    """The text of the case with another [layout] and with some pieces replaced; each must be there once."""
    text = TRAIN + layout
    for old, new in (changes or {}).items():
        assert text.count(old) == 1, f"{old!r} is there {text.count(old)} times"
        text = text.replace(old, new)
    return text


def laid(folder: Path, layout: str = LAYOUT, changes: Mapping[str, str] | None = None, **options: object) -> Case:
    """The case, read; `options` are those of `read_case`."""
    path = folder / "laid.toml"
    path.write_text(laid_text(layout, changes), encoding="utf-8")
    return read_case(path, **options)
