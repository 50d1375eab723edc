"""Growth by heat: coefficients against published tables, and lengths by hand."""

import math

import pytest

from keyaction.models.formulas.wood import (
    ZERO_CELSIUS,
    across_expansion,
    length_strain,
    moisture_content,
    oven_dry_gravity,
    width_strain,
)
from keyaction.models.materials.library import default_library
from keyaction.models.materials.types import Material, Property

LIBRARY = default_library()
COLD, WARM = (10 + ZERO_CELSIUS, 0.5), (30 + ZERO_CELSIUS, 0.5)

# W. D. Callister, Materials Science and Engineering, appendix B, Table B.6 (read in a scan), 1e-6/K: steels 1020 and
# 1040, aluminium 1100 and 6061, brass C26000, stainless 304, beryllium copper, E-glass/epoxy of 60 % fibre.
CALLISTER = {
    "steel": 11.7,
    "music-wire": 11.3,
    "hard-drawn-wire": 11.3,
    "aluminium": 23.6,
    "brass": 19.9,
    "spring-brass": 19.9,
    "stainless": 17.2,
    "beryllium-copper": 16.7,
    "glass-rod": 6.6,
}


@pytest.mark.parametrize("name", CALLISTER)
def test_coefficients_are_the_tables(name):
    assert LIBRARY.get(name)["thermal_expansion"].value == pytest.approx(CALLISTER[name] * 1e-6, rel=1e-12)


def test_phosphor_bronze_stands_in_its_band():
    # A design-reference table (read): 9.6 to 10.2 per million and degree Fahrenheit, phosphor and silicon bronze.
    low, high = (1.8 * one * 1e-6 for one in (9.6, 10.2))
    assert low < LIBRARY.get("phosphor-bronze")["thermal_expansion"].value < high


def test_carbon_stands_between_its_sources():
    # 0.02e-6/K at 70 % fibre (a public material sheet, read) and -0.2e-6/K at 60 % (D. Hull, 1992, second-hand).
    assert LIBRARY.get("carbon-ud-70")["thermal_expansion"].value == 0.02e-6
    rod = LIBRARY.get("carbon-rod")["thermal_expansion"]
    assert rod.value == pytest.approx((0.02e-6 - 0.2e-6) / 2)
    assert abs(rod.spread * rod.value) == pytest.approx(0.11e-6, rel=5e-3)  # both ends within one spread


def test_every_solid_material_has_an_expansion_with_its_source():
    for kind in ("wood", "composite", "metal"):
        assert all(LIBRARY.get(name)["thermal_expansion"].source for name in LIBRARY.names(kind))


@pytest.mark.parametrize(
    ("name", "metres", "kelvin", "millimetres"),
    # Length times coefficient times difference, by hand: 9 m and 20 K, 2 m and 20 K.
    [
        ("aluminium", 9, 20, 4.248),
        ("steel", 9, 20, 2.106),
        ("aluminium", 2, 20, 0.944),
        ("steel", 2, 20, 0.468),
        ("stainless", 2, 20, 0.688),
        ("brass", 2, 20, 0.796),
        ("carbon-ud-70", 2, 20, 0.0008),
        ("carbon-rod", 2, 20, -0.0036),
    ],
)
def test_metals_and_fibres_grow_by_heat_alone(name, metres, kelvin, millimetres):
    hot = (COLD[0] + kelvin, 0.9)  # damp air does nothing to them
    assert 1e3 * metres * length_strain(LIBRARY.get(name), COLD, hot) == pytest.approx(millimetres, rel=1e-9)


@pytest.mark.parametrize("name", LIBRARY.names("wood"))
def test_wood_grows_by_moisture_and_by_heat(name):
    wood = LIBRARY.get(name)
    # Wood Handbook, FPL-GTR-282, ch. 4 (from memory): 3.1 to 4.5e-6/K along the grain, any species: 2 m over 20 K.
    heat = 1e3 * 2 * 20 * wood["thermal_expansion"].value
    assert 0.124 < heat < 0.180
    moist = wood["shrinkage_longitudinal"].value / 0.30 * (moisture_content(*WARM) - moisture_content(*COLD))
    whole = 2e3 * length_strain(wood, COLD, WARM)
    assert whole == pytest.approx(2e3 * moist + heat, rel=1e-12)
    assert moist < 0  # warm air of one humidity dries it: the two parts work against each other
    # In equally damp air of one temperature the season is the moisture's alone.
    damp = (COLD[0], 0.8)
    assert length_strain(wood, COLD, damp) == pytest.approx(
        wood["shrinkage_longitudinal"].value / 0.30 * (moisture_content(*damp) - moisture_content(*COLD))
    )


