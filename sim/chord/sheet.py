"""A chord as tables and sentences, for a terminal of 80 columns and for CSV files."""

from __future__ import annotations

import math
from collections.abc import Sequence

from keyaction.models.units.quantity import System, format_value
from keyaction.sim.chord.chord import Chord
from keyaction.sim.chord.figures import STILL, BoxFigures, InChord
from keyaction.sim.chord.repeats import Repeated
from keyaction.sim.chord.steady import heads_of
from keyaction.sim.tables.sheet import Cell, Column, Sheet, in_units, value

NOTE = (
    "alone: by itself at the full pressure of its box; chord: all keys struck at once (pluck: all others held). opens, "
    "speak: from the key's first 1 mm to 50 %, 90 % of the box with no key down; quiet: from the finger's lift to "
    "10 %. full box, box now: pressure in the groove, all keys held until all is still, as a share of the box with no "
    "key down, and of the box as it then is. '-': never."
)
OPENINGS = (
    "Areas, each times its flow coefficient: opening is the gap under the pallet and the slot, one behind the other, "
    "all pallets of a groove together; toes with the groove's leak. least: the opening with which the groove just has "
    "90 % of the box with no key down, if every pallet of the chord has its least. '-': none does, as the box itself "
    "falls so far. The lengths to cut, without coefficients, are given by 'keyaction pallets' with --chord."
)


def notes_sheet(notes: Sequence[InChord], units: System) -> Sheet:
    """Every note: alone, and under the chord."""
    columns = [Column("note", text=True)]
    for what, unit, places in (("pluck", "N", 1), ("opens", "s", 1), ("speak", "s", 1), ("quiet", "s", 1)):
        columns += [in_units(f"{what}\n{how}", unit, units, places) for how in ("alone", "chord")]
    columns += [Column("full\nbox", "%", 1), Column("box\nnow", "%", 1)]
    rows = [_row(one, units) for one in notes]
    return Sheet("chord", "Every note alone, and under the chord", columns, rows, NOTE)


def _row(one: InChord, units: System) -> list[Cell]:
    found: list[Cell] = [one.name, value(one.pluck_alone, "N", units), value(one.pluck_under, "N", units)]
    for what in ("opening", "speech", "release"):
        found += [value(getattr(times, what), "s", units) for times in (one.alone, one.under)]
    return [*found, 100 * one.of_rest, 100 * one.of_now]


def openings_sheet(chord: Chord, units: System) -> Sheet:
    """What every pallet opens, what its toes take, and the least that would carry the chord."""
    columns = [
        Column("note", text=True),
        in_units("opening\nx coeff.", "m^2", units, 0),
        in_units("toes x\ncoeff.", "m^2", units, 0),
        Column("opening\n/ toes", "", 2),
        in_units("least\nx coeff.", "m^2", units, 0),
        Column("least /\nopening", "%", 0),
    ]
    rows: list[list[Cell]] = []
    for one in chord.notes:
        areas = [value(area, "m^2", units) for area in (one.opening, one.toes)]
        ratio = one.opening / one.toes if one.toes > 0.0 else math.nan
        rows.append([one.name, *areas, ratio, value(one.scale * one.opening, "m^2", units), 100 * one.scale])
    return Sheet("chord-openings", "Smallest openings that carry the chord", columns, rows, OPENINGS)


def robbing_sheet(chord: Chord) -> Sheet:
    """The groove that is worst off, as stops are drawn one after the other."""
    columns = [
        Column("stop drawn last", text=True),
        Column("stops", "", 0),
        Column("worst\nnote", text=True),
        Column("groove/\nfull box", "%", 1),
        Column("groove/\nbox now", "%", 1),
        Column("box now/\nfull box", "%", 1),
    ]
    rows: list[list[Cell]] = [
        [one.stop or "none", float(one.count), one.note, 100 * one.of_rest, 100 * one.of_now, 100 * one.box]
        for one in chord.robbing
    ]
    return Sheet("chord-stops", "Robbing as stops are drawn, in order, the chord held", columns, rows)


