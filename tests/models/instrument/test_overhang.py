"""The sag of a wire with its ends bent over, against a row of finite elements and closed forms."""

import math

import numpy as np
import pytest
from beams import deflections

from keyaction.models.formulas.bending import overhang
from keyaction.models.instrument.overhang import overhanging_sag

BENDING = 12.0


@pytest.mark.parametrize(("first", "second"), [(3.0, 3.0), (3.0, -3.0), (2.0, -1.0), (0.0, 4.0)])
def test_against_a_row_of_elements(first, second):
    inset, length = 0.05, 0.8
    places = np.unique(np.concatenate([np.linspace(0, length, 401), [inset, length - inset]]))
    held = [int(np.argmin(abs(places - at))) for at in (inset, length - inset)]
    last = len(places) - 1
    by_elements = deflections(list(places), BENDING, math.inf, held, {0: first, last: second})
    found = overhanging_sag(first, second, length, inset, BENDING)
    assert (found.key, found.pallet) == pytest.approx((by_elements[0], by_elements[last]), rel=1e-6)
    assert found.most == pytest.approx(float(np.max(np.abs(by_elements))), rel=1e-4)


def test_one_pull():
    # P c^2 (L + c)/3EI (Gere and Timoshenko, Mechanics of Materials, Appendix G; from memory).
    found = overhanging_sag(2.0, 0.0, 0.5, 0.03, BENDING)
    assert found.key == pytest.approx(2.0 * overhang(0.03, 0.44).give(BENDING, math.inf), rel=1e-12)


def test_its_own_weight():
    # 5 w L^4/384EI, less M L^2/8EI of both overhangs (same tables; from memory).
    found = overhanging_sag(0.0, 0.0, 1.0, 0.02, BENDING, weight=1.7)
    span, moment = 0.96, 1.7 * 0.02**2 / 2
    assert found.most == pytest.approx((5 * 1.7 * span**4 / 384 - moment * span**2 / 8) / BENDING, rel=1e-9)
    assert found.at == pytest.approx(0.5)
    assert found.key < 0  # the ends rise


def test_bearings_too_near_have_no_sag():
    with pytest.raises(ValueError, match="two insets"):
        overhanging_sag(1.0, 1.0, 0.04, 0.02, BENDING)
