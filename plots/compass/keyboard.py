"""The compass as an axis: semitones laid out evenly, a strip of keys, names of notes."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle

from keyaction.models.notes import is_sharp, note_name
from keyaction.models.units.quantity import System
from keyaction.plots.style.page import Floats, shown
from keyaction.plots.style.pens import FAINT, HAIR, INK, VERMILLION
from keyaction.sim.figures.verdict import Fate
from keyaction.sim.files.labelled import Result

_OCTAVE = 12
_SHARP = 0.38
"""Where sharps end, as a share of the strip's height."""
_LEAST_SPAN = {"N": 0.1, "m": 0.2e-3, "s": 1e-3, "Hz": 1.0, "kg": 2e-3}
"""Span of an axis below which differences mean nothing to a finger, an ear or a gauge (assumed)."""
_APART = 4
"""Semitones between named notes below which one of the names is left out."""


def semitones(result: Result) -> list[int]:
    """Notes of the result, rising."""
    return [int(note) for note in result["semitone"]]


def along(result: Result, values: Floats) -> tuple[Floats, Floats]:
    """Values of the notes over every semitone of the compass: NaN, that is a gap, where there is no note."""
    notes = semitones(result)
    axis = np.arange(notes[0], notes[-1] + 1, dtype=float)
    full = np.full(len(axis), np.nan)
    full[np.array(notes) - notes[0]] = values
    return axis, full


def joined(values: Floats) -> bool:
    """Whether a line has anything to join: two values side by side of those that `along` gives."""
    there = np.isfinite(values)
    return bool(np.any(there[1:] & there[:-1]))


def widen(axes: Axes, si_unit: str, units: System) -> None:
    """Open the upright axis to the least span that its unit makes sense of; what was above zero stays above it."""
    least = float(shown(_LEAST_SPAN.get(si_unit, 0.0), si_unit or "1", units)[0])
    low, high = axes.get_ylim()
    if high - low < least:
        middle = (low + high) / 2
        bottom = middle - least / 2 if low < 0 else max(middle - least / 2, 0.0)
        axes.set_ylim(bottom, bottom + least)


def named(notes: Sequence[int]) -> list[int]:
    """Notes whose names stand on the axis: every C and both ends, or all of a small range."""
    low, high = notes[0], notes[-1]
    if high - low <= _OCTAVE:
        return list(range(low, high + 1))
    chosen = [note for note in range(low, high + 1) if note % _OCTAVE == 0]
    ends = [end for end in (low, high) if all(abs(end - c) >= _APART for c in chosen)]
    return sorted({*chosen, *ends})


def lay_out(axes: Sequence[Axes], strip: Axes, result: Result) -> None:
    """Give panels the compass as their axis, and draw its keys below them.

    Parameters
    ----------
    axes : sequence of Axes
        Panels that share the strip's axis.
    strip : Axes
        Where the keys go; it carries the names.
    result : Result
    """
    notes = semitones(result)
    spare = 0.8 if len(notes) > 1 else 1.5
    low, high = notes[0] - spare, notes[-1] + spare
    strip.set_xlim(low, high)
    strip.set_ylim(-0.04, 1.04)
    _keys(strip, notes[0], notes[-1])
    ticks = named(notes)
    strip.set_xticks(ticks, [note_name(note, result.naming) for note in ticks])
    strip.set_xticks(np.arange(notes[0], notes[-1] + 1), minor=True)
    strip.tick_params(axis="x", which="major", length=5)
    strip.tick_params(axis="x", which="minor", length=2)
    strip.set_yticks([])
    strip.grid(False)
    strip.spines[["left", "bottom"]].set_visible(False)
    strip.set_xlabel("note")
    for panel in axes:
        panel.tick_params(axis="x", which="both", labelbottom=False)
        panel.grid(True, axis="x", which="major", color=HAIR)


def _keys(strip: Axes, low: int, high: int) -> None:
    """Naturals as long as the strip is high, sharps before them; two naturals part below a sharp's middle."""
    strip.add_patch(Rectangle((low - 0.5, 0), high - low + 1, 1, facecolor="white", edgecolor=INK, linewidth=0.8))
    for note in range(low, high + 1):
        if is_sharp(note):
            strip.add_line(Line2D([note, note], [0, 1], color=FAINT, linewidth=0.6))
            strip.add_patch(Rectangle((note - 0.32, _SHARP), 0.64, 1 - _SHARP, facecolor=INK, linewidth=0, zorder=3))
        elif note > low and not is_sharp(note - 1):
            strip.add_line(Line2D([note - 0.5, note - 0.5], [0, 1], color=FAINT, linewidth=0.6))


_FATES = (
    (Fate.HANGS, "v"),
    (Fate.MUTE, "s"),
    (Fate.WEAK, "d"),
    (Fate.CIPHER, "^"),
    (Fate.NO_WIND, "o"),
)
"""Verdicts that are not the sound one, with their marks."""
FAILED = "could not be played"
MARKS = (FAILED, *(fate.value for fate, _ in _FATES))
"""Names of all marks, but for that of a sound note without a figure."""


def mark_verdicts(axes: Axes, result: Result, values: Floats, none: str, every: bool = False) -> None:
    """Small marks at the foot of a panel: why notes are without its figure.

    Parameters
    ----------
    axes : Axes
    result : Result
    values : (n,) array
        The figure at every note, NaN where there is none.
    none : str
        What a note is called that has no such figure though nothing is wrong with it.
    every : bool
        Whether notes with something wrong are marked that do have the figure.
    """
    left = np.full(len(values), True) if every else ~np.isfinite(values)
    told = [str(text) for text in result["verdict"]] if "verdict" in result else [""] * len(values)
    for fate, marker in _FATES:
        chosen = left & np.array([text.startswith(fate.value) for text in told])
        _mark(axes, result, chosen, marker, fate.value)
        left = left & ~chosen
    failed = left & np.array([str(status) != "ok" for status in result["status"]])
    _mark(axes, result, failed, "x", FAILED)
    _mark(axes, result, left & ~failed & ~np.isfinite(values), "_", none)


def _mark(axes: Axes, result: Result, chosen: np.ndarray, marker: str, label: str) -> None:
    """A row of marks of one kind, with its name in the panel's key; nothing where no note is of it."""
    if np.any(chosen):
        axes.plot(
            np.array(semitones(result))[chosen],
            np.full(np.count_nonzero(chosen), 0.045),
            marker,
            color=VERMILLION,
            markersize=5,
            markerfacecolor="none",
            transform=axes.get_xaxis_transform(),
            label=label,
            zorder=5,
        )
