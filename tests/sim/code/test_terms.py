"""Straight-line functions as terms: shared, shortened, and written in the order in which they need each other."""

import pytest

from keyaction.sim.code.terms import Terms

TEXT = '''
def pos(x):
    return x if x > 0.0 else 0.0


def rates(t, y, p, d, out):
    """Rates."""
    a = y[0]
    v = y[1]
    w0 = sin(a + p[0])
    w1 = p[0]**2*cos(p[1])
    out[0] = v*w0 + w1*a - 0.0
    out[1] = (w0*w0)/1 + pos(a) + (a + p[0])**(3.0/2.0) - cos(a + p[0])
    out[2] = pos(-2)*a + (a - a)
'''


def terms_at_rest():
    terms = Terms(TEXT)
    arrays = {
        "y": lambda i: terms.number(0.0) if i == 1 else terms.place("y", i),
        "p": lambda i: terms.place("p", i),
        "d": lambda _: terms.number(0.0),
    }
    return terms, terms.results("rates", arrays)


def spelled(array, index):
    return f"{array}{index}"


def test_what_is_nought_leaves_and_what_is_alike_is_one():
    terms, found = terms_at_rest()
    first = terms.lines([("o", found[0])], spelled)
    assert "sin" not in "".join(first)  # times a speed of nought
    assert terms.value(found[2]) == 0.0
    lines = terms.lines([("o", found[1])], spelled)
    text = "\n".join(lines)
    assert text.count("both_(") == 1 and "three_halves_(" in text and "? " in text
    assert terms.of("+", found[0], found[1]) == terms.of("+", found[0], found[1])


def test_what_lasts_is_taken_out_and_the_rest_needs_no_more_of_it():
    terms, found = terms_at_rest()
    stored = [("o", found[0]), ("q", found[1])]
    lasting = terms.lasting(list(found.values()), lambda array, _: array == "y")
    assert [terms.keys[one][0] for one in lasting] == ["*", "place"]  # w1, and the angle's part
    text = "\n".join(terms.lines(stored, spelled, {one: f"c{i}" for i, one in enumerate(lasting)}))
    assert "p0" not in text and "p1" not in text and "c0" in text and "c1" in text


@pytest.mark.parametrize(
    "line",
    ["out[0] = y[0] if y[0] else max(y[0])", "out[0] += y[0]", "if y[0]: out[0] = 1.0", "rates(t, y, p, d, out)"],
)
def test_a_statement_of_another_kind_is_refused(line):
    terms = Terms(f"def rates(t, y, p, d, out):\n    {line}\n")
    with pytest.raises(NotImplementedError):
        terms.results("rates", {"y": lambda i: terms.place("y", i)})
