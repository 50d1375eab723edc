"""A number of each of many designs: what is computed with it is computed for all, to the last bit as for one alone.

Where designs would go different ways (a comparison, an error) `Parted` says which go together. Whatever asks for one
number (`float`, `math.sin`, a key of a cache) raises `OneByOne`: nothing goes on with a number that is not there.
"""

from __future__ import annotations

import math
import operator
import re
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, NoReturn

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]

_BLANK = re.compile("\x02([0-9]+)\x03")


class Parted(BaseException):
    """Designs go different ways: those of `mask` the one, the others another. No `except Exception` holds it up."""

    def __init__(self, mask: Bools) -> None:
        super().__init__()
        self.mask = mask


class OneByOne(BaseException):
    """Something that only one design at a time can be asked."""


class Blanks:
    """Places in texts where every design has a figure of its own."""

    def __init__(self) -> None:
        self._told: list[tuple[Floats, Callable[[float], str]]] = []

    def __len__(self) -> int:
        return len(self._told)

    def blank(self, values: Floats, told: Callable[[float], str]) -> str:
        """What stands in a text for figures that are filled in later."""
        self._told.append((values, told))
        return f"\x02{len(self) - 1}\x03"

    def filled(self, text: str, i: int) -> str:
        """The text as the design at place `i` has it."""

        def one(found: re.Match[str]) -> str:
            values, told = self._told[int(found[1])]
            return told(float(values[i]))

        return _BLANK.sub(one, text)


