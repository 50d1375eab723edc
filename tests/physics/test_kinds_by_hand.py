"""Every kind of action that ships, against a calculation by hand: layout, ratio, pluck, stroke and lift.

The hand calculation goes from the pallet to the key, lever by lever, out of the case's own sizes: wind on the sealed
area, spring, seat and weight; rods that stretch, levers that bend, rollers that twist; friction at every pin.
"""

from __future__ import annotations

from functools import lru_cache

import pytest
from kinds_by_hand import KINDS, Hand, train_of
from kinds_laid import count, laid, text_of

from keyaction.cases.action.case import Case
from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of as programs_train
from keyaction.models.notes import note_name
from keyaction.sim.figures.play import Pressed, press_note
from keyaction.sim.figures.quantities import key_dip, pluck_force, pluck_point, steady_lift
from keyaction.sim.figures.sketch import rigid
from keyaction.sim.motion.note import NoteModel

ENDS = [(name, end) for name in KINDS for end in (0, count(text_of(name)) - 1)]
"""Every kind, at its lowest and its highest note, in semitones above the lowest: there its file has every value."""
at_both_ends = pytest.mark.parametrize(("name", "note"), ENDS)


@lru_cache(maxsize=len(KINDS))
def case_of(name) -> Case:
    return read_case(name)


def sounding(name, note) -> int:
    return case_of(name).compass[0] + note


def lengths(name, note):
    """What the layout gives by hand; which row a roller lies on is not asked here."""
    board = case_of(name).layout.board
    return laid(name, note, board.offset(sounding(name, note)) if board else 0.0)


@lru_cache(maxsize=len(ENDS) * 2)
def by_hand(name, note, sense=1) -> Hand:
    return Hand(tuple(train_of(name, note_name(sounding(name, note)), lengths(name, note))), sense)


@lru_cache(maxsize=len(ENDS))
def pressed(name, note) -> Pressed:
    case = case_of(name)
    return press_note(NoteModel(programs_train(case, sounding(name, note))), case.strokes)


def drawn_at(name, note) -> float:
    """Key's way from the drawing to its rest, m. A hung key's is by hand; a balanced one is turned by what hangs on it.

    By rods of some grams on a felt: not more than a tenth of a millimetre.
    """
    found = by_hand(name, note)
    if found.part("key")["balance"] != "balanced":
        return found.rest()
    rest = float(pressed(name, note).press.down["key_travel"][0])
    assert -1e-4 < rest <= 0.0
    return rest


@at_both_ends
def test_lengths_and_splays_of_the_layout(name, note):
    case = case_of(name)
    for called, fields in lengths(name, note).items():
        part = case.part(called.replace("_", "-"))
        for field, value in fields.items():
            given = part.fields[field][sounding(name, note)]
            assert given.origin == "layout"
            assert given.value == pytest.approx(value, rel=1e-9), (called, field)


@at_both_ends
def test_way_of_the_eye_per_way_of_the_key(name, note):
    train = programs_train(case_of(name), sounding(name, note))
    assert rigid(train).last == pytest.approx(by_hand(name, note).ratios[-1], rel=1e-9)


@at_both_ends
def test_pluck(name, note):
    force, way = by_hand(name, note).pluck()
    # A bushing gives by 0.1 mrad before it slips: the pin of a pallet on thin leather is then not yet at its full.
    assert pluck_force(pressed(name, note)) == pytest.approx(force, rel=5e-4)
    assert pluck_point(pressed(name, note)) == pytest.approx(way - drawn_at(name, note), rel=5e-4)


@at_both_ends
def test_stroke_and_lift(name, note):
    dip, lift = by_hand(name, note).bottom()
    assert key_dip(pressed(name, note)) == pytest.approx(dip - drawn_at(name, note), rel=1e-4)
    assert steady_lift(pressed(name, note)) == pytest.approx(lift, rel=1e-4)


@at_both_ends
def test_arms_times_wind_spring_and_weights_and_the_pins_on_top(name, note):
    smooth, force = by_hand(name, note, 0), pluck_force(pressed(name, note))
    without = smooth.pluck()[0]
    assert without == pytest.approx(smooth.envelope(), rel=0.01)  # the spring's rise and arms out of square: little
    assert 1.001 < force / without < 1.12  # what pins and guides add
    assert force - without == pytest.approx(by_hand(name, note).pluck()[0] - without, rel=0.02)
