"""Statements of a batch module made shorter for what is known of its rows: noughts, ones, and one row's opposite."""

from __future__ import annotations

import ast
from collections.abc import Iterable, Mapping, Sequence
from copy import deepcopy

from keyaction.sim.code.parsed import parsed

NOUGHT, ONE = 0.0, 1.0


def row_of(node: ast.AST) -> int | None:
    """Row of a place ``A[row*W + j]``."""
    if isinstance(node, ast.Subscript) and isinstance(node.value, ast.Name) and node.value.id == "A":
        return int(node.slice.left.left.value)  # type: ignore[attr-defined]
    return None


def name_of(one: ast.Assign) -> str:
    """Name of the local that a statement sets; empty where it sets a place."""
    return one.targets[0].id if isinstance(one.targets[0], ast.Name) else ""


def number_of(node: ast.Constant) -> float:
    """A literal's value."""
    return float(node.value)  # type: ignore[arg-type]  # the module has no others


def opposites(constants: Sequence[ast.Assign]) -> dict[int, int]:
    """Which constants are another one with the other sign, by their numbers: from the function that computes them."""
    seen: dict[str, int] = {}
    found: dict[int, int] = {}
    for one in constants:
        target = one.targets[0]
        if not isinstance(target, ast.Subscript):
            continue
        number = int(target.slice.elts[1].value)  # type: ignore[attr-defined]  # c[i, number]
        text = ast.dump(one.value)
        for other in (ast.dump(_negative(one.value)), ast.dump(ast.UnaryOp(ast.USub(), one.value))):
            if other in seen:
                found[number] = seen[other]
        if number not in found:
            seen.setdefault(text, number)
    return found


def _negative(node: ast.expr) -> ast.expr:
    """A product without the sign of its first factor; what has none with one."""
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        return node.operand
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Mult | ast.Div):
        return ast.BinOp(_negative(node.left), node.op, node.right)
    return ast.UnaryOp(ast.USub(), node)


def folded(
    statements: Iterable[ast.Assign], known: Mapping[int, float], opposite: Mapping[int, int]
) -> list[ast.Assign]:
    """The statements with rows in place that are known, and products and sums made shorter by them.

    Parameters
    ----------
    statements : iterable of ast.Assign
        Straight-line code.
    known : mapping of int to float
        Rows that are 0 or 1 in every lane.
    opposite : mapping of int to int
        Rows that are another row with the other sign.
    """
    lines = [deepcopy(one) for one in statements]
    often: dict[str, int] = {}
    for one in lines:
        if isinstance(one.targets[0], ast.Name):
            often[one.targets[0].id] = often.get(one.targets[0].id, 0) + 1
    maker, found = _Folder(known, opposite), list[ast.Assign]()
    for one in lines:
        value: ast.expr = maker.visit(one.value)
        target = one.targets[0]
        if isinstance(target, ast.Name) and often[target.id] == 1 and _plain(value):
            maker.names[target.id] = value
            continue
        found.append(ast.Assign([target], value))
    return found


def _plain(node: ast.expr) -> bool:
    """A number, or an opposite row: what is put in place of a name."""
    return isinstance(node, ast.Constant) or (
        isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub) and row_of(node.operand) is not None
    )


class _Folder(ast.NodeTransformer):
    def __init__(self, known: Mapping[int, float], opposite: Mapping[int, int]) -> None:
        self.known, self.opposite = known, opposite
        self.names: dict[str, ast.expr] = {}

    def visit_Name(self, node: ast.Name) -> ast.expr:
        return self.names.get(node.id, node)

    def visit_Subscript(self, node: ast.Subscript) -> ast.expr:
        row = row_of(node)
        if row is None:
            return node
        if row in self.known:
            return ast.Constant(self.known[row])
        if row in self.opposite:
            return ast.UnaryOp(ast.USub(), _place(self.opposite[row]))
        return node

    def visit_UnaryOp(self, node: ast.UnaryOp) -> ast.expr:
        inner: ast.expr = self.visit(node.operand)
        if isinstance(node.op, ast.USub):
            if isinstance(inner, ast.Constant):
                return inner if number_of(inner) == NOUGHT else ast.Constant(-number_of(inner))
            if isinstance(inner, ast.UnaryOp) and isinstance(inner.op, ast.USub):
                return inner.operand
        return ast.UnaryOp(node.op, inner)

    def visit_BinOp(self, node: ast.BinOp) -> ast.expr:
        left: ast.expr = self.visit(node.left)
        right: ast.expr = self.visit(node.right)
        if isinstance(node.op, ast.Mult):
            return _product(left, right)
        if isinstance(node.op, ast.Div) and _is(left, NOUGHT):
            return left
        if isinstance(node.op, ast.Add):
            return right if _is(left, NOUGHT) else left if _is(right, NOUGHT) else ast.BinOp(left, node.op, right)
        if isinstance(node.op, ast.Sub):
            return left if _is(right, NOUGHT) else ast.BinOp(left, node.op, right)
        return ast.BinOp(left, node.op, right)

    def visit_Call(self, node: ast.Call) -> ast.expr:
        return ast.Call(node.func, [self.visit(one) for one in node.args], [])


def _product(left: ast.expr, right: ast.expr) -> ast.expr:
    for one, other in ((left, right), (right, left)):
        if _is(one, NOUGHT) or _is(other, ONE):
            return one
    return ast.BinOp(left, ast.Mult(), right)


def _is(node: ast.expr, value: float) -> bool:
    return isinstance(node, ast.Constant) and node.value == value


def _place(row: int) -> ast.Subscript:
    line = parsed(f"A[{row}*W + j]").body[0]
    assert isinstance(line, ast.Expr) and isinstance(line.value, ast.Subscript)
    return line.value
