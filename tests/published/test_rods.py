"""Rods: stretch, wave speed, modes, buckling and sag against closed forms and published data."""

import numpy as np
import pytest

from keyaction.models.formulas import sections
from keyaction.models.materials.library import default_library

LIBRARY = default_library()
ALONG = LIBRARY.get("sitka-spruce").axial * LIBRARY.get("sitka-spruce")["E"].value
"""Sitka's modulus along the grain, as rods have it, Pa."""


def test_spruce_tracker_stretch():
    # Derived from Wood Handbook Table 5-3a (second-hand), 9.9 GPa in bending, 10 % more along the grain (ch. 5): 10 x 1
    # mm Sitka, EA 108.9 kN, 4.03 g/m; 3 m at 3 N.
    spruce, bar = LIBRARY.get("sitka-spruce"), sections.rectangle(0.010, 0.001)
    assert ALONG * bar.area == pytest.approx(108.9e3, rel=1e-3)
    assert spruce["density"].value * bar.area == pytest.approx(4.03e-3, rel=1e-3)
    stretch = 3.0 / sections.axial_stiffness(ALONG, bar.area, 3.0)
    assert stretch == pytest.approx(0.08264e-3, rel=1e-3)


def test_carbon_rod_stretch():
    # Derived from a public material sheet (read), 181 GPa: d 1.5 mm, 3 m at 3 N; printed to 3 digits.
    carbon, bar = LIBRARY.get("carbon-ud-70"), sections.round_bar(0.0015)
    stretch = 3.0 / sections.axial_stiffness(carbon["E"].value, bar.area, 3.0)
    assert stretch == pytest.approx(0.0281e-3, abs=0.00005e-3)


def lowest_mode(count, clamped):
    """Lowest elastic frequency (Hz) of 1 m of Sitka in `count` pieces, their mass at the joints."""
    spruce, bar = LIBRARY.get("sitka-spruce"), sections.rectangle(0.010, 0.001)
    k = sections.axial_stiffness(ALONG, bar.area, 1.0 / count)
    masses = np.full(count + 1, spruce["density"].value * bar.area / count)
    masses[[0, -1]] /= 2
    stiffness = 2 * np.eye(count + 1) - np.eye(count + 1, k=1) - np.eye(count + 1, k=-1)
    stiffness[0, 0] = stiffness[-1, -1] = 1
    scale = 1 / np.sqrt(masses)
    matrix = k * stiffness * np.outer(scale, scale)
    if clamped:
        return float(np.sqrt(np.linalg.eigvalsh(matrix[1:, 1:])[0]) / (2 * np.pi))
    return float(np.sqrt(np.linalg.eigvalsh(matrix)[1]) / (2 * np.pi))


@pytest.mark.parametrize(("clamped", "quarters"), [(True, 4), (False, 2)])
def test_lumped_rod_converges_to_the_closed_form(clamped, quarters):
    # Closed form: fixed-free c/4L, free-free c/2L; the error of n lumps falls as 1/n^2.
    spruce = LIBRARY.get("sitka-spruce")
    exact = sections.wave_speed(ALONG, spruce["density"].value) / quarters
    counts = np.array([5, 10, 20, 40])
    errors = np.array([abs(lowest_mode(int(n), clamped) - exact) for n in counts])
    slope = np.polyfit(np.log(counts), np.log(errors), 1)[0]
    assert slope == pytest.approx(-2.0, abs=0.02)
    assert lowest_mode(40, clamped) == pytest.approx(exact, rel=1e-3)


def test_fixed_free_rod_of_spruce():
    # Derived: 1 m of Sitka, fixed-free, 5197 m/s over four of its lengths, 1299 Hz.
    spruce = LIBRARY.get("sitka-spruce")
    assert lowest_mode(200, clamped=True) == pytest.approx(1299.25, abs=0.5)
    assert sections.wave_speed(ALONG, spruce["density"].value) / 4 == pytest.approx(1299.25, abs=0.5)


def test_a_tracker_cannot_push():
    # Closed form (Euler), derived: 10 x 1 mm Sitka, 1 m, pivoted ends, 0.0896 N.
    bar = sections.rectangle(0.001, 0.010)
    load = sections.euler_load(ALONG, bar.weak_axis, 1.0)
    assert load == pytest.approx(0.08957, rel=1e-3)


def test_span_of_a_limp_tracker():
    # Closed form of the string: sag and frequency obey f^2 = g/(32 s); 10 x 1 mm spruce, 1 N, 1 m: 7.87 Hz.
    line = LIBRARY.get("sitka-spruce")["density"].value * 1e-5
    frequency = sections.span_frequency(1.0, line, 1.0)
    assert frequency == pytest.approx(7.874, rel=1e-3)
    assert frequency**2 == pytest.approx(9.80665 / (32 * sections.sag(1.0, line, 1.0)), rel=1e-12)


def test_span_frequency_meets_the_pivoted_beam_and_its_buckling():
    # Closed form: without tension a pivoted beam has (pi/2L^2) sqrt(EI/rhoA); at Euler's push it has none.
    line, bending, span = 0.004, 0.008, 0.7
    beam = np.pi / (2 * span**2) * np.sqrt(bending / line)
    assert sections.span_frequency(0.0, line, span, bending) == pytest.approx(beam, rel=1e-12)
    near = sections.span_frequency(-sections.euler_load(1.0, bending, span) * (1 - 1e-8), line, span, bending)
    assert near == pytest.approx(beam * 1e-4, rel=1e-6)


def test_lost_motion_of_a_straightened_sag():
    # Oracle: length of a parabola of sag s over a span L, chord by chord, less that of the flatter one.
    span, before, after = 0.8, 0.006, 0.002

    def length(s):
        x = np.linspace(0, span, 20001)
        y = 4 * s * x * (span - x) / span**2
        return float(np.sum(np.hypot(np.diff(x), np.diff(y))))

    expected = length(before) - length(after)
    assert sections.sag_lost_motion(before, after, span) == pytest.approx(expected, rel=1e-3)
