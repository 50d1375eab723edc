"""Straight-line functions of a batch module, statement by statement as C."""

from __future__ import annotations

import ast
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from keyaction.sim.code.folding import name_of, number_of, row_of

_SIGNS: dict[type, str] = {
    ast.Add: "+",
    ast.Sub: "-",
    ast.Mult: "*",
    ast.BitAnd: "&&",
    ast.Lt: "<",
    ast.LtE: "<=",
    ast.Gt: ">",
    ast.GtE: ">=",
    ast.Eq: "==",
}
_CALLED = {"pos": "above", "step": "whether", "rsqrt": "root_over", "abs": "size", "floor": "whole_below"}
_CALLED |= {"sqrt": "sqrt", "sin": "sin", "cos": "cos"}


@dataclass
class Body:
    """Statements of one straight-line function on their way to C.

    Attributes
    ----------
    kinds : mapping of name to {"real", "int"}
        Of the locals; truths and counts are integers.
    rows : mapping of int to str
        Rows of the array A that are locals, with their kinds.
    stored : set of int
        Those of them that change.
    rare : mapping of name to int
        Records that only an event writes and nothing reads, with their rows: they stay in memory.
    """

    statements: Sequence[ast.Assign]
    real: str
    kinds: dict[str, str] = field(default_factory=dict)
    rows: dict[int, str] = field(default_factory=dict)
    stored: set[int] = field(default_factory=set)
    rare: dict[str, int] = field(default_factory=dict)

    def lines(self) -> list[str]:
        """The statements as C."""
        self._look()
        found: list[str] = []
        group = ""
        for one in self.statements:
            kept = _kept(one)
            if kept is None or kept[0] != group:
                found += ["}"] if group else []
                group = kept[0] if kept else ""
                found += [f"if ({group}) {{"] if group else []
            text = self._keep(kept[1], kept[2]) if kept else self._statement(one)
            found += [text] if text else []
        return [*found, *(["}"] if group else [])]

    # -- what the statements are -----------------------------------------------------------------------
    def _look(self) -> None:
        """Kinds of all locals, and which records stay in memory."""
        loaded = {name_of(s): row for s in self.statements if name_of(s) and (row := row_of(s.value)) is not None}
        uses = self._uses()
        for name, row in loaded.items():
            seen = uses[name]
            if all(kind == "kept" for kind in seen) and seen:
                self.rare[name] = row
        for name, seen in uses.items():
            if name in loaded and set(seen) <= {"kept", "counted", "compared"} and "counted" in seen:
                self.kinds[name] = self.rows[loaded[name]] = "int"
        for s in self.statements:
            if name := name_of(s):
                self.kinds.setdefault(name, self._kind(s.value))
            row = row_of(s.targets[0])
            if row is not None and not (isinstance(s.value, ast.Name) and s.value.id in self.rare):
                self.stored.add(row)
        for node in (n for s in self.statements for n in ast.walk(s)):
            row = row_of(node)
            if row is not None and row not in self.rare.values():
                self.rows.setdefault(row, "real")

    def _uses(self) -> dict[str, list[str]]:
        """How every local is used: kept by an event, counted, compared with a number, or otherwise."""
        uses: dict[str, list[str]] = {}
        for s in self.statements:
            own = name_of(s)
            if own and row_of(s.value) is not None:
                uses.setdefault(own, [])
                continue
            counts = bool(own) and _counts(own, s.value)
            if own:
                kept = _kept(s)
                uses.setdefault(own, []).append("counted" if counts else "kept" if kept else "other")
            if isinstance(s.value, ast.Name) and row_of(s.targets[0]) is not None:
                continue
            for node, way in _reads(s.value):
                if not (node == own and (counts or _kept(s))):
                    uses.setdefault(node, []).append(way)
        return uses

    def _kind(self, node: ast.expr) -> str:
        if isinstance(node, ast.Compare) or (isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not)):
            return "int"
        if isinstance(node, ast.BinOp) and isinstance(node.op, ast.BitAnd):
            return "int"
        return self.kinds.get(node.id, "real") if isinstance(node, ast.Name) else "real"

    # -- statements ------------------------------------------------------------------------------------
    def _statement(self, one: ast.Assign) -> str:
        target, value = one.targets[0], one.value
        row = row_of(target)
        if isinstance(value, ast.Name) and value.id in self.rare:
            return ""
        if row is not None:
            return f"A{row} = {self.expr(value, self.rows[row])};"
        if isinstance(target, ast.Subscript):
            return f"{self._place(target)} = {self.expr(value)};"
        assert isinstance(target, ast.Name)
        if target.id in self.rare:
            return ""
        return f"{target.id} = {self.expr(value, self.kinds[target.id])};"

    def _keep(self, name: str, value: ast.expr) -> str:
        if name in self.rare:
            return f"A[{self.rare[name]}*W] = {self.expr(value)};"
        return f"{name} = {self.expr(value, self.kinds[name])};"

    def _place(self, node: ast.Subscript) -> str:
        assert isinstance(node.value, ast.Name)
        if node.value.id == "OUT":
            first = node.slice.left  # type: ignore[attr-defined]  # (k*size + a)*W + j
            return f"OUT[({ast.unparse(first.left)})*W]"
        raise NotImplementedError(ast.unparse(node))

    # -- expressions -----------------------------------------------------------------------------------
    def expr(self, node: ast.expr, kind: str = "real") -> str:
        """An expression; parentheses stand wherever the text had an operation."""
        if isinstance(node, ast.Constant):
            value = number_of(node)
            return str(int(value)) if kind == "int" else self._number(value)
        if isinstance(node, ast.Name):
            return node.id
        if isinstance(node, ast.Subscript):
            row = row_of(node)
            return f"A{row}" if row is not None else self._place(node)
        if isinstance(node, ast.UnaryOp):
            sign = "!" if isinstance(node.op, ast.Not) else "-"
            return f"({sign}{self.expr(node.operand)})"
        if isinstance(node, ast.Compare):
            left, right = node.left, node.comparators[0]
            of = "int" if "int" in (self._kind(left), self._kind(right)) else "real"
            return f"({self.expr(left, of)} {_SIGNS[type(node.ops[0])]} {self.expr(right, of)})"
        if isinstance(node, ast.BinOp):
            return self._operation(node, kind)
        if isinstance(node, ast.Call):
            return self._call(node, kind)
        raise NotImplementedError(ast.unparse(node))

    def _number(self, value: float) -> str:
        return f"{value!r}f" if self.real == "float32" else repr(value)

    def _operation(self, node: ast.BinOp, kind: str) -> str:
        if isinstance(node.op, ast.Pow):
            base = self.expr(node.left)
            return f"({base}*{base})" if ast.unparse(node.right) == "2" else f"pow({base}, {self.expr(node.right)})"
        left, right = self.expr(node.left, kind), self.expr(node.right, kind)
        if isinstance(node.op, ast.Div):
            plain = isinstance(node.left, ast.Constant) and isinstance(node.right, ast.Constant)
            return f"({left}/{right})" if plain else f"over_({left}, {right})"
        return f"({left} {_SIGNS[type(node.op)]} {right})"

    def _call(self, node: ast.Call, kind: str) -> str:
        called = node.func.id  # type: ignore[attr-defined]  # plain names only
        if called == "pick":
            test, yes, no = node.args
            if _larger(test, yes, no):
                return f"larger({self.expr(yes)}, {self.expr(no)})"
            return f"({self.expr(test)} ? {self.expr(yes, kind)} : {self.expr(no, kind)})"
        return f"{_CALLED[called]}({', '.join(self.expr(one) for one in node.args)})"


