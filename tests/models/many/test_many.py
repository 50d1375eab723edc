"""Numbers of many designs: computed with as each alone, to the last bit; where that cannot be, never passed over."""

import copy
import math
import operator
import pickle
from functools import lru_cache

import numpy as np
import pytest

from keyaction.models.fields.values import Derived, Given, Values, in_unit
from keyaction.models.many import maths
from keyaction.models.many.many import Blanks, Many, OneByOne, Parted
from keyaction.models.materials.library import default_library
from keyaction.models.units.quantity import format_value

RNG = np.random.default_rng(5)
SOME = np.exp(RNG.normal(0.0, 3.0, 2000))
OTHERS = np.exp(RNG.normal(0.0, 2.0, 2000))
BLANKS = Blanks()


@pytest.fixture(autouse=True)
def no_warnings():
    with np.errstate(all="ignore"):
        yield


def many(values=SOME):
    return Many(np.asarray(values, dtype=float), BLANKS)


def same(found, wanted):
    assert isinstance(found, Many)
    return np.array_equal(found.values, np.array(wanted), equal_nan=True)


@pytest.mark.parametrize("how", [operator.add, operator.sub, operator.mul, operator.truediv])
@pytest.mark.parametrize("constant", [3, 0.1, True, np.float64(-7.3)])
def test_arithmetic_is_that_of_each(how, constant):
    pairs = list(zip(SOME.tolist(), OTHERS.tolist(), strict=True))
    assert same(how(many(), many(OTHERS)), [how(a, b) for a, b in pairs])
    assert same(how(many(), constant), [how(a, constant) for a in SOME.tolist()])
    assert same(how(constant, many()), [how(constant, a) for a in SOME.tolist()])


@pytest.mark.parametrize("power", [2, 3, 4, 5, 1.5, 2 / 3, 0.5, -2, -0.5, 0, 1])
def test_powers_are_those_of_each(power):
    assert same(many() ** power, [a**power for a in SOME.tolist()])
    assert same(2.5 ** many(OTHERS / 100), [2.5**a for a in (OTHERS / 100).tolist()])


@pytest.mark.parametrize("name", ["sqrt", "sin", "cos", "tan", "exp", "expm1", "cosh", "tanh"])
def test_functions_are_those_of_each(name):
    values = SOME / 100
    assert same(getattr(maths, name)(many(values)), [getattr(math, name)(a) for a in values.tolist()])
    assert getattr(maths, name)(0.3) == getattr(math, name)(0.3)


def test_signs_and_size():
    mixed = np.array([-1.0, 2.0, -0.0, math.nan])
    assert same(-many(mixed), [1.0, -2.0, 0.0, math.nan])
    assert same(abs(many(mixed)), [1.0, 2.0, 0.0, math.nan])
    assert same(sum([many(mixed), many(mixed)]), [-2.0, 4.0, 0.0, math.nan])


def test_the_larger_and_the_smaller_are_those_of_python():
    first = [1.0, 2.0, math.nan, 1.0, 0.0, -0.0, 5.0]
    second = [2.0, 1.0, 1.0, math.nan, -0.0, 0.0, 5.0]
    pairs = list(zip(first, second, strict=True))
    for ours, own in ((maths.larger, max), (maths.smaller, min)):
        for found in (ours(many(first), many(second)), ours(many(first), many(second))):
            assert same(found, [own(a, b) for a, b in pairs])
            assert np.array_equal(np.signbit(found.values), np.signbit([own(a, b) for a, b in pairs]))
        assert same(ours(many(first), 1.5), [own(a, 1.5) for a in first])
        assert same(ours(1.5, many(first)), [own(1.5, a) for a in first])
        assert ours(1.5, 2.5) == own(1.5, 2.5)
    assert same(maths.largest([1.5, many(second), 1.0]), [max(1.5, b, 1.0) for b in second])
    assert same(maths.least([many(first), 1.0]), [min(a, 1.0) for a in first])


def test_a_comparison_that_holds_for_all_or_none_is_one():
    assert (many() > 0.0) is True
    assert (many() < 0.0) is False
    assert (many() == many()) is True
    assert (many() != "a word") is True
    assert (many() == None) is False  # noqa: E711
    assert -1.0 < many() < math.inf
    assert bool(many())
    assert not many(np.zeros(3))
    assert maths.isfinite(many())


