"""Straight-line functions of a generated module, handed to the compiler statement by statement.

Numba finds the type of every intermediate term by trial, which takes it seconds for a train. Here all terms are real
numbers, so they go straight into the compiled caller; only loops and calls are left to Numba.
"""

from __future__ import annotations

import ast
import inspect
import math
import operator
from collections.abc import Callable
from functools import lru_cache
from types import ModuleType
from typing import Any

import numpy as np
from numba import types
from numba.core import cgutils
from numba.extending import intrinsic

from keyaction.sim.code.parsed import parsed

_REAL = {ast.Add: "fadd", ast.Sub: "fsub", ast.Mult: "fmul", ast.Div: "fdiv"}
_WHOLE = {ast.Add: "add", ast.Sub: "sub", ast.Mult: "mul", ast.BitAnd: "and_"}
_NUMBERS: dict[type, Callable[[Any, Any], Any]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
}
_COMPARED = {ast.Lt: "<", ast.LtE: "<=", ast.Gt: ">", ast.GtE: ">=", ast.Eq: "=="}
_INTRINSIC = {"abs": "llvm.fabs", "sqrt": "llvm.sqrt", "floor": "llvm.floor"}
_pointer: Any = cgutils.get_item_pointer2
_axes: Any = cgutils.unpack_tuple
_LIBRARY: dict[str, Any] = {"sin": math.sin, "cos": math.cos, "copysign": math.copysign}


@lru_cache(maxsize=4)
def _functions(text: str) -> dict[str, ast.FunctionDef]:
    tree = parsed(text)
    return {node.name: node for node in tree.body if isinstance(node, ast.FunctionDef)}


def straight(module: ModuleType, name: str) -> Any:
    """What compiled code calls in place of a module's function of that name.

    Parameters
    ----------
    module : module
        Its text holds the function: assignments to names and to places of arrays, of arithmetic, of comparisons and
        of calls of its ``HELPERS``, each of which returns one expression.
    name : str
        The function takes real numbers, integers and arrays of one real type.
    """
    text = str(vars(module)["__text__"])

    def typed(typingctx: Any, *given: Any) -> Any:  # noqa: ARG001  numba's signature
        kinds = {one.dtype for one in given if isinstance(one, types.Array)}
        if len(kinds) != 1 or not isinstance(real := kinds.pop(), types.Float):
            return None

        def generate(context: Any, builder: Any, signature: Any, values: Any) -> Any:
            functions = _functions(text)
            writer = _Writer(context, builder, real, vars(module), functions)
            body = functions[name]
            given = zip(body.args.args, signature.args, values, strict=True)
            writer.known = {argument.arg: writer.taken(kind, value) for argument, kind, value in given}
            writer.write(body.body)
            return context.get_dummy_value()

        return types.none(*given), generate

    typed.__name__ = name
    own = inspect.signature(getattr(module, name)).parameters.values()
    context = inspect.Parameter("typingctx", inspect.Parameter.POSITIONAL_OR_KEYWORD)
    typed.__signature__ = inspect.Signature([context, *own])  # type: ignore[attr-defined]
    return intrinsic(typed)


