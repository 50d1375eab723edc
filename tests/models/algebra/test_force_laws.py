"""Force laws: what each stores is the integral of its force, none gives energy, and units are checked."""

import dataclasses
import inspect
from math import sqrt

import numpy as np
import pytest
import sympy as sp
from tiny import bench

from keyaction.models.algebra import laws
from keyaction.models.algebra.builder import Port
from keyaction.models.algebra.problem import DimensionProblem
from keyaction.models.algebra.symbols import pos, pos32, posroot, step

LAWS = [law for _, law in inspect.getmembers(laws, dataclasses.is_dataclass) if hasattr(law, "energy")]
ONE_SIDED = [laws.Pull, laws.Felt]
X, RATE = sp.symbols("x rate", real=True)


def filled(law):
    """The law with a positive symbol in every field."""
    return law(*sp.symbols([field.name for field in dataclasses.fields(law)], positive=True))


def where(expr, stretched):
    """The expression on one side of x = 0, its guarded functions written out."""
    if not stretched:
        expr = expr.subs({pos(X): 0, pos32(X): 0, posroot(X): 0, step(X): 0})
        return expr.replace(pos, lambda _: sp.S.Zero)
    for guarded, plain in ((pos, lambda a: a), (pos32, lambda a: a ** sp.Rational(3, 2)), (posroot, sp.sqrt)):
        expr = expr.replace(guarded, plain)
    return expr.replace(step, lambda _: sp.S.One)


def test_every_law_is_listed():
    assert {law.__name__ for law in LAWS} >= {"Pull", "Felt", "Bar", "Preloaded"}


@pytest.mark.parametrize("law", LAWS)
@pytest.mark.parametrize("stretched", [True, False])
def test_stored_energy_is_the_integral_of_the_force(law, stretched):
    made = filled(law)
    slope, force = sp.diff(made.energy(X), X), made.force(X, sp.S.Zero)
    if law in ONE_SIDED and not stretched:
        assert where(slope, stretched) == 0
        assert where(force, stretched) == 0
    else:
        difference = where(slope - force, True) if stretched else slope - force
        assert sp.simplify(difference) == 0
    assert made.energy(sp.S.Zero) == 0


def numeric(law, *values):
    guards = [{"pos": lambda a: max(a, 0.0), "pos32": lambda a: max(a, 0.0) ** 1.5}, "math"]
    return sp.lambdify((X, RATE), law(*values).force(X, RATE), modules=guards)


@pytest.mark.parametrize("law", LAWS)
def test_no_law_gives_energy(law):
    # What the rate adds to the force opposes the motion; a law without loss adds nothing.
    force = numeric(law, *([2.0e3, 3.0][: len(dataclasses.fields(law))]))
    for x in np.linspace(-2e-3, 5e-3, 15):
        for rate in np.linspace(-2.0, 2.0, 17):
            assert (force(x, rate) - force(x, 0.0)) * rate >= 0.0


@pytest.mark.parametrize("law", ONE_SIDED)
def test_one_sided_laws_never_pull_back(law):
    force = numeric(law, 2.0e3, 3.0)
    for rate in (-50.0, -0.5, 0.0, 0.5, 50.0):
        assert force(-1e-3, rate) == 0.0
        assert force(0.0, rate) == 0.0
        assert force(1e-3, rate) >= 0.0
        # No jump where the rod goes slack or the felt lets go.
        assert force(1e-12, rate) < 1e-6


def test_the_rods_law():
    # T = k e (1 + alpha de/dt): 2 N/mm stretched by 1 mm at 10 mm/s with alpha 3 s/m.
    assert numeric(laws.Pull, 2.0e3, 3.0)(1e-3, 0.01) == pytest.approx(2.06, rel=1e-12)


def test_the_felts_law():
    # F = K x^1.5 (1 + 1.5 alpha x'): 1e5 N/m^1.5 squeezed by 1 mm at 10 mm/s with alpha 2 s/m.
    expected = 1e5 * 0.001**1.5 * (1 + 1.5 * 2 * 0.01)
    assert numeric(laws.Felt, 1e5, 2.0)(1e-3, 0.01) == pytest.approx(expected, rel=1e-12)


def flow(area, drop, density=1.2, smooth=1.0):
    return float(laws.orifice_flow(area, sp.Float(drop), density, smooth))


def test_flow_through_an_orifice():
    # Textbook: C_d 0.61, 1 cm2, 75 mm of water, 1.2 kg/m3: 2.1357e-3 m3/s.
    assert flow(0.61e-4, 75 * 9.80665) == pytest.approx(2.1357e-3, rel=1e-4)


def test_flow_is_odd_and_grows_with_the_drop():
    drops = np.array([0.0, 0.01, 0.1, 1.0, 10.0, 100.0, 1000.0])
    forward = np.array([flow(1e-4, drop) for drop in drops])
    assert np.all(np.diff(forward) > 0.0)
    assert forward == pytest.approx(-np.array([flow(1e-4, -drop) for drop in drops]))
    # A finite slope at zero, for the solver; the law proper to 0.1 % from ten times the rounding on.
    assert flow(1e-4, 1e-3) / 1e-3 == pytest.approx(flow(1e-4, 1e-4) / 1e-4, rel=1e-5)
    for drop in (30.0, 300.0):
        assert flow(1e-4, drop) == pytest.approx(1e-4 * sqrt(2 * drop / 1.2), rel=1e-3)


def test_openings_in_series():
    # Equal openings one behind the other pass as much as one of 1/sqrt 2; a far smaller one governs.
    assert float(laws.in_series(sp.S.One, sp.S.One)) == pytest.approx(1 / sqrt(2))
    assert float(laws.in_series(sp.Float(1e-3), sp.S.One)) == pytest.approx(1e-3, rel=1e-6)


def spring_with(force, energy=None):
    """A mass held by a law that is wrong in its units."""

    class Wrong:
        def __init__(self, k):
            self.k = k

        def force(self, x, rate):
            return force(self.k, x, rate)

        def energy(self, x):
            return energy(self.k, x) if energy else self.k * x**2 / 2

    def assemble(builder):
        body = builder.coordinate("m", "way", "body")
        builder.inertia(body, builder.param("m", "kg", "mass"))
        law = Wrong(builder.param("k", "N/m", "stiffness"))
        builder.element("", "bar", [(Port("end", body, body.q), 1)], law, "wrong spring")

    return assemble


@pytest.mark.parametrize(
    ("force", "energy", "words"),
    [
        (lambda k, x, rate: k * x + x, None, ("force (kg·m/s²)", "length (m)", "wrong spring")),  # noqa: ARG005
        (lambda k, x, rate: k * x + k * rate, None, ("force (kg·m/s²)", "kg·m/s³", "wrong spring")),
        (lambda k, x, rate: k * x**2, None, ("force (kg·m/s²)", "wrong spring")),  # noqa: ARG005
        (lambda k, x, rate: k * x, lambda k, x: k * x / 2, ("energy", "force (kg·m/s²)")),  # noqa: ARG005
        (lambda k, x, rate: k * sp.sin(x), None, ("angle", "length (m)")),  # noqa: ARG005
    ],
    ids=["adds a length", "adds a rate", "squared", "energy", "sine of a length"],
)
def test_a_law_of_wrong_units_is_refused(force, energy, words):
    with pytest.raises(DimensionProblem) as caught:
        bench(spring_with(force, energy))
    for word in words:
        assert word in str(caught.value)
