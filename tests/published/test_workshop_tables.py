"""The shop's tables: loss of rollers, span frequencies, sag of trackers. Derived figures: the closed form is cited."""

import numpy as np
import pytest

from keyaction.models.formulas import sections, spans
from keyaction.models.materials.library import default_library

LIBRARY = default_library()
SPRUCE_STRIP, CARBON = sections.rectangle(0.010, 0.001), sections.round_bar(0.0015)

# Derived: 2 N on a 50 mm arm turn a roller of 1 m by F r L / (G J), which at the arm's end is F r^2 L / (G J), in mm
# (S. P. Timoshenko and J. N. Goodier, Theory of Elasticity, 3rd ed., 1970, ch. 10); printed to 0.01 mm.
ROLLERS = [
    ("steel", sections.round_bar(0.008), 1.0, 0.16),
    ("phosphor-bronze", sections.round_bar(0.008), 1.0, 0.29),
    ("spring-brass", sections.round_bar(0.008), 1.0, 0.33),
    ("spring-brass", sections.round_bar(0.006), 1.0, 1.04),
    ("steel", sections.round_bar(0.006), 1.0, 0.50),
    ("aluminium", sections.tube(0.012, 0.001), 1.0, 0.18),
    ("sitka-spruce", sections.square(0.025), 1.0, 0.13),
    ("sitka-spruce", sections.square(0.020), 1.5, 0.48),
]


@pytest.mark.parametrize(("name", "bar", "length", "printed"), ROLLERS)
def test_loss_at_the_arm_of_a_roller(name, bar, length, printed):
    stiffness = sections.torsional_stiffness(LIBRARY.get(name)["G"].value, bar.torsion, length)
    loss = 1e3 * 2.0 * 0.050**2 / stiffness
    assert loss == pytest.approx(printed, abs=0.0051)


def test_loss_of_a_roller_in_the_program(make_train):
    # The same closed form out of a train: the twist stiffness of its roller, 25 mm square of spruce and 1 m long.
    roller = make_train(**{"roller.length": "1 m"}).part("roller").values.derived
    assert 1e3 * 2.0 * 0.050**2 / roller["K"].value == pytest.approx(0.131, abs=0.0005)


def test_loss_grows_with_length_arm_squared_and_the_fourth_power_of_the_diameter():
    steel = LIBRARY.get("steel")["G"].value

    def loss(diameter, length, arm):
        return arm**2 / sections.torsional_stiffness(steel, sections.round_bar(diameter).torsion, length)

    assert loss(0.008, 2.0, 0.05) == pytest.approx(2 * loss(0.008, 1.0, 0.05))
    assert loss(0.008, 1.0, 0.10) == pytest.approx(4 * loss(0.008, 1.0, 0.05))
    assert loss(0.004, 1.0, 0.05) == pytest.approx(16 * loss(0.008, 1.0, 0.05))


def of(name, bar):
    """Mass per length, and bending stiffness about the weak axis."""
    material = LIBRARY.get(name)
    modulus = (material["E_flexural"] if "E_flexural" in material else material["E"]).value
    return material["density"].value * bar.area, modulus * bar.weak_axis


# Derived: (1/2L) sqrt((T + pi^2 E I/L^2) / rho A) at 1 N between pivoted guides, in Hz, as printed to whole ones.
SPANS = [
    ("sitka-spruce", SPRUCE_STRIP, 1.0, 8),
    ("sitka-spruce", SPRUCE_STRIP, 2.0, 4),
    ("sitka-spruce", SPRUCE_STRIP, 0.5, 18),
    ("carbon-rod", CARBON, 1.0, 11),
    ("carbon-rod", CARBON, 2.0, 5),
    ("carbon-rod", CARBON, 0.5, 29),
]


@pytest.mark.parametrize(("name", "bar", "span", "printed"), SPANS)
def test_span_frequencies(name, bar, span, printed):
    line, bending = of(name, bar)
    assert sections.span_frequency(1.0, line, span, bending) == pytest.approx(printed, abs=0.5)


