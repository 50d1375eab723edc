"""A keyboard from above: outlines of its keys by custom, their middle lines by computation."""

from __future__ import annotations

from collections.abc import Iterator

from keyaction.models.instrument.keyboard import Keyboard, front_place, fronts
from keyaction.models.instrument.layout import Layout
from keyaction.models.notes import Naming, note_name
from keyaction.plots.drawings.drawing import Stroke
from keyaction.plots.drawings.placing import oblong

COVER, PEDAL_COVER = 0.145, 0.6
"""m of a natural that is seen: of a manual and of a pedal (common practice; for the drawing only)."""
_NATURAL, _SHARP, _PEDAL = 0.96, 0.42, 0.37
"""Widths over the pitch of the naturals: of naturals, of sharps, of both of a pedal (common practice)."""
_MM = 1000.0


def cover(keyboard: Keyboard) -> float:
    """How far back its keys are seen, m."""
    return keyboard.back + (PEDAL_COVER if keyboard.pedals else COVER)


def zero(layout: Layout) -> str:
    """What places are counted from, in words."""
    return "the zero of the instrument" if layout.division else "the zero of the layout"


def fronts_told(layout: Layout) -> str:
    """Where this keyboard stands against that zero, in words."""
    back, up = _MM * layout.keyboard.back, _MM * layout.keyboard.up
    return f"fronts of these keys' naturals: back {back:z.6g} mm, their upper sides: up {up:z.6g} mm"


def key_outlines(keyboard: Keyboard, naming: Naming) -> Iterator[Stroke]:
    """Outlines of the keys that are seen, in mm across and back."""
    pitch = keyboard.octave / 7
    end = _MM * cover(keyboard)
    middles = fronts(keyboard)
    places = {note: front_place(keyboard, note) for note in keyboard.notes}
    for note in sorted(places, key=lambda one: places[one][1]):
        sharp = places[note][1] > keyboard.back + 1e-9
        share = _PEDAL if keyboard.pedals else _SHARP if sharp else _NATURAL
        x, half = _MM * middles[note], _MM * share * pitch / 2
        layer = "SHARPS" if sharp else "NATURALS"
        yield oblong(layer, x - half, _MM * places[note][1], x + half, end, of=f"key {note_name(note, naming)}")
