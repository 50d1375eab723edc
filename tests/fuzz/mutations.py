"""Ways to spoil bytes, texts and TOML data."""

from __future__ import annotations

import json
import random
import string
from collections.abc import Iterator
from copy import deepcopy
from typing import Any

NUMBERS = (0, -1, 1, 2**31, 2**63 - 1, -(2**63), 1e308, -1e308, 1e-320, float("nan"), float("inf"), 0.5, 1e9, 3)
UNITS = (
    *[
        "mm",
        "m",
        "km",
        "N",
        "gf",
        "Pa",
        "mmH2O",
        "g",
        "kg",
        "s",
        "ms",
        "Hz",
        "%",
        "deg",
        "degC",
        "kPa",
        "N/m",
        "N/mm",
        "mm^2",
        "kg/m^3",
        "GPa",
        "s/m",
        "N*mm",
        "kg*m^2",
        "L",
    ],
    *("", "furlong", "m^99", "mm^-1", "1/m", "K"),
)
SIGNS = ("\0", "\x1b[31m", "\x7f", "\u202e", "\ufeff", "\u2028", "\udcff", "\r", "\t", "\n", "é", "\U0001f3b9", "ß",
         "°", "µ", "′", "\u00a0", "[bold]", "{{ 1 }}", "%s", "$(x)", "=1+1", "<b>", "&", '"', "'", "\\")  # fmt: skip
WORDS = (
    *("", " "),
    *[
        "key",
        "tracker",
        "roller",
        "pallet",
        "spring",
        "groove",
        "box",
        "square",
        "C4",
        "C#4",
        "c1",
        "H9",
        "G4",
        "C4:G4",
        "linear",
        "smooth",
        "geometric",
        "steps",
        "csv",
    ],
    *[
        "chest.csv",
        "../x.csv",
        "/etc/hostname",
        "wire",
        "sitka-spruce",
        "carbon-rod",
        "key-felt",
        "music-wire",
        "phosphor-bronze",
        "round",
    ],
    *[
        "tube",
        "rectangle",
        "down",
        "up",
        "true",
        "nan",
        "inf",
        "-inf",
        "1e400",
        "-0",
        "0x10",
        "1_000",
        "١٢",
        "balanced",
        "tail-hinged",
        "trade",
        "sobol",
        "morris",
    ],
    *["grid", "latin", "tolerances", "log", "all"],
    *("x" * 300, "x" * 70_000),
)


def word(rng: random.Random) -> str:
    """A text of some sort."""
    return rng.choice((_size, _any_word, _letters, _with_sign))(rng)


def _size(rng: random.Random) -> str:
    number = rng.choice((*NUMBERS, rng.uniform(-5, 300), rng.randrange(400), "1e", "--1", "1.2.3", "1,5", ""))
    return f"{number}{rng.choice((' ', ' ', '', '  '))}{rng.choice(UNITS)}"


def _any_word(rng: random.Random) -> str:
    return rng.choice(WORDS)


def _letters(rng: random.Random) -> str:
    return "".join(rng.choices(string.printable, k=rng.randrange(12)))


def _with_sign(rng: random.Random) -> str:
    text = rng.choice((*WORDS[:-2], "9.5 mm", "70 mmH2O"))
    at = rng.randrange(len(text) + 1)
    return text[:at] + rng.choice(SIGNS) + text[at:]


def value(rng: random.Random, depth: int = 0) -> Any:
    """A TOML value of some kind."""
    kind = rng.randrange(10 if depth < 4 else 6)
    if kind < 3:
        return word(rng)
    if kind == 3:
        return rng.choice(NUMBERS)
    if kind == 4:
        return rng.random() < 0.5
    if kind == 5:
        return rng.randrange(-10, 500)
    if kind < 8:
        return [value(rng, depth + 1) for _ in range(rng.randrange(4))]
    return {rng.choice(WORDS[:40]): value(rng, depth + 1) for _ in range(rng.randrange(4))}


# -- bytes and texts ---------------------------------------------------------------------------------------
def spoil_bytes(rng: random.Random, content: bytes) -> bytes:
    """Flipped, cut, doubled, emptied, zeroed."""
    for _ in range(rng.choice((1, 1, 1, 2, 5))):
        at, more = rng.randrange(len(content) + 1), rng.choice((1, 1, 2, 8, 64, 700))
        content = rng.choice((
            lambda c, at, _: c[:at] + bytes([c[at] ^ 1 << rng.randrange(8)]) + c[at + 1 :] if at < len(c) else c + b"x",
            lambda c, at, _: c[:at],
            lambda c, at, n: c[:at] + c[at + n :],
            lambda c, at, n: c[:at] + rng.randbytes(n) + c[at + n :],
            lambda c, at, n: c[:at] + rng.randbytes(n) + c[at:],
            lambda c, at, n: c[:at] + bytes(n) + c[at + n :],
            lambda c, at, n: c[:at] + c[at : at + n] * 2 + c[at + n :],
            lambda c, at, n: c + c[at : at + n],
        ))(content, at, more)  # fmt: skip
    return content if rng.random() > 0.01 else rng.choice((b"", b"\n", b"\0", b"\xff\xfe", b"x" * 100))


