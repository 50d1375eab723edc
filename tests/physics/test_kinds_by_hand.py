"""Every kind of action that ships, against a calculation by hand: ratio, pluck, stroke and lift.

The hand calculation goes from the pallet to the key, lever by lever, out of the case's own sizes: wind on the sealed
area, spring, seat and weight; rods that stretch, levers that bend, rollers that twist; friction at every pin.
"""

from __future__ import annotations

from functools import lru_cache

import pytest
from kinds_by_hand import KINDS, Hand, train_of

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of as programs_train
from keyaction.sim.figures.play import Pressed, press_note
from keyaction.sim.figures.quantities import key_dip, pluck_force, pluck_point, steady_lift
from keyaction.sim.figures.sketch import rigid
from keyaction.sim.motion.note import NoteModel


def by_hand(name, sense=1):
    return Hand(tuple(train_of(name, KINDS[name])), sense)


@lru_cache(maxsize=len(KINDS))
def pressed(name) -> Pressed:
    case = read_case(name)
    return press_note(NoteModel(programs_train(case, KINDS[name])), case.strokes)


def drawn_at(name) -> float:
    """Key's way from the drawing to its rest, m. A hung key's is by hand; a balanced one is turned by what hangs on it.

    By rods of some grams on a felt: not more than a tenth of a millimetre.
    """
    found = by_hand(name)
    if found.part("key")["balance"] != "balanced":
        return found.rest()
    rest = float(pressed(name).press.down["key_travel"][0])
    assert -1e-4 < rest <= 0.0
    return rest


@pytest.mark.parametrize("name", KINDS)
def test_way_of_the_eye_per_way_of_the_key(name):
    train = programs_train(read_case(name), KINDS[name])
    assert rigid(train).last == pytest.approx(by_hand(name).ratios[-1], rel=1e-9)


@pytest.mark.parametrize("name", KINDS)
def test_pluck(name):
    force, way = by_hand(name).pluck()
    # A bushing gives by 0.1 mrad before it slips: the pin of a pallet on thin leather is then not yet at its full.
    assert pluck_force(pressed(name)) == pytest.approx(force, rel=5e-4)
    assert pluck_point(pressed(name)) == pytest.approx(way - drawn_at(name), rel=5e-4)


@pytest.mark.parametrize("name", KINDS)
def test_stroke_and_lift(name):
    dip, lift = by_hand(name).bottom()
    assert key_dip(pressed(name)) == pytest.approx(dip - drawn_at(name), rel=1e-4)
    assert steady_lift(pressed(name)) == pytest.approx(lift, rel=1e-4)


@pytest.mark.parametrize("name", KINDS)
def test_arms_times_wind_spring_and_weights_and_the_pins_on_top(name):
    smooth, force = by_hand(name, 0), pluck_force(pressed(name))
    without = smooth.pluck()[0]
    assert without == pytest.approx(smooth.envelope(), rel=0.01)  # the spring's rise and arms out of square: little
    assert 1.001 < force / without < 1.12  # what the pins add
    assert force - without == pytest.approx(by_hand(name).pluck()[0] - without, rel=0.02)