def test_sag_and_the_way_that_it_costs():
    # Derived: rho A g L^2 / 8 T, and 8/3 (s1^2 - s2^2)/L as the pull rises from 1 N to 3 N; spruce 10 x 1 mm.
    line = of("sitka-spruce", SPRUCE_STRIP)[0]
    slack, taut = (sections.sag(pull, line, 2.0) for pull in (1.0, 3.0))
    assert (1e3 * slack, 1e3 * taut) == (pytest.approx(20, abs=0.5), pytest.approx(6.6, abs=0.05))
    assert 1e3 * sections.sag_lost_motion(slack, taut, 2.0) == pytest.approx(0.46, abs=0.005)
    longer = [sections.sag(pull, line, 3.0) for pull in (1.0, 3.0)]
    assert 1e3 * sections.sag_lost_motion(*longer, 3.0) == pytest.approx(1.6, abs=0.05)


# -- the closed forms that go beyond ------------------------------------------------------------------------
def test_a_hanging_rod_is_a_string_under_pull_and_a_beam_without():
    line, bending = of("carbon-rod", CARBON)
    weight = line * 9.80665
    assert spans.hanging_sag(1e4, line, 1.0, bending) == pytest.approx(sections.sag(1e4, line, 1.0), rel=1e-3)
    beam = 5 * weight / (384 * bending)
    assert spans.hanging_sag(0.0, line, 1.0, bending) == pytest.approx(beam, rel=1e-12)
    assert spans.hanging_sag(1e-9, line, 1.0, bending) == pytest.approx(beam, rel=1e-6)


def test_a_hanging_rod_solves_its_equation():
    # Oracle: E I w'''' - T w'' = rho A g between pivots, by finite differences.
    line, bending, pull, span, n = 0.004, 0.008, 0.6, 1.3, 400
    h = span / n
    second = (np.diag(np.full(n - 1, -2.0)) + np.diag(np.ones(n - 2), 1) + np.diag(np.ones(n - 2), -1)) / h**2
    shape = np.linalg.solve(bending * second @ second - pull * second, np.full(n - 1, line * 9.80665))
    assert spans.hanging_sag(pull, line, span, bending) == pytest.approx(shape[n // 2 - 1], rel=1e-4)


def test_the_series_and_the_closed_form_meet():
    line, bending, span = 0.004, 0.008, 1.0
    pull = (2 * 0.02 / span) ** 2 * bending
    below, above = (spans.hanging_sag(pull * (1 + off), line, span, bending) for off in (-1e-6, 1e-6))
    assert below == pytest.approx(above, rel=2e-7)


@pytest.mark.parametrize("pull", [0.0, 0.5, 3.0])
@pytest.mark.parametrize("bending", [0.0, 0.008])
def test_the_clear_spacing_has_the_frequency_asked_for(pull, bending):
    if pull == bending == 0:
        assert spans.clear_spacing(pull, 0.004, bending, 10.5) == 0.0
        return
    spacing = spans.clear_spacing(pull, 0.004, bending, 10.5)
    assert sections.span_frequency(pull, 0.004, spacing, bending) == pytest.approx(10.5, rel=1e-12)


@pytest.mark.parametrize(("length", "guides"), [(0.5, 0), (1.0, 0), (1.001, 1), (2.0, 1), (2.5, 2)])
def test_guides_keep_every_span_within_the_spacing(length, guides):
    assert spans.guides_needed(length, 1.0) == guides
    assert length / (guides + 1) <= 1.0 + 1e-9


def test_the_repetition_band_is_the_players():
    # One finger 5 to 7 Hz (Neuroscience Letters, 2009), two by turns 50 % faster (Ergonomics, 2001); abstracts (read).
    low, high = spans.REPETITION_BAND
    assert (low, high) == (5.0, pytest.approx(7 * 1.5))