def spoil_text(rng: random.Random, text: str) -> str:
    """Lines left out, doubled, exchanged or cut; words put in."""
    lines = text.split("\n")
    for _ in range(rng.choice((1, 1, 2, 3))):
        i, j = rng.randrange(len(lines)), rng.randrange(len(lines))
        kind = rng.randrange(7)
        if kind == 0:
            lines[i : i + rng.randrange(1, 8)] = []
        elif kind == 1:
            lines.insert(j, lines[i])
        elif kind == 2:
            lines[i], lines[j] = lines[j], lines[i]
        elif kind == 3:
            at = rng.randrange(len(lines[i]) + 1)
            lines[i] = lines[i][:at] + rng.choice((*SIGNS, word(rng))) + lines[i][at:]
        elif kind == 4:
            lines[i] = lines[i][: rng.randrange(len(lines[i]) + 1)]
        elif kind == 5:
            name, equals, _ = lines[i].partition("=")
            lines[i] = f"{name}{equals} {toml(value(rng))}"
        else:
            deep = rng.choice((0, 0, 0, 50, 5000))
            lines.insert(j, f"{rng.choice(WORDS[1:40])} = {'[' * deep}{toml(value(rng))}{']' * deep}")
        lines = lines or [""]
    return "\n".join(lines)


def written(text: str) -> bytes:
    """A text as bytes, also with signs that no UTF-8 has."""
    return text.encode("utf-8", "surrogateescape")


# -- TOML data ---------------------------------------------------------------------------------------------
def places(data: Any) -> Iterator[tuple[Any, Any]]:
    """Every container of the data with each of its keys."""
    keys: Any = list(data) if isinstance(data, dict) else range(len(data))
    for key in keys:
        yield data, key
        if isinstance(data[key], (dict, list)):
            yield from places(data[key])


def spoil_data(rng: random.Random, data: dict[str, Any]) -> dict[str, Any]:
    """Values of other kinds, sizes and units; entries left out, added, renamed, doubled, exchanged, nested."""
    data, mild = deepcopy(data), rng.random() < 0.6
    for _ in range(rng.choice((1, 1, 1, 2, 3, 6))):
        known = list(places(data))
        if not known:
            break
        sizes = [(one, key) for one, key in known if isinstance(one[key], str) and one[key][:1].isdigit()]
        container, key = rng.choice(sizes if mild and sizes else known)
        kind = rng.randrange(12)
        if mild and sizes:
            container[key] = other_size(rng, container[key])
        elif kind < 2:
            container[key] = value(rng)
        elif kind < 5 and isinstance(container[key], str):
            container[key] = other_size(rng, container[key])
        elif kind == 5:
            del container[key]
        elif kind == 6 and isinstance(container, dict):
            container[rng.choice((*WORDS[:45], word(rng)))] = container.pop(key)
        elif kind == 7 and isinstance(container, list):
            container.insert(rng.randrange(len(container) + 1), deepcopy(container[key]))
        elif kind == 8:
            other, place = rng.choice(known)
            container[key] = deepcopy(other[place])
        elif kind == 9:
            container[key] = {"between": rng.choice(("linear", "smooth", "geometric", "steps", "x")),
                              **{rng.choice(WORDS[10:16]): word(rng) for _ in range(3)}}  # fmt: skip
        elif kind == 10 and isinstance(container, dict):
            container[rng.choice(WORDS[1:40])] = value(rng)
        else:
            for _ in range(rng.choice((1, 3, 20, 60))):
                container[key] = rng.choice(([container[key]], {"a": container[key]}))
    return data


def other_size(rng: random.Random, text: str) -> str:
    """A size of about the same kind, mostly in the same unit."""
    number, _, unit = text.partition(" ")
    scale = rng.choice((0.0, -1.0, 1e-3, 0.1, 0.5, 0.5, 0.8, 0.9, 1.1, 1.3, 2.0, 2.0, 10.0, 1e3, 1e30))
    try:
        return f"{float(number) * scale:.6g} {unit if rng.random() < 0.95 else rng.choice(UNITS)}"
    except ValueError:
        return rng.choice(WORDS)


def toml(data: Any) -> str:
    """A value as TOML has it, on one line."""
    if isinstance(data, dict):
        return "{ " + ", ".join(f"{_quoted(str(name))} = {toml(one)}" for name, one in data.items()) + " }"
    if isinstance(data, list):
        return "[" + ", ".join(map(toml, data)) + "]"
    if isinstance(data, bool):
        return str(data).lower()
    if isinstance(data, float):
        return repr(data)
    return str(data) if isinstance(data, int) else _quoted(str(data))


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def document(data: dict[str, Any]) -> str:
    """Data as a TOML file: one line for each entry of the outermost table."""
    return "".join(f"{_quoted(str(name))} = {toml(one)}\n" for name, one in data.items())