def made_up(**given):
    """A wood with a few properties, in SI units."""
    return Material(
        "made-up", "wood", "", {name: Property(value, "", "made up", "given") for name, value in given.items()}
    )


@pytest.mark.parametrize(
    ("gravity", "radial", "tangential"),
    # The Handbook's formulae for oven-dry wood by hand, 1e-6/K: 32.4 G + 9.9, 32.4 G + 18.4.
    [(0.40, 22.86, 31.36), (0.65, 30.96, 39.46)],
)
def test_across_the_grain_the_handbooks_formulae(gravity, radial, tangential):
    wood = made_up(density=1120 * gravity, movement_radial=0.0, movement_tangential=0.0)
    assert oven_dry_gravity(wood) == pytest.approx(gravity)
    assert across_expansion(wood, "radial") == pytest.approx(radial * 1e-6, rel=1e-9)
    assert across_expansion(wood, "tangential") == pytest.approx(tangential * 1e-6, rel=1e-9)


def test_across_the_grain_near_a_second_table():
    # A second-hand table: Douglas-fir 27 radial, 45e-6/K tangential; at an oven-dry gravity of 0.5.
    wood = made_up(density=560.0, movement_radial=0.0, movement_tangential=0.0)
    assert across_expansion(wood, "radial") == pytest.approx(27e-6, rel=0.05)
    assert across_expansion(wood, "tangential") == pytest.approx(45e-6, rel=0.25)


def test_the_oven_dry_gravity_keeps_the_mass():
    # A cube of 1 m at 12 %: without its water, and narrower by 12 times its movement, it is as heavy as its dry wood.
    wood = LIBRARY.get("sitka-spruce")
    shrunk = (1 - 12 * wood["movement_radial"].value) * (1 - 12 * wood["movement_tangential"].value)
    assert 1000 * oven_dry_gravity(wood) * shrunk == pytest.approx(wood["density"].value / 1.12, rel=1e-3)


@pytest.mark.parametrize(
    ("name", "millimetres"),
    # 38 mm, tangential, moisture content up by 6.202 %: American beech by the Handbook's Table 13-5, European by a
    # trade table (both read): 38 x 0.00431 x 6.202 and 38 x 0.0041 x 6.202.
    [("american-beech", 1.0157), ("european-beech", 0.9663)],
)
def test_a_beech_roller_through_the_seasons(name, millimetres):
    dry, damp = (18 + ZERO_CELSIUS, 0.35), (18 + ZERO_CELSIUS, 0.70)
    beech = LIBRARY.get(name)
    assert 38 * width_strain(beech, "tangential", dry, damp) == pytest.approx(millimetres, rel=1e-3)
    warmer = (damp[0] + 10, damp[1])
    drier = moisture_content(*warmer) - moisture_content(*damp)
    by_hand = 100 * beech["movement_tangential"].value * drier + 10 * across_expansion(beech, "tangential")
    assert width_strain(beech, "tangential", damp, warmer) == pytest.approx(by_hand, rel=1e-12)


def test_what_is_not_known_is_no_figure_and_never_zero():
    bare = made_up(density=430.0, E=9e9)
    assert math.isnan(length_strain(bare, COLD, WARM))
    assert math.isnan(length_strain(bare, COLD, (COLD[0], 0.8)))
    assert math.isnan(width_strain(bare, "radial", COLD, WARM))
    assert math.isnan(across_expansion(bare, "radial"))
    assert length_strain(bare, COLD, COLD) == 0.0  # nothing happens, whatever it is
    metal = Material("made-up", "metal", "", {})
    assert math.isnan(length_strain(metal, COLD, WARM))
    assert length_strain(metal, COLD, (COLD[0], 0.9)) == 0.0
    heavy = made_up(density=1000.0, movement_radial=0.001, movement_tangential=0.002)  # beyond the formulae's range
    assert math.isnan(across_expansion(heavy, "radial"))
