"""Straight-line functions of a generated module as terms: equal ones shared, and made shorter by what is known.

A text that holds for a train at rest needs no speeds, no dampings and but few of the results; what is left of it is
written as C.
"""

from __future__ import annotations

import ast
import math
from collections.abc import Callable, Container, Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import Any

import numpy as np

from keyaction.sim.code.parsed import parsed

NOUGHT, ONE = 0.0, 1.0
_OPS: dict[type, str] = {ast.Add: "+", ast.Sub: "-", ast.Mult: "*", ast.Div: "/"}
_SIGNS: dict[type, str] = {ast.Lt: "<", ast.LtE: "<=", ast.Gt: ">", ast.GtE: ">=", ast.Eq: "=="}
_NUMBERS: dict[str, Callable[..., Any]] = {
    "+": lambda a, b: a + b,
    "-": lambda a, b: a - b,
    "*": lambda a, b: a * b,
    "/": lambda a, b: a / b,
    "<": lambda a, b: a < b,
    "<=": lambda a, b: a <= b,
    ">": lambda a, b: a > b,
    ">=": lambda a, b: a >= b,
    "==": lambda a, b: a == b,
    "neg": lambda a: -a,
    "abs": abs,
    "pow": lambda a, b: a**b,
    "pick": lambda test, yes, no: np.where(test, yes, no),
    "sqrt": np.sqrt,
    "sin": np.sin,
    "cos": np.cos,
    "copysign": np.copysign,
}
_LIBRARY = ("sqrt", "sin", "cos", "copysign", "abs")
_POWERS = {1.5: "three_halves_", 1.25: "five_quarters_"}
"""Powers that roots give: of what writes C, its head says how."""
_C = {"sqrt": "root_", "sin": "sin", "cos": "cos", "copysign": "copysign", "abs": "fabs", "pow": "pow"}

Key = tuple[Any, ...]


