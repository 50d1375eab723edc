"""The register of a train's symbols and titles: no two of them are ever spelled alike."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import sympy as sp

from keyaction.models.algebra.names import Name, spelled

_CODE = frozenset(
    (*"tsrypdhnijkAFW", "out", "half", "every", "relax", "pi", "sin", "cos", "sqrt", "empty", "zeros")
) | {"pos", "step", "posroot", "pos32", "direction", "within", "rsqrt", "pick", "floor", "copysign"}
"""Words of the generated code."""


@dataclass
class Symbols:
    """The register of a train's symbols and titles: each name once, each spelling once."""

    symbols: dict[Name, Any] = field(default_factory=dict)
    spellings: set[str] = field(default_factory=lambda: set(_CODE))
    titles: set[tuple[str, str]] = field(default_factory=set)

    def new(self, name: Name, wanted: str | None = None) -> Any:
        """The symbol of a new name, spelled as usual or as `wanted`, with a number behind where that is taken.

        Raises
        ------
        ValueError
            If the name has a symbol already: two parts of a model would share it.
        """
        if name in self.symbols:
            whose = f" of {name.body} of {name.part}" if name.body else f" of {name.part}" if name.part else ""
            raise ValueError(f"'{name.what}'{whose} is defined twice")
        usual = wanted or spelled(name)
        found = _first_free(usual, "_", self.spellings)
        self.spellings.add(found)
        self.symbols[name] = sp.Symbol(found, real=True)
        return self.symbols[name]

    def title(self, part: str, place: str = "", among: str = "body", owner: str = "") -> str:
        """A title for people, `part` or `part-place`, unlike all others `among` its kind; first with its `owner`'s."""
        usual = "-".join(piece for piece in (part.strip("()"), place) if piece)
        taken = {text for kind, text in self.titles if kind == among}
        if usual in taken and owner:
            usual = f"{usual}-{owner.strip('()')}"
        found = _first_free(usual, "-", taken)
        self.titles.add((among, found))
        return found


def _first_free(usual: str, joint: str, taken: set[str]) -> str:
    found, number = usual, 2
    while found in taken:
        found, number = f"{usual}{joint}{number}", number + 1
    return found