class Many:
    """A number of each of many designs.

    Parameters
    ----------
    values : (N,) array
        Nobody writes into it.
    blanks : Blanks
        Where texts with it are filled in from.
    """

    __slots__ = ("blanks", "values")
    __array_ufunc__ = None
    """NumPy's own numbers leave arithmetic with it to it."""
    __hash__ = None  # type: ignore[assignment]

    def __init__(self, values: Floats, blanks: Blanks) -> None:
        self.values, self.blanks = values, blanks

    def told(self, how: Callable[[float], str]) -> str:
        """A text of it: how one value is written."""
        return self.blanks.blank(self.values, how)

    def each(self, function: Callable[[float], float]) -> Many:
        """A function of Python's `math` of each value: NumPy's own may differ in the last bit."""
        import numpy as np

        try:
            return self.with_values(np.fromiter(map(function, self.values.tolist()), np.float64, len(self.values)))
        except (ValueError, ArithmeticError):
            raise _parted(np.array([_fails(function, value) for value in self.values.tolist()])) from None

    def root(self) -> Many:
        """Square roots, which NumPy rounds as `math` does."""
        import numpy as np

        return self._sound(np.sqrt(self.values))

    def where_finite(self) -> bool:
        """Whether all are finite numbers, or none is."""
        import numpy as np

        return _same(np.isfinite(self.values))

    def chosen(self, other: Any, beats: Callable[[Any, Any], Any], turned: bool = False) -> Many:
        """Of each design the other number where it `beats` this one, as `max` and `min` keep the first of equals.

        `turned`: this one comes second.
        """
        import numpy as np

        first, second = (_plain(other), self.values) if turned else (self.values, _plain(other))
        return self.with_values(np.where(beats(second, first), second, first))

    def with_values(self, values: Floats) -> Many:
        """Other numbers of the same designs."""
        return Many(values, self.blanks)

    def _sound(self, values: Floats) -> Many:
        """What may be an error of Python's, or another kind of number, where it is not finite."""
        import numpy as np

        sound = np.isfinite(values)
        if np.count_nonzero(sound) < len(sound):
            raise _parted(~sound)
        return Many(values, self.blanks)

    # -- arithmetic ------------------------------------------------------------------------------------
    def __add__(self, other: Any) -> Many:
        return self.with_values(self.values + _plain(other))

    def __radd__(self, other: Any) -> Many:
        return self.with_values(_plain(other) + self.values)

    def __sub__(self, other: Any) -> Many:
        return self.with_values(self.values - _plain(other))

    def __rsub__(self, other: Any) -> Many:
        return self.with_values(_plain(other) - self.values)

    def __mul__(self, other: Any) -> Many:
        return self.with_values(self.values * _plain(other))

    def __rmul__(self, other: Any) -> Many:
        return self.with_values(_plain(other) * self.values)

    def __truediv__(self, other: Any) -> Many:
        return self._over(self.values, _plain(other))

    def __rtruediv__(self, other: Any) -> Many:
        return self._over(_plain(other), self.values)

    def _over(self, above: Any, below: Any) -> Many:
        if isinstance(below, float):
            if below == 0.0:
                raise OneByOne
        elif not below.all():
            raise _parted(below == 0.0)
        return self.with_values(above / below)

    def __pow__(self, other: Any) -> Many:
        return self._power(self.values, _plain(other))

    def __rpow__(self, other: Any) -> Many:
        return self._power(_plain(other), self.values)

    def _power(self, base: Any, exponent: Any) -> Many:
        """By the C library's `pow`, as Python's own; NumPy's power multiplies where it can."""
        import numpy as np

        return self._sound(np.asarray(np.float_power(base, exponent)))

    def __neg__(self) -> Many:
        return self.with_values(-self.values)

    def __pos__(self) -> Many:
        return self

    def __abs__(self) -> Many:
        return self.with_values(abs(self.values))

    # -- comparisons: the same for all, or the designs part ------------------------------------------------
    def _compared(self, how: Callable[[Any, Any], Any], other: Any) -> bool:
        return _same(how(self.values, _plain(other)))

    def __lt__(self, other: Any) -> bool:
        return self._compared(operator.lt, other)

    def __le__(self, other: Any) -> bool:
        return self._compared(operator.le, other)

    def __gt__(self, other: Any) -> bool:
        return self._compared(operator.gt, other)

    def __ge__(self, other: Any) -> bool:
        return self._compared(operator.ge, other)

    def __eq__(self, other: object) -> bool:
        return self._compared(operator.eq, other) if _number(other) else False

    def __ne__(self, other: object) -> bool:
        return self._compared(operator.ne, other) if _number(other) else True

    def __bool__(self) -> bool:
        return _same(self.values != 0.0)

    # -- texts, whose figures are filled in later ------------------------------------------------------
    def __format__(self, spec: str) -> str:
        return self.told(lambda value: format(value, spec))

    def __str__(self) -> str:
        return self.told(str)

    __repr__ = __str__

    # -- what only one number can answer ---------------------------------------------------------------
    def _one_by_one(self, *_: Any, **__: Any) -> NoReturn:
        raise OneByOne

    __float__ = __int__ = __index__ = __complex__ = __round__ = __trunc__ = __floor__ = __ceil__ = _one_by_one
    __array__ = __iter__ = __len__ = __getitem__ = __contains__ = __getstate__ = __reduce_ex__ = _one_by_one
    __floordiv__ = __rfloordiv__ = __mod__ = __rmod__ = __divmod__ = __rdivmod__ = __matmul__ = _one_by_one
    __rmatmul__ = __copy__ = __deepcopy__ = is_integer = _one_by_one


def _number(value: object) -> bool:
    return value.__class__ is Many or isinstance(value, (float, int))


def _plain(value: Any) -> Any:
    """Array or number that NumPy computes with."""
    if value.__class__ is Many:
        return value.values
    if isinstance(value, (float, int)):
        return float(value)
    raise OneByOne


def _same(mask: Bools) -> bool:
    """What holds for all designs, or for none."""
    import numpy as np

    count = int(np.count_nonzero(mask))
    if 0 < count < len(mask):
        raise Parted(mask)
    return count > 0


def _parted(bad: Bools) -> BaseException:
    """What to raise where some designs, or all, are to be looked at one by one."""
    return OneByOne() if bad.all() else Parted(bad)


def _fails(function: Callable[[float], float], value: float) -> bool:
    try:
        return not math.isfinite(function(value))
    except (ValueError, ArithmeticError):
        return True