@pytest.mark.parametrize(
    ("asked", "holds"),
    [
        (lambda x: x > 2.0, [False, False, True]),
        (lambda x: 2.0 <= x <= 9.0, [False, True, True]),
        (lambda x: x == 1.0, [True, False, False]),
        (lambda x: x - 1.0 or 7.0, [False, True, True]),
        (lambda x: max(x, 2.5), [True, True, False]),
        (lambda x: 1.0 / (x - 1.0), [True, False, False]),
        (lambda x: x / many([0.0, 1.0, 0.0]), [True, False, True]),
        (lambda x: (2.5 - x) ** 0.5, [False, False, True]),
        (lambda x: (x - 1.0) ** -1, [True, False, False]),
        (lambda x: maths.sqrt(1.5 - x), [False, True, True]),
        (lambda x: maths.exp(300.0 * x), [False, False, True]),
        (lambda x: maths.isfinite(x * many([1.0, 1.0, math.inf])), [True, True, False]),
    ],
)
def test_designs_that_go_different_ways_part(asked, holds):
    with pytest.raises(Parted) as found:
        asked(many([1.0, 2.0, 3.0]))
    mask = found.value.mask.tolist()
    assert mask in (holds, [not one for one in holds])


@lru_cache
def _cached(value):
    return value


@pytest.mark.parametrize(
    "leak",
    [
        float,
        int,
        complex,
        round,
        hash,
        len,
        list,
        iter,
        math.sqrt,
        math.sin,
        math.hypot,
        math.isfinite,
        math.floor,
        math.ceil,
        math.trunc,
        copy.copy,
        copy.deepcopy,
        pickle.dumps,
        np.asarray,
        np.array,
        np.float64,
        lambda x: math.isclose(x, 1.0),
        lambda x: math.fsum([x]),
        lambda x: math.atan2(x, 1.0),
        lambda x: np.array([x], dtype=float),
        lambda x: np.interp(x, [0.0, 1.0], [0.0, 1.0]),
        lambda x: {x: 1},
        lambda x: {x},
        lambda x: _cached(x),
        lambda x: x % 2,
        lambda x: x // 2,
        lambda x: divmod(x, 2),
        lambda x: x * [1.0],
        lambda x: x + None,
        lambda x: np.ones(3) * x,
        lambda x: range(x),
        lambda x: [1, 2][x],
        lambda x: format_value(x, "m"),
        lambda x: 1.0 / (x - x),
        lambda x: maths.sqrt(-x),
        lambda x: (-x) ** 0.5,
        lambda x: pow(x, 2, 3),
    ],
)
def test_what_only_one_number_can_answer_is_never_answered(leak):
    with pytest.raises((OneByOne, TypeError)) as found:
        leak(many(np.array([0.5, 1.5, 2.5])))
    assert found.type is OneByOne or "Many" in str(found.value) or "hash" in str(found.value)


def test_no_handler_of_errors_holds_up_that_designs_part():
    for raised in (Parted(np.array([True, False])), OneByOne()):
        with pytest.raises(type(raised)):
            try:
                raise raised
            except Exception:
                pytest.fail("held up")


def test_texts_are_filled_in_for_each():
    blanks = Blanks()
    x = Many(np.array([0.001, 0.25]), blanks)
    text = f"{x:.3g} and {x} and {in_unit(x, 'm')}"
    assert [blanks.filled(text, i) for i in range(2)] == [
        f"{value:.3g} and {value} and {format_value(value, 'm')}" for value in (0.001, 0.25)
    ]
    assert len(blanks) == 3
    assert in_unit(0.25, "m") == format_value(0.25, "m")


def test_values_of_a_part_keep_them():
    values = Values("rod", {"length": Given(many(), "study")}, default_library())
    assert values.number("length") is values.given["length"].value
    assert values.set("k", 2 * values.number("length"), "m", "twice").values.tolist() == (2 * SOME).tolist()
    assert isinstance(values.derived["k"], Derived)
    assert type(Values("rod", {"length": Given(3, "case")}, default_library()).number("length")) is float