class Terms:
    """Terms by number; each is an operation and the numbers of what it is of, or a number, or a place of an array.

    Parameters
    ----------
    *texts : str
        Of generated modules.
    """

    def __init__(self, *texts: str) -> None:
        nodes = [node for text in texts for node in parsed(text).body]
        self.functions = {one.name: one for one in nodes if isinstance(one, ast.FunctionDef)}
        self.keys: list[Key] = []
        self._numbers: dict[Key, int] = {}

    # -- made ------------------------------------------------------------------------------------------
    def term(self, *key: Any) -> int:
        """The number of a term, the same for the same."""
        if key not in self._numbers:
            self._numbers[key] = len(self.keys)
            self.keys.append(key)
        return self._numbers[key]

    def number(self, value: float) -> int:
        return self.term("number", float(value))

    def place(self, array: str, index: int) -> int:
        """A place of an array that is given."""
        return self.term("place", array, index)

    def value(self, term: int) -> float | None:
        """Of a term that is a number."""
        key = self.keys[term]
        return float(key[1]) if key[0] == "number" else None

    def of(self, operation: str, *terms: int) -> int:
        """An operation, worked out as far as can be."""
        values = [self.value(one) for one in terms]
        if all(one is not None for one in values) and not (operation == "/" and values[1] == NOUGHT):
            return self.number(float(_NUMBERS[operation](*values)))
        short = self._shorter(operation, terms, values)
        return self.term(operation, *terms) if short is None else short

    def _shorter(self, operation: str, terms: Sequence[int], values: Sequence[float | None]) -> int | None:
        if operation == "pick":
            if values[0] is not None:
                return terms[1] if values[0] else terms[2]
            return terms[1] if terms[1] == terms[2] else None
        if operation == "neg" and self.keys[terms[0]][0] == "neg":
            return int(self.keys[terms[0]][1])
        if operation == "pow" and values[1] == 2:
            return self.of("*", terms[0], terms[0])
        if operation in "+-*/" and len(terms) == 2:
            return self._sum(operation, terms, values) if operation in "+-" else self._product(operation, terms, values)
        return None

    def _sum(self, operation: str, terms: Sequence[int], values: Sequence[float | None]) -> int | None:
        if values[1] == NOUGHT:
            return terms[0]
        if values[0] == NOUGHT:
            return terms[1] if operation == "+" else self.of("neg", terms[1])
        return self.number(NOUGHT) if operation == "-" and terms[0] == terms[1] else None

    def _product(self, operation: str, terms: Sequence[int], values: Sequence[float | None]) -> int | None:
        if values[0] == NOUGHT or (operation == "*" and values[1] == NOUGHT):
            return self.number(NOUGHT)
        if values[1] == ONE:
            return terms[0]
        return terms[1] if operation == "*" and values[0] == ONE else None

    # -- read from a function --------------------------------------------------------------------------
    def results(self, function: str, arrays: Mapping[str, Callable[[int], int]], time: float = 0.0) -> dict[int, int]:
        """What a function ``(t, y, p, d, out)`` puts into `out`: terms by place.

        `arrays` gives the term of every place of ``y``, ``p`` and ``d``.
        """
        known: dict[str, int] = {"t": self.number(time)}
        found: dict[int, int] = {}
        for statement in self.functions[function].body:
            if _gives_no_term(statement):
                continue
            if not isinstance(statement, ast.Assign):
                raise NotImplementedError(ast.unparse(statement))
            (target,) = statement.targets
            value = self._read(statement.value, known, arrays)
            if isinstance(target, ast.Subscript):
                found[_index(target)] = value
            else:
                assert isinstance(target, ast.Name)
                known[target.id] = value
        return found

    def _read(self, node: ast.expr, known: Mapping[str, int], arrays: Mapping[str, Callable[[int], int]]) -> int:
        def read(one: ast.expr) -> int:
            return self._read(one, known, arrays)

        if isinstance(node, ast.Constant):
            return self.number(float(node.value))  # type: ignore[arg-type]  # numbers only
        if isinstance(node, ast.Name):
            return known[node.id]
        if isinstance(node, ast.Subscript) and isinstance(node.value, ast.Name):
            return arrays[node.value.id](_index(node))
        if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
            return self.of("neg", read(node.operand))
        if isinstance(node, ast.BinOp):
            operation = "pow" if isinstance(node.op, ast.Pow) else _OPS[type(node.op)]
            return self.of(operation, read(node.left), read(node.right))
        if isinstance(node, ast.Compare):
            return self.of(_SIGNS[type(node.ops[0])], read(node.left), read(node.comparators[0]))
        if isinstance(node, ast.IfExp):
            return self.of("pick", read(node.test), read(node.body), read(node.orelse))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            return self._called(node.func.id, [read(one) for one in node.args])
        raise NotImplementedError(ast.unparse(node))

    def _called(self, name: str, given: list[int]) -> int:
        if name in _LIBRARY:
            return self.of(name, *given)
        if name not in self.functions:
            raise NotImplementedError(name)
        helper = self.functions[name]
        own = dict(zip((one.arg for one in helper.args.args), given, strict=True))
        returned = next(one.value for one in helper.body if isinstance(one, ast.Return))
        assert returned is not None
        return self._read(returned, own, {})

    # -- what they are of ------------------------------------------------------------------------------
    def inner(self, term: int) -> tuple[int, ...]:
        """The terms that a term is of."""
        key = self.keys[term]
        return () if key[0] in ("number", "place") else tuple(key[1:])

    def ordered(self, wanted: Iterable[int], known: Container[int] = ()) -> list[int]:
        """All that is needed, each after what it is of; of what is `known` no more than itself."""
        found: dict[int, None] = {}
        for one in wanted:
            stack = [(one, False)]
            while stack:
                term, ready = stack.pop()
                if term in found:
                    continue
                if ready or term in known:
                    found[term] = None
                else:
                    stack.append((term, True))
                    stack += [(of, False) for of in reversed(self.inner(term))]
        return list(found)

    def lasting(self, wanted: Sequence[int], changing: Callable[[str, int], bool]) -> list[int]:
        """Terms from which all that is wanted can be had, and which do not change where places do: as few as can be."""
        order = self.ordered(wanted)
        moving = dict[int, bool]()
        for term in order:
            key = self.keys[term]
            moving[term] = changing(key[1], key[2]) if key[0] == "place" else any(moving[of] for of in self.inner(term))
        used = [*wanted, *(of for term in order if moving[term] for of in self.inner(term))]
        return list(dict.fromkeys(term for term in used if not moving[term] and self.value(term) is None))

    # -- written, computed -----------------------------------------------------------------------------
    def lines(
        self,
        stored: Sequence[tuple[str, int]],
        spelled: Callable[[str, int], str],
        known: Mapping[int, str] = MappingProxyType({}),
    ) -> list[str]:
        """C that computes terms and stores each in its place; all is computed before anything is stored.

        `spelled` says how a place is written, `known` where terms are that were computed before.
        """
        wanted = [term for _, term in stored]
        order = self.ordered(wanted, known)
        uses = dict.fromkeys(order, 0)
        for term in (*wanted, *(of for one in order if one not in known for of in self.inner(one))):
            uses[term] += 1
        names: dict[int, str] = {}
        lines = list[str]()
        for term in order:
            if term in names:
                continue
            key = self.keys[term]
            if key[0] in ("sin", "cos") and term not in known:
                lines += self._turned(key[1], uses, names)
                continue
            text = known[term] if term in known else self._spelled(term, names, spelled)
            if key[0] == "number" or (uses[term] == 1 and key[0] != "place" and term not in wanted):
                names[term] = text
            else:
                names[term] = f"t{term}"
                lines.append(f"const {'int' if key[0] in _SIGNS.values() else 'real'} t{term} = {text};")
        return [*lines, *(f"{place} = {names[term]};" for place, term in stored)]

    def _turned(self, angle: int, needed: Container[int], names: dict[int, str]) -> list[str]:
        """Sine and cosine of an angle, together where both are needed."""
        pair = {name: self._numbers.get((name, angle), -1) for name in ("sin", "cos")}
        found = {name: term for name, term in pair.items() if term in needed}
        names |= {term: f"t{term}" for term in found.values()}
        if len(found) == 2:
            sine, cosine = (f"t{term}" for term in found.values())
            return [f"real {sine}, {cosine}; both_({names[angle]}, {sine}, {cosine});"]
        return [f"const real t{term} = {name}({names[angle]});" for name, term in found.items()]

    def _spelled(self, term: int, names: Mapping[int, str], spelled: Callable[[str, int], str]) -> str:
        key = self.keys[term]
        if key[0] == "number":
            value = float(key[1])
            return f"({value!r})" if value < 0 or not math.isfinite(value) else repr(value)
        if key[0] == "place":
            return spelled(key[1], key[2])
        of = [names[one] for one in key[1:]]
        if key[0] == "pow" and (power := self.value(key[2])) in _POWERS:
            return f"{_POWERS[power]}({of[0]})"
        if key[0] == "neg":
            return f"(-{of[0]})"
        if key[0] == "pick":
            return f"({of[0]} ? {of[1]} : {of[2]})"
        if key[0] == "/":
            return f"over_({of[0]}, {of[1]})"
        return f"{_C[key[0]]}({', '.join(of)})" if key[0] in _C else f"({of[0]} {key[0]} {of[1]})"


def _gives_no_term(statement: ast.stmt) -> bool:
    """Whether a statement is a docstring, or makes or returns `out`."""
    if isinstance(statement, ast.Assign):
        return ast.unparse(statement.targets[0]) == "out"
    docstring = isinstance(statement, ast.Expr) and isinstance(statement.value, ast.Constant)
    return docstring or isinstance(statement, ast.Return)


def _index(node: ast.Subscript) -> int:
    assert isinstance(node.slice, ast.Constant)
    return int(node.slice.value)  # type: ignore[arg-type]
