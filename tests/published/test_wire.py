"""Spring wire: moduli and strengths of the material table against the published ones."""

import pytest

from keyaction.models.materials.library import default_library

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


def test_strength_refuses_what_the_table_does_not_cover():
    with pytest.raises(ValueError, match=r"12 mm.*0\.1 to 6\.5 mm"):
        LIBRARY.get("music-wire").wire_strength(0.012)
    with pytest.raises(ValueError, match="no wire strengths"):
        LIBRARY.get("spring-brass").wire_strength(0.001)
