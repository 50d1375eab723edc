"""The shop's tables: loss of rollers, span frequencies, sag of trackers. Derived figures: the closed form is cited."""

import numpy as np
import pytest

from keyaction.models.formulas import sections, spans
from keyaction.models.instrument.shaft import lost_by_twist
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
    shear = LIBRARY.get(name)["G"].value
    loss = 1e3 * lost_by_twist(2.0, 0.050, shear, bar.torsion, length)
    assert loss == pytest.approx(1e3 * 2.0 * 0.050**2 / sections.torsional_stiffness(shear, bar.torsion, length))
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
    """Mass per length, and bending stiffness about the weak axis: of a wood by its modulus along the grain."""
    material = LIBRARY.get(name)
    modulus = (material["E_flexural"] if "E_flexural" in material else material["E"]).value
    return material["density"].value * bar.area, material.axial * modulus * bar.weak_axis


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


@pytest.mark.parametrize("pull", [0.6, 3.0, 0.0, -0.02])
def test_a_hanging_rod_solves_its_equation(pull):
    # Oracle: E I w'''' - T w'' = rho A g between pivots, by finite differences; the push is 0.43 of Euler's.
    line, bending, span, n = 0.004, 0.008, 1.3, 400
    h = span / n
    second = (np.diag(np.full(n - 1, -2.0)) + np.diag(np.ones(n - 2), 1) + np.diag(np.ones(n - 2), -1)) / h**2
    shape = np.linalg.solve(bending * second @ second - pull * second, np.full(n - 1, line * 9.80665))
    assert spans.hanging_sag(pull, line, span, bending) == pytest.approx(shape[n // 2 - 1], rel=1e-4)


@pytest.mark.parametrize("sense", [1, -1])
def test_the_series_and_the_closed_form_meet(sense):
    line, bending, span = 0.004, 0.008, 1.0
    pull = sense * (2 * 0.02 / span) ** 2 * bending
    below, above = (spans.hanging_sag(pull * (1 + off), line, span, bending) for off in (-1e-6, 1e-6))
    assert below == pytest.approx(above, rel=2e-8)


@pytest.mark.parametrize("pull", [0.6, 3.0, 0.0, -0.02])
def test_a_sagging_rod_shortens_by_the_slopes_of_its_elastic_line(pull):
    # Oracle: the shape by finite differences as above, its length chord by chord over the span.
    line, bending, span, n = 0.004, 0.008, 1.3, 800
    h = span / n
    second = (np.diag(np.full(n - 1, -2.0)) + np.diag(np.ones(n - 2), 1) + np.diag(np.ones(n - 2), -1)) / h**2
    shape = np.linalg.solve(bending * second @ second - pull * second, np.full(n - 1, line * 9.80665))
    steps = np.diff(np.concatenate([[0.0], shape, [0.0]]))
    assert spans.shortening(pull, line, span, bending) == pytest.approx(np.sum(steps**2) / (2 * h), rel=1e-4)


def test_without_a_pull_it_shortens_as_a_beam_and_limp_as_a_parabola():
    # w' = q (L^3 - 6 L x^2 + 4 x^3)/24EI; half the sum of its square is 17 q^2 L^7/40320 (EI)^2. The parabola that a
    # limp rod hangs in shortens by 8/3 s^2/L: 7 % more than a beam of the same sag.
    line, bending, span = 0.004, 0.008, 0.7
    q = line * 9.80665
    beam = 17 * q**2 * span**7 / (40320 * bending**2)
    assert spans.shortening(0.0, line, span, bending) == pytest.approx(beam, rel=1e-12)
    sag = spans.hanging_sag(0.0, line, span, bending)
    assert sections.sag_lost_motion(sag, 0.0, span) / beam == pytest.approx(1.0723, abs=1e-4)
    limp = sections.sag_lost_motion(sections.sag(2.0, line, span), 0.0, span)
    assert spans.shortening(2.0, line, span, 1e-7) == pytest.approx(limp, rel=1e-2)
    assert spans.shortening(2.0, line, span, 1e-11) == pytest.approx(limp, rel=1e-4)


@pytest.mark.parametrize("sense", [1, -1])
def test_series_and_closed_form_of_the_shortening_meet(sense):
    line, bending, span = 0.004, 0.008, 1.0
    pull = sense * 0.05 * 4 * bending / span**2
    below, above = (spans.shortening(pull * (1 + off), line, span, bending) for off in (-1e-7, 1e-7))
    assert below == pytest.approx(above, rel=2e-8)


def test_the_shortening_grows_towards_eulers_push_and_then_there_is_none():
    line, bending = of("sitka-spruce", SPRUCE_STRIP)
    euler = sections.euler_load(1.0, bending, 1.0)
    grown = [spans.shortening(share * euler, line, 1.0, bending) for share in (5, 1, 0, -0.5, -0.9, -0.99)]
    assert np.all(np.diff(grown) > 0)
    assert np.isnan(spans.shortening(-euler, line, 1.0, bending))


def test_a_pushed_rod_hangs_deeper_by_the_published_factor():
    # Timoshenko and Gere, 1961, art. 1.4 (from memory), derived: at half of Euler's push an even load on pivots sags
    # 2.00362 times as far as without.
    line, bending, span = of("sitka-spruce", SPRUCE_STRIP)[0], of("sitka-spruce", SPRUCE_STRIP)[1], 1.0
    euler = sections.euler_load(1.0, bending, span)
    grown = spans.hanging_sag(-euler / 2, line, span, bending) / spans.hanging_sag(0.0, line, span, bending)
    assert grown == pytest.approx(2.00362, abs=1e-5)
    assert np.isnan(spans.hanging_sag(-euler, line, span, bending))


@pytest.mark.parametrize(("pull", "printed"), [(1.0, 4.94), (3.0, 1.65)])
def test_the_sag_of_a_string_is_printed(pull, printed):
    # Derived: rho A g L^2 / 8 T over 1 m of spruce 10 x 1 mm, in mm. Its own stiffness holds up some of it.
    line, bending = of("sitka-spruce", SPRUCE_STRIP)
    assert 1e3 * sections.sag(pull, line, 1.0) == pytest.approx(printed, rel=0.01)
    assert spans.hanging_sag(pull, line, 1.0, bending) < sections.sag(pull, line, 1.0)


def test_more_pull_and_less_span_always_sag_less():
    line, bending = of("carbon-rod", CARBON)
    sags = np.array([[spans.hanging_sag(t, line, s, bending) for t in (-0.02, 0, 1e-4, 0.01, 0.3, 5, 400)]
                     for s in (0.1, 0.3, 0.9, 1.8, 2.4)])  # fmt: skip
    assert np.all(np.diff(sags, axis=1) < 0) and np.all(np.diff(sags, axis=0) > 0)


# Derived: f0 sqrt(1 + T/Pcr) of a pivoted beam of 1 m, in Hz: spruce 10 x 1 mm, f0 2.2469 and Pcr 0.081424 N; carbon
# rod of 1.5 mm of 134 GPa and 1500 kg/m3. And with both ends held in direction as well, by the exact root.
SPRUCE_BEAM = (9.9e9 * 0.010 * 0.001**3 / 12, 1120 * 0.36 * 1e-5)
CARBON_BEAM = (134e9 * np.pi * 0.0015**4 / 64, 1500 * np.pi * 0.0015**2 / 4)
PULLED = [
    (SPRUCE_BEAM, 0.0, 2.2469),
    (SPRUCE_BEAM, 1.0, 8.1886),
    (SPRUCE_BEAM, 3.0, 13.8225),
    (CARBON_BEAM, 0.0, 5.5675),
    (CARBON_BEAM, 1.0, 11.194),
    (CARBON_BEAM, 3.0, 17.718),
    (CARBON_BEAM, -(np.pi**2) * CARBON_BEAM[0] / 2, 3.9368),
]


@pytest.mark.parametrize(("beam", "pull", "printed"), PULLED)
def test_a_pivoted_beam_under_tension(beam, pull, printed):
    bending, line = beam
    assert sections.span_frequency(pull, line, 1.0, bending) == pytest.approx(printed, rel=1e-4)


def clamped(pull, line, span, bending, n=800):
    """Lowest frequency (Hz) of a beam under tension with both ends held in direction, by finite differences."""
    h = span / n
    second = (np.diag(np.full(n - 1, -2.0)) + np.diag(np.ones(n - 2), 1) + np.diag(np.ones(n - 2), -1)) / h**2
    fourth = second @ second
    fourth[0, 0] += 2 / h**4  # a mirrored point beyond each end, in place of one turned over
    fourth[-1, -1] += 2 / h**4
    return float(np.sqrt(np.linalg.eigvalsh(bending * fourth - pull * second)[0] / line) / (2 * np.pi))


@pytest.mark.parametrize(("pull", "printed"), [(0.0, 5.0935), (1.0, 9.9818), (3.0, 15.4423)])
def test_guides_that_hold_the_direction_would_only_raise_it(pull, printed):
    # Derived (exact root): why pivots are the safe side of an advice for guides.
    bending, line = SPRUCE_BEAM
    assert clamped(pull, line, 1.0, bending) == pytest.approx(printed, rel=1e-3)
    assert sections.span_frequency(pull, line, 1.0, bending) < printed


def test_at_eulers_push_nothing_holds_it_and_beyond_there_is_no_frequency():
    bending, line = SPRUCE_BEAM
    euler = sections.euler_load(1.0, bending, 1.0)
    assert euler == pytest.approx(0.081424, rel=1e-4)
    assert sections.span_frequency(-euler, line, 1.0, bending) == pytest.approx(0.0, abs=1e-6)
    assert np.isnan(sections.span_frequency(-1.001 * euler, line, 1.0, bending))


@pytest.mark.parametrize("pull", [-50.0, -0.3, 0.0, 0.5, 3.0])
def test_the_pull_wanted_and_the_clear_spacing_undo_each_other(pull):
    spacing = spans.clear_spacing(pull, 0.004, 0.008, 10.5)
    assert spans.clear_pull(spacing, 0.004, 0.008, 10.5) == pytest.approx(pull, abs=1e-9)
    assert sections.span_frequency(pull, 0.004, spacing, 0.008) == pytest.approx(10.5, rel=1e-6)
    assert spacing < np.sqrt(np.pi**2 * 0.008 / -pull) if pull < 0 else True


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