class Straight(Body):
    """Statements from the parameters of a design to its constants, divisions as they stand."""

    def lines(self) -> list[str]:
        found = []
        for one in self.statements:
            target, value = one.targets[0], self.expr(one.value)
            name = f"const real {name_of(one)}" if isinstance(target, ast.Name) else self.expr(target)
            found.append(f"{name} = {value};")
        return found

    def _place(self, node: ast.Subscript) -> str:
        return f"{ast.unparse(node.value).upper()}[{ast.unparse(node.slice.elts[1])}]"  # type: ignore[attr-defined]

    def _operation(self, node: ast.BinOp, kind: str) -> str:
        if isinstance(node.op, ast.Div):
            return f"({self.expr(node.left)}/{self.expr(node.right)})"
        return super()._operation(node, kind)


def scoped(body: Body, lines: Sequence[str]) -> list[str]:
    """Statements in a scope of their own."""
    declared = {
        kind: [n for n, k in body.kinds.items() if k == kind and n not in body.rare] for kind in ("real", "int")
    }
    heads = [f"{kind} {', '.join(names)};" for kind, names in declared.items() if names]
    return ["{", *heads, *lines, "}"]


def _kept(one: ast.Assign) -> tuple[str, str, ast.expr] | None:
    """Condition, name and value of ``name = pick(condition, value, name)``: an event's record."""
    call, name = one.value, name_of(one)
    if name and isinstance(call, ast.Call) and ast.unparse(call.func) == "pick":
        test, value, other = call.args
        if isinstance(test, ast.Name) and isinstance(other, ast.Name) and other.id == name:
            return test.id, name, value
    return None


def _counts(name: str, value: ast.expr) -> bool:
    """Whether a local takes whole numbers only: a choice among them and itself, or that much more."""
    if isinstance(value, ast.BinOp) and isinstance(value.op, ast.Add) and ast.unparse(value.left) == name:
        return _counts("", value.right)
    if isinstance(value, ast.Call) and ast.unparse(value.func) == "pick":
        return all(
            (isinstance(one, ast.Constant) and number_of(one).is_integer())
            or (isinstance(one, ast.Name) and one.id == name)
            for one in value.args[1:]
        )
    return False


def _reads(value: ast.expr) -> Iterable[tuple[str, str]]:
    """Names that an expression reads, and whether each is but compared with a number."""
    compared = set[int]()
    for node in ast.walk(value):
        if isinstance(node, ast.Compare) and isinstance(node.comparators[0], ast.Constant):
            compared.add(id(node.left))
    for node in ast.walk(value):
        if isinstance(node, ast.Name):
            yield node.id, "compared" if id(node) in compared else "other"


def _larger(test: ast.expr, yes: ast.expr, no: ast.expr) -> bool:
    """Whether ``pick(test, yes, no)`` is the larger of two."""
    if not isinstance(test, ast.Compare) or not isinstance(test.ops[0], ast.Gt):
        return False
    return ast.dump(test.left) == ast.dump(yes) and ast.dump(test.comparators[0]) == ast.dump(no)
