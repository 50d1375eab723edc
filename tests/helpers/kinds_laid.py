"""What the [layout] of a shipped kind comes to by hand: lengths of rods and rollers, and splays, at its end notes.

In all of them every rod is plumb or level, so that arms square to it add nothing to its length.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import atan2, hypot
from typing import Any

from kinds_by_hand import read, size, text_of

OCTAVE = ["C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"]
ORDERS = {
    "chromatic": [*OCTAVE, "c"],
    "two-sides": ["C", "D", "E", "F#", "G#", "A#", "c", "B", "A", "G", "F", "D#", "C#"],
    "basses-outside": ["C", "D", "E", "F#", "G#", "A#", "c", "B", "A", "G", "F", "D#", "C#"],
    "thirds": ["C", "E", "G#", "c", "A#", "F#", "D", "D#", "G", "B", "A", "F", "C#"],
}
"""Notes of an octave from C, with the c above it or without, from left to right."""


def index(name: str) -> int:
    """Semitones above the lowest note."""
    return 12 if name == "c" else OCTAVE.index(name)


def along(points: Any, case: Mapping[str, Any], note: int) -> float:
    """A size that runs straight from the lowest note to the highest."""
    if isinstance(points, str):
        return size(points)
    low, high = (size(points[case["compass"][end]]) for end in ("low", "high"))
    return low + (high - low) * note / (count(case) - 1)


def count(case: Mapping[str, Any]) -> int:
    """Notes: the compasses are C to B, or C to C."""
    return 12 if case["compass"]["high"].startswith("B") else 13


def key_line(case: Mapping[str, Any], note: int) -> float:
    """Across, of the key's rod: twelve lines in an octave, naturals about the middle of the keyboard, m."""
    keyboard = case["layout"].get("keyboard", {})
    octave, middle = size(keyboard.get("octave", "165 mm")), size(keyboard.get("middle", "0 mm"))
    naturals = 7 if count(case) == 12 else 8
    return middle - naturals / 7 * octave / 2 + (note + 0.5) * octave / 12


def pallet_line(case: Mapping[str, Any], note: int) -> float:
    """Across, of the pallet: grooves, bars and gaps from the left, the whole about the middle, m."""
    chest = case["layout"]["chest"]
    groove = next(part for part in case["train"] if part["part"] == "groove")["width"]
    order = [name for name in ORDERS[chest["order"]] if index(name) < count(case)]
    octave = int(case["compass"]["low"][1:])
    gaps = {gap["after"]: size(gap["width"]) for gap in chest.get("gaps", ())}
    at, edge = {}, 0.0
    for name in order:
        wide = along(groove, case, index(name))
        at[index(name)] = edge + wide / 2
        sounding = f"{name.upper()}{octave + (name == 'c')}"
        right = edge + wide
        edge = right + size(chest["bar"]) + gaps.get(sounding, 0.0)
    return at[note] - right / 2 + size(chest.get("middle", "0 mm"))


def laid(name: str, note: int, offset: float) -> dict[str, dict[str, float]]:
    """What its fields take of the layout, by part with underscores: ``length`` and ``splay``.

    Parameters
    ----------
    name : str
    note : int
        Semitones above the lowest.
    offset : float
        How far the note's roller lies above the middle of the board, m.
    """
    case = text_of(name)
    aside = abs(pallet_line(case, note) - key_line(case, note))
    run = [part for part in case["train"] if part["part"] not in ("spring", "groove", "box")]
    places = {**case["layout"]["run"], "pallet": {key: case["layout"]["chest"][key] for key in ("back", "up")}}
    found: dict[str, dict[str, float]] = {}
    for i, part in enumerate(run):
        called = part.get("name", part["part"])
        if part["part"] == "roller":
            found["roller"] = {"length": aside}
        if "moves" not in part:
            continue
        ends = [_axis(run[j], places, offset) for j in (i - 1, i + 1)]
        within = abs(ends[1][0 if part["moves"] == "level" else 1] - ends[0][0 if part["moves"] == "level" else 1])
        slants = case["layout"].get("fan", {}).get("part") == called
        length = hypot(within, aside) if slants else within
        found[called.replace("-", "_")] = {"length": length, **({"splay": atan2(aside, within)} if slants else {})}
    return found


def _axis(part: Mapping[str, Any], places: Mapping[str, Any], offset: float) -> tuple[float, float]:
    place = read(places[part.get("name", part["part"])], "")
    return place["back"], place["up"] + (offset if part["part"] == "roller" else 0.0)