class _Writer:
    """Writes statements at the builder's place; values are Python numbers, or terms of the compiler."""

    def __init__(
        self, context: Any, builder: Any, real: Any, space: dict[str, Any], functions: dict[str, ast.FunctionDef]
    ) -> None:
        self.context, self.builder, self.kind = context, builder, real
        self.real, self.whole = context.get_value_type(real), context.get_value_type(types.intp)
        self.space, self.functions = space, functions
        self.known: dict[str, Any] = {}

    def taken(self, kind: Any, value: Any) -> Any:
        """An argument: arrays with their type, numbers are terms of the real type, integers as they are."""
        if isinstance(kind, types.Array):
            array = self.context.make_array(kind)(self.context, self.builder, value)
            shape, strides = (_axes(self.builder, one, count=kind.ndim) for one in (array.shape, array.strides))
            return kind, array.data, shape, strides
        if isinstance(kind, types.Float):
            return self.context.cast(self.builder, value, kind, self.kind)
        return self.context.cast(self.builder, value, kind, types.intp)

    def write(self, statements: list[ast.stmt]) -> None:
        for statement in statements:
            if isinstance(statement, ast.Expr):
                continue  # the docstring
            if not isinstance(statement, ast.Assign):
                raise NotImplementedError(ast.unparse(statement))
            (target,) = statement.targets
            value = self.value(statement.value)
            if isinstance(target, ast.Name):
                self.known[target.id] = value
            else:
                self.builder.store(self.term(value), self.place(target))

    def place(self, node: Any) -> Any:
        """Pointer to a place of an array."""
        kind, data, shape, strides = self.known[node.value.id]
        nodes = node.slice.elts if isinstance(node.slice, ast.Tuple) else [node.slice]
        found = [self.value(one) for one in nodes]
        index = [self.whole(one) if isinstance(one, int) else one for one in found]
        if len(index) != kind.ndim:
            raise TypeError(f"{ast.unparse(node)}: the array has {kind.ndim} axes")
        return _pointer(self.context, self.builder, data, shape, strides, kind.layout, index)

    def term(self, value: Any) -> Any:
        """A number as a term of the real type."""
        if getattr(value, "type", None) == self.whole:
            return self.builder.sitofp(value, self.real)
        if isinstance(value, (int, float)):
            return self.real(float(np.float32(value)) if self.kind is types.float32 else float(value))
        return value

    def value(self, node: Any) -> Any:
        try:
            return getattr(self, f"_{type(node).__name__}")(node)
        except (AttributeError, KeyError, ValueError) as unknown:
            raise NotImplementedError(ast.unparse(node)) from unknown

    def _Constant(self, node: ast.Constant) -> Any:
        return node.value

    def _Name(self, node: ast.Name) -> Any:
        return self.known[node.id] if node.id in self.known else np.asarray(self.space[node.id]).item()

    def _Subscript(self, node: ast.Subscript) -> Any:
        return self.builder.load(self.place(node))

    def _UnaryOp(self, node: ast.UnaryOp) -> Any:
        value = self.value(node.operand)
        if isinstance(node.op, ast.Not):
            return self.builder.not_(value)
        return -value if isinstance(value, (int, float)) else self.builder.fneg(value)

    def _BinOp(self, node: ast.BinOp) -> Any:
        left, right, kind = self.value(node.left), self.value(node.right), type(node.op)
        if kind is ast.Pow:
            return self._power(left, right)
        if isinstance(left, (int, float)) and isinstance(right, (int, float)):
            return _NUMBERS[kind](left, right)
        of = {x.type for x in (left, right) if not isinstance(x, (int, float))}
        if self.real not in of:
            left, right = (self.whole(x) if isinstance(x, int) else x for x in (left, right))
            return getattr(self.builder, _WHOLE[kind])(left, right)
        return getattr(self.builder, _REAL[kind])(self.term(left), self.term(right))

    def _power(self, base: Any, exponent: Any) -> Any:
        if exponent == 2:
            return self.builder.fmul(base, base)
        return self._library(operator.pow, self.term(base), self.term(exponent))

    def _Compare(self, node: ast.Compare) -> Any:
        (sign,), (other,) = node.ops, node.comparators
        left, right = self.term(self.value(node.left)), self.term(self.value(other))
        return self.builder.fcmp_ordered(_COMPARED[type(sign)], left, right)

    def _IfExp(self, node: ast.IfExp) -> Any:
        yes, no = self.term(self.value(node.body)), self.term(self.value(node.orelse))
        return self.builder.select(self.value(node.test), yes, no)

    def _Call(self, node: ast.Call) -> Any:
        called = node.func.id  # type: ignore[attr-defined]  # plain names only
        values = [self.value(argument) for argument in node.args]
        if called == "F":
            return self.term(values[0])
        if called in self.space["HELPERS"]:
            return self._helper(self.functions[called], values)
        terms = [self.term(value) for value in values]
        if called in _LIBRARY:
            return self._library(_LIBRARY[called], *terms)
        return self.builder.call(self.builder.module.declare_intrinsic(_INTRINSIC[called], [self.real]), terms)

    def _helper(self, function: ast.FunctionDef, values: list[Any]) -> Any:
        outside = self.known
        self.known = dict(zip((argument.arg for argument in function.args.args), values, strict=True))
        returned = next(one.value for one in function.body if isinstance(one, ast.Return))
        found = self.value(returned)
        self.known = outside
        return found

    def _library(self, function: Any, *terms: Any) -> Any:
        called = self.context.get_function(function, self.kind(*[self.kind] * len(terms)))
        return called(self.builder, terms)
