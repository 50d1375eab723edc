"""Actions that books describe, against the shipped cases that follow them."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

import numpy as np

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.models.formulas.openings import custom_length
from keyaction.models.train.train import Train
from keyaction.sim.figures.play import press_note
from keyaction.sim.figures.record import Pressed
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.published.observation import Between, Near, Observation, Source
from keyaction.sim.published.pallet import LIGNE

FRENCH, ENGLISH = "A bass key of 1766 (C2 of classical-french)", "An octave of 1882 (english-1882)"

HUNG = Source("Dom Bedos, L'Art du facteur d'orgues, 1766-78, art. 473: the key is hung at half its length; 11 mm of "
              "dip in the bass let the pallet fall by 5.6 mm", "second-hand")  # fmt: skip
OPENING = Source("Dom Bedos, art. 475: an opening of 390 square lignes over a groove of 378, at a fall of 2 1/2 lignes",
                 "second-hand")  # fmt: skip
SPRING = Source("W. E. Dickson, Practical Organ-Building, 2nd ed., 1882, p. 22-23: brass wire No. 17 or 18 (1.42, 1.22 "
                "mm, from memory), legs of about 5 in, one turn, free gape 7 to 8 in, a box 3 in deep",
                "derived")  # fmt: skip


@lru_cache(maxsize=4)
def _train(name: str, note: str) -> Train:
    return train_of(read_case(name), note)


@lru_cache(maxsize=1)
def _bass() -> Pressed:
    """The lowest key of the French case, pressed slowly."""
    return press_note(NoteModel(_train("classical-french", "C2")), read_case("classical-french").strokes)


def fall() -> float:
    """Of the eye, mm, at 11 mm of the key's way from its rest."""
    down = _bass().press.down
    return 1e3 * float(np.interp(0.011, down.travel, down["pallet_lift"] - down["pallet_lift"][0]))


def over_groove(lift: float) -> float:
    """Free opening over the groove's section, the pallet's free edge having fallen by `lift`, m."""
    pallet = _train("classical-french", "C2").part("pallet").values
    groove = _train("classical-french", "C2").part("groove").values
    edge = pallet.number("hinge_to_opening") + pallet.number("opening_length")
    return pallet.derived["gap"].value * lift / edge / (groove.number("width") * groove.number("depth"))


def at_the_bottom() -> float:
    """The same with the key at its bottom under 5 N."""
    down = _bass().press.down
    pallet = _train("classical-french", "C2").part("pallet").values
    edge = pallet.number("hinge_to_opening") + pallet.number("opening_length")
    return over_groove(float(down["seat_gap"][-1]) * edge / pallet.number("eye"))


def by_custom() -> float:
    """Length of opening (mm) that custom gives the case's groove at the book's fall of the pallet's free edge."""
    pallet = _train("classical-french", "C2").part("pallet").values
    groove = _train("classical-french", "C2").part("groove").values
    hinge, width = pallet.number("hinge_to_opening"), pallet.number("opening_width")
    section, turn = groove.number("width") * groove.number("depth"), 2.5 * LIGNE / (hinge + 144 * LIGNE)
    return 1e3 * custom_length(section, turn, hinge, width)


def closes() -> float:
    """Force of the English case's spring where it bears, N."""
    return _train("english-1882", "C3").part("pallet-spring").values.derived["force"].value


def _rows() -> Iterator[Observation]:
    gives = "levers alone give 5.5 mm; rods, roller and pallet take the rest, more as they are thinner"
    yield Observation(FRENCH, "pallet falls at 11 mm of dip", Near(5.6, relative=0.03, why=gives), "mm", HUNG,
                      fall)  # fmt: skip
    width = "the book's sides are of the groove's length, its front of the pallet's width; ours of the opening's"
    yield Observation(FRENCH, "opening per groove, 2.5 lignes", Near(390 / 378, relative=0.015, why=width), "",
                      OPENING, lambda: over_groove(2.5 * LIGNE))  # fmt: skip
    yield Observation(FRENCH, "length by custom, 2.5 lignes", Near(144e3 * LIGNE, relative=0.015, why=width), "mm",
                      OPENING, by_custom)  # fmt: skip
    slightly = "'a little more' is read as by a seventh at most"
    yield Observation(FRENCH, "the same, key at its bottom", Between(1.0, 8 / 7, why=slightly), "", OPENING,
                      at_the_bottom)  # fmt: skip
    wide = "the book leaves coil and closed gape open"
    yield Observation(ENGLISH, "force of a pallet's spring", Between(0.4, 1.3, why=wide), "N", SPRING, closes)


OBSERVATIONS = tuple(_rows())
