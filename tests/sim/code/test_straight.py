"""Straight-line code handed to the compiler: every operation gives what Python gives, in both precisions."""

import math
import re

import numpy as np
import pytest
from numba import njit
from numba.core.errors import LoweringError, TypingError

from keyaction.sim.code.cache import module_of
from keyaction.sim.code.straight import straight

TEXT = '''
from math import copysign, cos, sin, sqrt

from numpy import float64 as F
from numpy import floor

W = 4


def pick(condition, yes, no):
    return yes if condition else no


def pos(x):
    return pick(x > F(0.0), x, F(0.0))


def root(x):
    return sqrt(x) if x > F(0.0) else F(0.0)


HELPERS = ("pick", "pos", "root")
TINY = F(1e-30)


def step(t, i, a, b, out):
    """Said, not computed."""
    x = a[i*2 + 1]
    y = -b[i, 1]
    z = {expression}
    out[W - 3] = z


def call(t, i, a, b, out):
    step(t, i, a, b, out)
'''
EXPRESSIONS = [
    "x + y*t - x/y",
    "2*x - ((1.0/2.0))*y",
    "(x*x) + (x + y)**2",
    "(x*x + y*y)**((5.0/4.0))",
    "sin(x) - cos(y)*sqrt(x*x + TINY)",
    "abs(y) + floor(x) + copysign(F(1.0), y)",
    "pos(x)*pos(-x) + pos(y) + root(x)*root(-x)",
    "pick((x > y) & (not (x == y)), x, y)",
    "pick(x >= y, pick(x < t, F(1.0), F(2.0)), F(3.0)) + pick(x <= y, x, y)",
    "-3 + x*-W",
]
A, B = np.array([0.3, -1.7, 2.6, 0.9]), np.array([[0.0, 0.7], [0.0, -2.3]])


def module(tmp_path, expression, real="float64"):
    path = tmp_path / "written.py"
    text = TEXT.replace("{expression}", expression).replace("float64", real)
    path.write_text(text, encoding="utf-8")
    return module_of(path, text, f"straight_{abs(hash((expression, real)))}")


def answers(made, real="float64"):
    """What plain Python and compiled code give, at both places of the arrays."""
    found = []
    for call in (made.call, compiled(made)):
        outs = [np.zeros(2, dtype=real) for _ in range(2)]
        for i, out in enumerate(outs):
            call(np.dtype(real).type(0.25), i, A.astype(real), B.astype(real), out)
        found.append([out[1] for out in outs])
    return found


def compiled(made):
    plain = made.step
    made.step = straight(made, "step")
    try:
        call = njit(error_model="numpy")(made.call)
        call(made.F(0.0), 0, A.astype(made.F), B.astype(made.F), np.zeros(2, dtype=made.F))
    finally:
        made.step = plain
    return call


@pytest.mark.parametrize("expression", EXPRESSIONS)
def test_every_operation_gives_what_python_gives(expression, tmp_path):
    plain, fast = answers(module(tmp_path, expression))
    assert fast == pytest.approx(plain, rel=4e-16, abs=0.0)
    assert all(math.isfinite(value) for value in plain)


@pytest.mark.parametrize("expression", [one for one in EXPRESSIONS if "2*x" not in one])
def test_single_precision_stays_single(expression, tmp_path):
    plain, fast = answers(module(tmp_path, expression, "float32"), "float32")
    assert fast == pytest.approx(plain, rel=3e-7, abs=0.0)


@pytest.mark.parametrize("unknown", ["tan(x)", "x % y", "[x]", "x < y < z"])
def test_what_it_does_not_know_is_refused(unknown, tmp_path):
    with pytest.raises((NotImplementedError, LoweringError), match=re.escape(unknown)):
        compiled(module(tmp_path, unknown))


def test_whole_numbers_count_as_real_ones_and_axes_must_be_right(tmp_path):
    made = module(tmp_path, "t*x - i")
    call, out = compiled(made), np.zeros(2)
    made.step = straight(made, "step")  # for types that are new
    call(2, 1, A, B, out)
    assert out[1] == 2 * A[3] - 1
    with pytest.raises(TypeError, match="axes"):
        call(0.5, 1, B, B, out)
    with pytest.raises(TypingError):
        call(0.5, 1, A.astype(np.float32), B, out)
