"""Torsion of rectangular rollers against published coefficients, a published approximation and the series."""

import math

import pytest

from keyaction.models.formulas import sections
from keyaction.models.materials.library import default_library


@pytest.mark.parametrize("ratio", [1.0, 1.3, 2.7, 8.0, 40.0])
def test_closed_sum_is_the_plain_series(ratio):
    # Timoshenko and Goodier, Theory of Elasticity, 3rd ed. 1970, ch. 10 (from memory): 400 terms one by one.
    terms = sum(math.tanh(n * math.pi * ratio / 2) / n**5 for n in range(1, 800, 2))
    plain = ratio * (1 / 3 - 64 / math.pi**5 / ratio * terms)
    assert sections.rectangle(1.0, ratio).torsion == pytest.approx(plain, rel=1e-11)


@pytest.mark.parametrize("ratio", [1.0, 1.2, 1.5, 2.0, 3.0, 5.0, 10.0])
def test_rectangle_agrees_with_the_approximate_formula(ratio):
    # An engineering page after Roark and Young (read): J = a b^3 [1/3 - 0.21 (b/a)(1 - b^4/12 a^4)].
    rough = ratio * (1 / 3 - 0.21 / ratio * (1 - 1 / (12 * ratio**4)))
    assert sections.rectangle(ratio, 1.0).torsion == pytest.approx(rough, rel=5e-3)


def test_wooden_roller_twist():
    # Derived from Wood Handbook Tables 5-1 and 5-3a (second-hand): Sitka 25 mm square, 1 m, G 0.697 GPa;
    # 38.27 N*m/rad, and 2 N on a 50 mm arm moves the arm's end 0.131 mm (3 digits).
    shear = default_library().get("sitka-spruce")["G"].value
    stiffness = sections.torsional_stiffness(shear, sections.square(0.025).torsion, 1.0)
    assert stiffness == pytest.approx(38.27, rel=1e-3)
    assert 2.0 * 0.050**2 / stiffness == pytest.approx(0.131e-3, abs=0.0005e-3)


def test_tube_is_the_difference_of_two_rounds():
    outer, inner, ring = sections.round_bar(0.016), sections.round_bar(0.013), sections.tube(0.016, 0.0015)
    for name in ("area", "weak_axis", "strong_axis", "torsion"):
        assert getattr(ring, name) == pytest.approx(getattr(outer, name) - getattr(inner, name), rel=1e-12)


def test_second_moments_of_a_rectangle_by_summing_strips():
    bar, a, b, count = sections.rectangle(0.010, 0.003), 0.010, 0.003, 2000
    strips = [(i + 0.5) / count - 0.5 for i in range(count)]
    assert bar.weak_axis == pytest.approx(sum(a * (b / count) * (b * y) ** 2 for y in strips), rel=1e-6)
    assert bar.strong_axis == pytest.approx(sum(b * (a / count) * (a * y) ** 2 for y in strips), rel=1e-6)


@pytest.mark.parametrize(
    ("shape", "sizes", "word"),
    [
        ("round", (0.0,), "diameter"),
        ("tube", (0.010, 0.006), "more than half"),
        ("rectangle", (0.01, -0.001), "thickness"),
        ("square", (math.nan,), "width"),
        ("hexagon", (0.01,), "one of round, tube, square, rectangle"),
    ],
)
def test_impossible_sections_are_refused(shape, sizes, word):
    with pytest.raises(ValueError, match=word):
        sections.section(shape, *sizes)
