"""Plain loops as C: what they compute there is what Python does."""

import ctypes
import shutil
import subprocess
import sys
from importlib.util import module_from_spec, spec_from_file_location

import numpy as np
import pytest

from keyaction.sim.code.loops_text import HEAD, Loops

compiler = pytest.mark.skipif(shutil.which("cc") is None, reason="this machine has no C compiler: no cc is found")
SOURCE = '''
"""Some loops."""
from math import exp, floor, inf, nan, sqrt

HALF, FIRST, SECOND = 0.5, 0, 1
NONE = nan


def inner(row: Floats, by: float) -> float:
    """Of a row."""
    total = 0.0
    for i in range(len(row)):
        total += by * row[i]
    return total


def all_kinds(a: Floats, t: Table, whole: Places, out: Floats) -> None:
    """Whatever the loops may say."""
    n, last = len(a), t.shape[0] - 1
    second = t[SECOND]
    out[0] = inner(second, 2.0) + inner(t[last], HALF)
    out[1] = float(whole[0] // whole[1]) + 10 * (whole[0] % whole[1])
    out[2] = min(a[0], NONE)
    out[3] = max(NONE, a[0])
    out[4] = whole[0] / whole[1]
    i = 5
    for i in range(n - 1, -1, -1):
        if i in (FIRST, SECOND) and not a[i] > inf:
            break
    out[5] = float(i)
    count = 0
    while True:
        count += 1
        if count < 3:
            continue
        break
    out[6] = float(count) if count == 3 or n == 0 else -1.0
    out[7] = sqrt(abs(a[1])) + exp(-a[0]) + floor(a[1]) + int(a[1])
    t[0, 1] -= a[0]
    t[0, 0] /= a[0]
    out[8] = t[0, 1] + t[0, 0]
    for k in range(count):
        count = count + k
    out[9] = count
    count -= abs(whole[0])
    out[10] = count
'''


def module_of(tmp_path, source, name):
    path = tmp_path / f"{name}.py"
    path.write_text(f"from __future__ import annotations\n{source}")
    spec = spec_from_file_location(name, path)
    module = module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


def built(tmp_path, text):
    source, made = tmp_path / "made.c", tmp_path / "made.so"
    source.write_text(text)
    flags = ("-O1", "-ffp-contract=off", "-shared", "-fPIC")
    subprocess.run(["cc", *flags, "-o", str(made), str(source), "-lm"], check=True, capture_output=True)
    return ctypes.CDLL(str(made))


def pointer(array):
    return ctypes.c_void_p(array.ctypes.data)


@compiler
def test_all_that_loops_may_say_gives_the_same_in_c(tmp_path):
    module = module_of(tmp_path, SOURCE, "loops_of_a_test")
    text = Loops([module]).text(["inner", "all_kinds"]).replace("PART void all_kinds", "void all_kinds")
    library = built(tmp_path, "\n".join([HEAD, text]))
    a, whole = np.array([0.7, -2.3, 4.0]), np.array([-7, 3])
    t, out = np.arange(6.0).reshape(3, 2), np.zeros(11)
    ours, theirs = (t.copy(), out.copy()), (t.copy(), out.copy())
    module.all_kinds(a, ours[0], whole, ours[1])
    small = whole.astype(np.int32)
    library.all_kinds(pointer(a), 3, pointer(theirs[0]), 3, 2, pointer(small), 2, pointer(theirs[1]), 11)
    assert np.array_equal(ours[1], theirs[1], equal_nan=True) and np.array_equal(ours[0], theirs[0])


@compiler
def test_designs_apart_read_and_write_their_own_places(tmp_path):
    source = '''
def doubled(a: Floats, t: Table, out: Floats) -> None:
    """Twice the first column and the array."""
    for i in range(len(a)):
        out[i] = 2.0 * t[i, 0] + a[i]
'''
    module = module_of(tmp_path, source, "apart_of_a_test")
    text = Loops([module], apart=True).text(["doubled"]).replace("PART void", "void")
    library = built(tmp_path, "\n".join([HEAD, text]))
    a, t, out = np.random.default_rng(1).random((2, 32)), np.random.default_rng(2).random((2, 3, 32)), np.zeros((2, 32))
    for lane in range(32):
        given = (ctypes.c_void_p(one.ctypes.data + 8 * lane) for one in (a, t, out))
        first, second, third = given
        library.doubled(first, 2, second, 2, 3, third, 2)
    assert np.array_equal(out, 2.0 * t[:, 0] + a)


@pytest.mark.parametrize(
    "line",
    [
        "x, y = y, x", "x = [1.0]", "x = y if y > 0 else {}", "x = unheard_of(y)", "x = 1.0 < y < 2.0", "x **= y",
        "k += x", "k /= 2",
    ],
)  # fmt: skip
def test_what_is_no_plain_loop_is_refused(tmp_path, line):
    source = f'def f(y: float) -> float:\n    """."""\n    x = 1.0\n    k = 1\n    {line}\n    return x\n'
    with pytest.raises(NotImplementedError, match="f: "):
        Loops([module_of(tmp_path, source, "refused_of_a_test")]).text(["f"])
