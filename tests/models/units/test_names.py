"""The factors of the named units, against published definitions and against a library of units."""

import math
import subprocess
import sys
from decimal import Decimal
from fractions import Fraction

import pytest

from keyaction.models.units.names import SPELLINGS, UNITS
from keyaction.models.units.parsing import known_units, parse_unit
from keyaction.models.units.quantity import dimension

# SI Brochure, 9th edition, BIPM, 2019, from memory. Table 7: prefixes.
PREFIXES = {"u": "1e-6", "m": "1e-3", "c": "1e-2", "h": "1e2", "k": "1e3", "M": "1e6", "G": "1e9"}
PREFIXED = (
    *("um", "mm", "cm", "km", "mg", "us", "ms", "kHz", "mrad", "mN", "kN"),
    *("hPa", "kPa", "MPa", "GPa", "mbar", "mJ", "mW", "mL"),
)
# Tables 2 and 4: the gram apart, units without a factor; Table 8: those accepted beside them; 5.4.7: the percent.
COHERENT = ("m", "kg", "s", "K", "rad", "Hz", "N", "Pa", "J", "W")
ACCEPTED = {"min": 60, "h": 3600, "day": 86400, "deg": math.pi / 180, "L": 1e-3, "percent": 0.01}

# NIST Special Publication 811, 2008, Appendix B.8, as it prints them (second-hand).
NIST_811 = {
    "in": "2.54 E-02", "ft": "3.048 E-01", "oz": "2.834 952 E-02", "lb": "4.535 924 E-01",
    "kgf": "9.806 65 E+00", "ozf": "2.780 139 E-01", "lbf": "4.448 222 E+00", "bar": "1.0 E+05",
    "mmH2O": "9.806 65 E+00", "cmH2O": "9.806 65 E+01", "inH2O": "2.490 889 E+02", "psi": "6.894 757 E+03",
    "day": "8.64 E+04", "h": "3.6 E+03", "min": "6.0 E+01", "L": "1.0 E-03",
}  # fmt: skip
# The same, footnotes 22 and 23: exact.
POUND, POUND_FORCE = Fraction("0.45359237"), Fraction("4.4482216152605")
GRAVITY = Fraction("9.80665")  # 3rd General Conference on Weights and Measures, 1901


@pytest.mark.parametrize("name", PREFIXED)
def test_prefixes(name):
    assert UNITS[name].factor == pytest.approx(float(PREFIXES[name[0]]) * UNITS[name[1:]].factor, rel=1e-15)
    assert dimension(name) == dimension(name[1:])


@pytest.mark.parametrize("name", COHERENT)
def test_si_units_have_no_factor(name):
    assert UNITS[name].factor == 1.0


@pytest.mark.parametrize(("name", "factor"), ACCEPTED.items())
def test_units_accepted_beside_the_si(name, factor):
    assert UNITS[name].factor == factor


@pytest.mark.parametrize(("name", "printed"), NIST_811.items())
def test_factors_of_the_nist_guide(name, printed):
    digits = printed.replace(" ", "")
    assert float(f"{UNITS[name].factor:.6e}") == float(digits)


@pytest.mark.parametrize(
    ("name", "exact"),
    [
        ("g", Fraction(1, 1000)),
        ("in", Fraction("0.0254")),
        ("ft", 12 * Fraction("0.0254")),
        ("lb", POUND),
        ("oz", POUND / 16),
        ("lbf", POUND_FORCE),
        ("lbf", POUND * GRAVITY),
        ("ozf", POUND_FORCE / 16),
        ("kgf", GRAVITY),
        ("gf", GRAVITY / 1000),
        ("mmH2O", 1000 * GRAVITY / 1000),
        ("cmH2O", 1000 * GRAVITY / 100),
        ("inH2O", 1000 * GRAVITY * Fraction("0.0254")),
    ],
)
def test_exact_definitions(name, exact):
    assert UNITS[name].factor == float(exact)


def test_the_psi_is_exact_to_sixteen_digits():
    exact = POUND_FORCE / Fraction("0.0254") ** 2
    assert UNITS["psi"].factor == float(f"{Decimal(exact.numerator) / Decimal(exact.denominator):.15e}")


def test_the_zero_of_the_celsius_scale():
    assert (UNITS["degC"].factor, UNITS["degC"].offset) == (1.0, 273.15)
    assert all(unit.offset == 0.0 for name, unit in UNITS.items() if name != "degC")


def test_every_named_unit_is_held_against_something_published():
    held = {*PREFIXED, *COHERENT, *ACCEPTED, *NIST_811, "g", "gf", "degC"}
    assert set(UNITS) == held
    assert all(unit.source for unit in UNITS.values())


@pytest.fixture(scope="module")
def library():
    return pytest.importorskip("pint").UnitRegistry()


OTHERWISE = {"mmH2O": (0.1, "cmH2O"), "degC": (1.0, "delta_degC")}
"""What the library has no name for."""


@pytest.mark.parametrize("name", UNITS)
def test_factors_of_a_library_of_units(name, library):
    theirs = library.Quantity(*OTHERWISE.get(name, (1.0, name))).to_base_units()
    assert UNITS[name].factor == pytest.approx(theirs.magnitude, rel=1e-15)
    powers = {str(key): Fraction(str(power)) for key, power in theirs.dimensionality.items()}
    bases = ("[mass]", "[length]", "[time]", "[temperature]")
    found = dimension(name)
    assert (found.kg, found.m, found.s, found.K) == tuple(powers.get(key, 0) for key in bases)


def test_every_listed_unit_can_be_read():
    assert set(known_units()) == {*UNITS, *SPELLINGS} - {"percent"}
    for name in known_units():
        assert parse_unit(name) == parse_unit(SPELLINGS.get(name, name))


def test_importing_is_light():
    code = "import sys, keyaction.models.units.quantity; sys.exit('numpy' in sys.modules or 'pint' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
