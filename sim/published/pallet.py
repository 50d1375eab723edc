"""The pallet and its wind against the rules of the trade."""

from __future__ import annotations

from collections.abc import Iterator

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.models.fields.values import Derived, Scalar
from keyaction.sim.published.observation import Near, Observation, Source

PALLET = "Pallet and wind"
GF = 9.80665e-3
LIGNE = 2.2558e-3
"""m: a twelfth of the old French inch (from memory; it cancels)."""

KOOIKER = Source("H. Kooiker, Het ORGEL 100 (2004) no. 5, 5-9, English summary: half of area times pressure", "read")
DICKSON = Source("W. E. Dickson, Practical Organ-Building, 2nd ed., 1882, p. 22-24: hinge 6 1/2 in behind the "
                 "opening's front, eye 1 1/2 in from its end", "derived")  # fmt: skip
BEDOS = Source("Dom Bedos, L'Art du facteur d'orgues, 1766-78, art. 475: a pallet of 144 x 12 lignes that opens "
               "2 1/2 lignes", "second-hand")  # fmt: skip


def pallet(**fields: Scalar) -> dict[str, Derived]:
    """Figures of a pallet that is hinged and seals at its opening's edge, in the shipped case."""
    edge = {"pallet.hinge_to_opening": "0 mm", "pallet.sealing_margin": "0 mm", "box.pressure": "75 mmH2O"}
    sizes = {f"pallet.{name}": value for name, value in fields.items()}
    case = read_case("demo-wood", set_={**edge, **sizes})
    return dict(train_of(case, "C4").part("pallet").values.derived)


def half_area() -> float:
    """gf at the free edge of 200 x 25 mm under 75 mmH2O."""
    sizes = {"opening_length": "200 mm", "opening_width": "25 mm", "eye": "200 mm"}
    return pallet(**sizes)["wind_at_eye"].value / GF


def nearer_eye() -> float:
    """How much more is needed at an eye 1 1/2 in nearer to the hinge."""
    sizes = {"opening_length": "6.5 in", "opening_width": "20 mm"}
    near, edge = (pallet(**sizes, eye=eye)["wind_at_eye"].value for eye in ("5 in", "6.5 in"))
    return near / edge


def opening() -> float:
    """Free opening in square lignes: front and both sides."""
    length, width, lift = 144 * LIGNE, 12 * LIGNE, 2.5 * LIGNE
    sizes = {"opening_length": f"{length:.12g} m", "opening_width": f"{width:.12g} m", "eye": f"{length:.12g} m"}
    return pallet(**sizes)["gap"].value * (lift / length) / LIGNE**2


def _rows() -> Iterator[Observation]:
    yield Observation(PALLET, "200 x 25 mm, 75 mmH2O", Near(187.5, relative=1e-6), "gf", KOOIKER,
                      half_area)  # fmt: skip
    yield Observation(PALLET, "force at the eye over the edge", Near(1.30, absolute=0.005), "", DICKSON, nearer_eye)
    yield Observation(PALLET, "opening, square lignes", Near(390, absolute=0.5), "", BEDOS, opening)


OBSERVATIONS = tuple(_rows())