def sentences(chord: Chord, units: System) -> list[str]:
    """What is to be said of boxes, pallets and trunks."""
    found = [*chord.told, *(line for box in chord.boxes for line in _of_box(box, units))]
    found += [
        _reached(chord.notes, [one.carries for one in chord.notes], "the box with no key down"),
        _reached(chord.notes, [one.carries_now for one in chord.notes], "the box as it then is"),
    ]
    found += [_trunk(box, chord, units) for box in chord.boxes if box.pressure > 0.0]
    if math.isfinite(chord.with_pallets):
        found.append(f"Played and held with the least openings, the least groove has {_percent(chord.with_pallets)}.")
    if chord.repeated:
        found += _repeated(chord.repeated, chord.boxes, units)
    return found


def _percent(share: float) -> str:
    return f"{100 * share:.1f} %"


def _of_box(box: BoxFigures, units: System) -> list[str]:
    full = format_value(box.pressure, "Pa", units)
    flow = format_value(box.flow, "m^3/s", units)
    if not box.pressure > 0.0:
        return [f"{box.name}: no wind."]
    if box.holds:
        return [
            f"{box.name}: {full}, taken to hold it, since the case says nothing of what feeds the box (volume, trunk, "
            f"fall): no sag is computed. The held chord takes {flow}."
        ]
    held, deepest, after = (format_value(at, "Pa", units) for at in (box.steady, box.deepest, box.after))
    still = f", still swinging by {_percent(box.unstill)} up and down" if box.unstill > STILL else ""
    later = f" Once they are let go it swings, down to {after}." if box.after < box.deepest else ""
    swing = f" Box and trunk swing at {box.swing:.0f} Hz." if math.isfinite(box.swing) else ""
    return [
        f"{box.name}: {full} with no key down; {held} while the chord is held, {_percent(box.sag)} less (played: "
        f"{format_value(box.held, 'Pa', units)}{still}); in the stroke {deepest} at its lowest while the keys are "
        f"down, {_percent(box.deepest_sag)} less.{later} The held chord takes {flow}.{swing}"
    ]


def _reached(notes: Sequence[InChord], reached: Sequence[bool], what: str) -> str:
    lacking = [one.name for one, does in zip(notes, reached, strict=True) if not does]
    if not lacking:
        return f"Every groove of the held chord reaches 90 % of {what}."
    return f"{len(lacking)} of {len(notes)} grooves do not reach 90 % of {what}: {', '.join(lacking)}."


def _trunk(box: BoxFigures, chord: Chord, units: System) -> str:
    course = chord.played.boxes[box.name].supply
    told = f"losing {heads_of(course):g} heads"
    if math.isnan(box.trunk):
        why = "a pallet is too small for its toes, or the reservoir falls too far"
        return f"{box.name}: no trunk carries the chord: {why}."
    if not box.trunk > 0.0:
        return f"{box.name}: any trunk carries the chord."
    side = format_value(math.sqrt(box.trunk), "m", units)
    found = f"{box.name}: smallest trunk that carries it: {format_value(box.trunk, 'm^2', units)} ({side} square)"
    if math.isinf(course.area):
        return f"{found}, {told} (assumed), by orifices in series alone."
    now = format_value(course.area, "m^2", units)
    played = f" Played and held, the least groove then has {_percent(chord.with_trunk)}."
    return f"{found}, {told}; now it has {now}.{played if math.isfinite(chord.with_trunk) else ''}"


def _repeated(found: Repeated, boxes: Sequence[BoxFigures], units: System) -> list[str]:
    rate = f"Repeated at {found.rate:g} Hz"
    lines = [
        f"{rate}, {box.name} goes from {format_value(found.lowest[box.name], 'Pa', units)} to "
        f"{format_value(found.highest[box.name], 'Pa', units)}."
        for box in boxes
        if not box.holds
    ]
    if not found.failing:
        return [*lines, f"{rate}, every note speaks at every stroke and falls silent after it."]
    told = "; ".join(f"{name}: {why}" for name, why in found.failing.items())
    return [*lines, f"{rate}, {len(found.failing)} notes do not speak and fall silent at every stroke ({told})."]
