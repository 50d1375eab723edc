"""Spring wire: moduli and strengths of the material table against the published ones."""

import pytest

from keyaction.models.materials.library import default_library
from keyaction.models.materials.types import WireStrength
from keyaction.models.units.quantity import parse_quantity

LIBRARY = default_library()


@pytest.mark.parametrize(
    ("name", "modulus", "shear", "density"),
    [
        # Public table of spring materials after ASTM A228, A227, A313, B134, B159 (second-hand).
        ("music-wire", 207, 79.3, 7860),
        ("hard-drawn-wire", 207, 79.3, 7860),
        ("stainless", 193, 69.0, 7910),
        ("spring-brass", 110, 37.9, 8520),
        ("phosphor-bronze", 103, 43.1, 8850),
    ],
)
def test_moduli_of_spring_wire(name, modulus, shear, density):
    wire = LIBRARY.get(name)
    assert wire["E"].value == pytest.approx(modulus * 1e9, rel=1e-12)
    assert wire["G"].value == pytest.approx(shear * 1e9, rel=1e-12)
    assert wire["density"].value == density
    assert wire["E"].status == "second-hand"


def test_the_spread_of_the_modulus_covers_a_second_source():
    # Another public sheet for A228 (read) gives E 190 and G 72 GPa.
    wire = LIBRARY.get("music-wire")
    for name, other in (("E", 190e9), ("G", 72e9)):
        assert abs(wire[name].value - other) < 1.2 * wire[name].spread * wire[name].value


@pytest.mark.parametrize(
    ("inches", "ksi"),
    # ASTM A228 tensile minima, ksi at diameters in inches, from a wire maker's table (read).
    [
        (0.010, 387),
        (0.020, 350),
        (0.030, 330),
        (0.040, 315),
        (0.051, 303),
        (0.063, 293),
        (0.080, 282),
        (0.100, 271),
        (0.125, 261),
    ],
)
def test_music_wire_strength_fits_the_standards_minima(inches, ksi):
    # The fit: Shigley's Mechanical Engineering Design, Table 10-4 (second-hand); it lies above the minima.
    strength = LIBRARY.get("music-wire").wire_strength(parse_quantity(f"{inches} in", "m"))
    least = parse_quantity(f"{ksi}e3 psi", "Pa")
    assert 1.0 < strength / least < 1.04


def test_strength_law_of_a_worked_problem():
    # A worked examination problem (read): A 2060, m 0.163, d 7.25 mm gives 1492 MPa.
    row = WireStrength(0.0001, 0.010, 2060.0, 0.163, "worked problem", "read")
    assert row.at(0.00725) == pytest.approx(1492e6, rel=1e-3)


@pytest.mark.parametrize(("diameter", "strength"), [(0.5e-3, 1000e6), (1.219e-3, 908e6)])
def test_phosphor_bronze_strength(diameter, strength):
    # Derived from Shigley's Table 10-4, B159 (second-hand): 1000 MPa at 0.5 mm, 908 MPa at 1.219 mm.
    assert LIBRARY.get("phosphor-bronze").wire_strength(diameter) == pytest.approx(strength, rel=5e-4)


def test_strength_refuses_what_the_table_does_not_cover():
    with pytest.raises(ValueError, match=r"12 mm.*0\.1 to 6\.5 mm"):
        LIBRARY.get("music-wire").wire_strength(0.012)
    with pytest.raises(ValueError, match="no wire strengths"):
        LIBRARY.get("spring-brass").wire_strength(0.001)
