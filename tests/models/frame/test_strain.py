"""How much things grow by moisture and heat: by hand, against the laws at rest, and what a material does not tell."""

import numpy as np
import pytest

from keyaction.models.formulas import wood
from keyaction.models.frame.strain import heat_expansion, lacking, moisture_expansion, strain, swells
from keyaction.models.materials.library import default_library
from keyaction.models.materials.types import Material

LIBRARY = default_library()
WINTER, SUMMER = (294.15, 0.25), (296.15, 0.70)


def one(name, grain, temperature, moisture, at):
    return float(strain(LIBRARY.get(name), grain, np.array([temperature]), np.array([moisture]), at)[0])


@pytest.mark.parametrize(
    ("name", "by_hand", "trade"), [("sitka-spruce", 2.664e-3, 2.8e-3), ("white-oak", 3.24e-3, 3.3e-3)]
)
def test_a_quarter_sawn_rail_of_300_mm_at_six_percent_more_moisture(name, by_hand, trade):
    # D C (M2 - M1), Wood Handbook, FPL-GTR-190, 2010, ch. 13: 300 x 0.00148 x 6 and 300 x 0.00180 x 6 mm.
    grown = 0.3 * one(name, "radial", 293.15, 0.14, (293.15, 0.08))
    assert grown == pytest.approx(by_hand, rel=1e-9)
    assert grown == pytest.approx(trade, rel=0.05)  # a figure of the trade, by shrinkage in straight proportion


def test_two_metres_of_spruce_along_the_grain_by_hand():
    # 0.15 % from green to dry, over 30 % of moisture: 2 m x 0.0015 x 3 / 30 = 0.3 mm; and 10 K at 3.8e-6: 0.076 mm.
    assert 2 * one("sitka-spruce", "along", 293.15, 0.11, (293.15, 0.08)) == pytest.approx(0.3e-3, rel=1e-9)
    assert 2 * one("sitka-spruce", "along", 303.15, 0.08, (293.15, 0.08)) == pytest.approx(0.076e-3, rel=1e-9)


@pytest.mark.parametrize("name", ["white-oak", "eastern-white-pine", "norway-spruce"])
@pytest.mark.parametrize("grain", ["along", "radial", "tangential"])
def test_at_rest_with_the_air_it_is_the_law_at_rest(name, grain):
    found, wet = LIBRARY.get(name), [wood.moisture_content(*air) for air in (WINTER, SUMMER)]
    law = (
        wood.length_strain(found, WINTER, SUMMER)
        if grain == "along"
        else wood.width_strain(found, grain, WINTER, SUMMER)
    )
    assert one(name, grain, SUMMER[0], wet[1], (WINTER[0], wet[0])) == pytest.approx(law, rel=1e-12)


@pytest.mark.parametrize("name", ["steel", "carbon-rod", "phosphor-bronze"])
def test_what_is_no_wood_grows_by_heat_alone(name):
    assert not swells(LIBRARY.get(name))
    assert one(name, "", 293.15, 0.20, (293.15, 0.08)) == 0.0
    expected = 10 * LIBRARY.get(name)["thermal_expansion"].value
    assert one(name, "", 303.15, 0.20, (293.15, 0.08)) == pytest.approx(expected, rel=1e-9)


def test_above_fibre_saturation_wood_swells_no_more():
    assert one("white-oak", "radial", 293.15, 0.40, (293.15, 0.30)) == 0.0
    half = one("white-oak", "radial", 293.15, 0.35, (293.15, 0.25))
    assert half == pytest.approx(100 * 0.05 * 0.0018, rel=1e-9)


def test_across_the_grain_oak_moves_far_more_than_along_and_flat_sawn_more_than_quarter_sawn():
    along, radial, tangential = (
        moisture_expansion(LIBRARY.get("white-oak"), way) for way in ("along", "radial", "tangential")
    )
    assert tangential > 1.8 * radial > 20 * along > 0


def test_what_a_material_does_not_tell_makes_nothing_and_is_named():
    bare = Material("mystery", "wood", "", {})
    assert np.all(strain(bare, "along", np.array([300.0]), np.array([0.2]), (290.0, 0.1)) == 0.0)
    assert np.all(strain(bare, "radial", np.array([300.0]), np.array([0.2]), (290.0, 0.1)) == 0.0)
    assert lacking(bare, "along") == ("thermal_expansion", "shrinkage_longitudinal")
    assert lacking(bare, "radial") == ("movement_radial", "movement_tangential", "density")
    assert lacking(Material("alloy", "metal", "", {}), "") == ("thermal_expansion",)
    assert lacking(LIBRARY.get("white-oak"), "tangential") == ()
    assert heat_expansion(bare, "radial") == 0.0
