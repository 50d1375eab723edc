"""Plain loops of the program's own as C: the functions that Numba compiles for a processor, written for a GPU.

A module written so has functions with annotated parameters (`Floats`, `Table`, `Places`, `float`, `int`) that return
nothing, a float or an int; numbers in capitals; assignments, loops, branches, calls of each other. An array is a
pointer with its length, a table one with height and width, a row of a table (``table[i]``) an array. What is called
`Kept` (a table) or `Given` (an array) belongs to one of many designs that lie side by side, 32 by 32: its places are
that far apart; a `Quick` table is in a GPU's quick memory, side by side for the threads of a group. Functions of the
equations (`Equations`) are no arguments there: the text has those of one structure.
"""

from __future__ import annotations

import ast
import inspect
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import ModuleType
from typing import Any

from keyaction.sim.code.c_text import DIVIDED, head
from keyaction.sim.code.parsed import parsed

HEAD = f"""\
/* Loops of the program, one design a thread. */
{head()}
#if defined(__CUDACC__)
{DIVIDED}
#define FIXED __device__ static const
#define nan_ __longlong_as_double(0x7ff8000000000000LL)
#define inf_ __longlong_as_double(0x7ff0000000000000LL)
PART real root_(real x)
{{
    real r, e, y = x + 1e-300;
    asm("rsqrt.approx.ftz.f64 %0, %1;" : "=d"(r) : "d"(y));
    e = fma(-y*r, r, 1.0);
    return x*fma(r*e, fma(0.375, e, 0.5), r);
}}
#define three_halves_(x) ((x)*root_(x))
#define five_quarters_(x) ((x)*root_(root_(x)))
#define both_(x, s, c) sincos(x, &s, &c)
#else
#include <stdlib.h>
#define FIXED static const
#define nan_ NAN
#define inf_ INFINITY
#define over_(a, b) ((a)/(b))
#define root_(x) sqrt(x)
#define both_(x, s, c) (s = sin(x), c = cos(x))
#define three_halves_(x) pow(x, 1.5)
#define five_quarters_(x) pow(x, 1.25)
#endif
#define lesser_(a, b) ((b) < (a) ? (b) : (a))
#define larger_(a, b) ((b) > (a) ? (b) : (a))
PART int whole_over_(int a, int b) {{ int c = a/b; return c*b != a && (a < 0) != (b < 0) ? c - 1 : c; }}
"""
"""What stands before loops, in double precision."""

_ARRAYS = {"Floats": "real", "Table": "real", "Kept": "real", "Given": "real", "Quick": "real", "Places": "int"}
_TABLES = ("Table", "Kept", "Quick")
_APART = {"Kept": "W", "Given": "W", "Quick": "Q"}
"""How far apart places are."""
_SIGNS: dict[type, str] = {
    ast.Add: "+", ast.Sub: "-", ast.Mult: "*", ast.Div: "/", ast.Lt: "<", ast.LtE: "<=", ast.Gt: ">", ast.GtE: ">=",
    ast.Eq: "==", ast.NotEq: "!=", ast.And: "&&", ast.Or: "||", ast.Not: "!", ast.USub: "-",
}  # fmt: skip
_REAL = {"sqrt": "root_", "exp": "exp", "log": "log", "sin": "sin", "cos": "cos", "abs": "fabs"}


@dataclass
class _Function:
    """A function: what each parameter is, and what it gives."""

    node: ast.FunctionDef
    space: Mapping[str, Any]
    kinds: dict[str, str]
    gives: str


class Loops:
    """Writes functions of modules as C.

    Parameters
    ----------
    modules : sequence of modules
        Those that are called before those that call.
    apart : bool
        Whether all arrays and tables of floats are of one of many designs (`Given`, `Kept`).
    """

    def __init__(self, modules: Sequence[ModuleType], apart: bool = False) -> None:
        self.functions: dict[str, _Function] = {}
        renamed = {"Floats": "Given", "Table": "Kept"} if apart else {}
        for module in modules:
            for node in parsed(inspect.getsource(module)).body:
                if isinstance(node, ast.FunctionDef):
                    kinds = {one.arg: ast.unparse(one.annotation) for one in node.args.args if one.annotation}
                    kinds = {name: renamed.get(kind, kind) for name, kind in kinds.items()}
                    gives = ast.unparse(node.returns) if node.returns else "None"
                    self.functions[node.name] = _Function(node, vars(module), kinds, gives)

    def text(self, names: Sequence[str]) -> str:
        """The functions of these names, in this order."""
        return "\n\n".join(self._written(name) for name in names)

    def declared(self, name: str) -> str:
        """The first line of a function in C."""
        function = self.functions[name]
        given = [part for one, kind in function.kinds.items() for part in _parameter(one, kind)]
        return f"PART {_returned(function.gives)} {name}({', '.join(given)})"

    def _written(self, name: str) -> str:
        return "\n".join([self.declared(name), *_Writer(self, self.functions[name]).block()])


def _parameter(name: str, kind: str) -> list[str]:
    if kind == "Equations":
        return []
    if kind not in _ARRAYS:
        return [f"{_returned(kind)} {name}"]
    sizes = [f"int {name}_h", f"int {name}_w"] if kind in _TABLES else [f"int {name}_n"]
    return [f"{_ARRAYS[kind]} *{name}", *sizes]


def _returned(kind: str) -> str:
    return {"None": "void", "float": "real", "int": "int"}[kind]


class _Writer:
    """Statements of one function."""

    def __init__(self, loops: Loops, function: _Function) -> None:
        self.loops, self.function = loops, function
        self.kinds = dict(function.kinds)
        nodes = list(ast.walk(function.node))
        counters = {id(one.target) for one in nodes if isinstance(one, ast.For)}
        stored = [one for one in nodes if isinstance(one, ast.Name) and isinstance(one.ctx, ast.Store)]
        self.assigned = {one.id for one in stored if id(one) not in counters}
        self.kinds |= {one.id: "int" for one in stored if id(one) in counters}
        self.locals: dict[str, str] = {}

    def block(self) -> list[str]:
        lines = self._lines(self.function.node.body)
        heads = {kind: [n for n, k in self.locals.items() if k == kind] for kind in ("real", "int")}
        return ["{", *(f"{kind} {', '.join(names)};" for kind, names in heads.items() if names), *lines, "}"]

    # -- statements ------------------------------------------------------------------------------------
    def _lines(self, body: Sequence[ast.stmt]) -> list[str]:
        return [line for one in body for line in self._statement(one)]

    def _statement(self, one: ast.stmt) -> list[str]:
        if isinstance(one, ast.Expr):
            return [] if isinstance(one.value, ast.Constant) else [f"{self.expr(one.value)};"]
        if isinstance(one, ast.Assign):
            return self._assigned(one)
        if isinstance(one, ast.AugAssign):
            return [self._augmented(one)]
        if isinstance(one, ast.Return):
            return [f"return {self.expr(one.value)};" if one.value else "return;"]
        if isinstance(one, ast.Break | ast.Continue):
            return ["break;" if isinstance(one, ast.Break) else "continue;"]
        if isinstance(one, ast.If):
            lines = [f"if ({self.expr(one.test)}) {{", *self._lines(one.body), "}"]
            return lines + (["else {", *self._lines(one.orelse), "}"] if one.orelse else [])
        if isinstance(one, ast.While):
            return [f"while ({self.expr(one.test)}) {{", *self._lines(one.body), "}"]
        if isinstance(one, ast.For):
            return self._loop(one)
        raise self._unknown(one)

    def _augmented(self, one: ast.AugAssign) -> str:
        target, value = self.expr(one.target), self.expr(one.value)
        divided = isinstance(one.op, ast.Div)
        if self.kind(one.target) == "int" and (divided or self.kind(one.value) == "float"):
            raise self._unknown(one)  # C would cut off what is no whole number
        if divided:
            return f"{target} = over_({target}, {value});"
        if type(one.op) not in _SIGNS:
            raise self._unknown(one)
        return f"{target} {_SIGNS[type(one.op)]}= {value};"

    def _unknown(self, node: ast.AST) -> NotImplementedError:
        return NotImplementedError(f"{self.function.node.name}: {ast.unparse(node)}")

    def _loop(self, one: ast.For) -> list[str]:
        target, call = one.target, one.iter
        if not (isinstance(target, ast.Name) and isinstance(call, ast.Call) and ast.unparse(call.func) == "range"):
            raise self._unknown(one)
        given = [self.expr(part) for part in call.args]
        first, last = ("0", given[0]) if len(given) == 1 else given[:2]
        step, i = given[2] if len(given) == 3 else "1", target.id
        sign = ">" if step.startswith(("(-", "-")) else "<"
        at, body = i, self._lines(one.body)
        if i in self.assigned:  # it lasts beyond the loop
            at, body, self.locals[i] = f"{i}_at", [f"{i} = {i}_at;", *body], "int"
        head = f"for (int {at} = {first}, {at}_end = {last}; {at} {sign} {at}_end; {at} += {step}) {{"
        return [head, *body, "}"]

    def _assigned(self, one: ast.Assign) -> list[str]:
        (target,) = one.targets
        if isinstance(target, ast.Tuple) and isinstance(one.value, ast.Tuple):
            names = {ast.unparse(part) for part in target.elts}
            read = {n.id for n in ast.walk(one.value) if isinstance(n, ast.Name)}
            if names & read:
                raise self._unknown(one)
            pairs = zip(target.elts, one.value.elts, strict=True)
            return [line for left, right in pairs for line in self._assigned(ast.Assign([left], right))]
        if isinstance(target, ast.Subscript):
            return [f"{self._place(target)} = {self.expr(one.value)};"]
        if not isinstance(target, ast.Name):
            raise self._unknown(one)
        kind = self.kind(one.value)
        known = self.kinds.setdefault(target.id, kind)
        if known != kind and not (known == "float" and kind == "int"):
            raise self._unknown(one)
        if kind in _ARRAYS:
            pointer, length = self._array(one.value)
            return [f"{_ARRAYS[kind]} *{target.id} = {pointer}; const int {target.id}_n = {length};"]
        if target.id not in self.function.kinds:
            self.locals[target.id] = _returned(known)
        return [f"{target.id} = {self.expr(one.value)};"]

    # -- arrays ----------------------------------------------------------------------------------------
    def _place(self, node: ast.Subscript) -> str:
        """A place of an array or table."""
        kind = self.kind(node.value)
        if kind in _TABLES and isinstance(node.slice, ast.Tuple):
            row, column = (self.expr(one) for one in node.slice.elts)
            index = f"({row})*{ast.unparse(node.value)}_w + {column}"
        elif kind in _ARRAYS and kind not in _TABLES:
            index = self.expr(node.slice)
        else:
            raise self._unknown(node)
        pointer = self._array(node.value)[0] if kind not in _TABLES else ast.unparse(node.value)
        return f"{pointer}[({index})*{_APART[kind]}]" if kind in _APART else f"{pointer}[{index}]"

    def _array(self, node: ast.expr) -> tuple[str, str]:
        """Pointer and length of an array: a name, or a row of a table."""
        if isinstance(node, ast.Name):
            return node.id, f"{node.id}_n"
        if isinstance(node, ast.Subscript) and self.kind(node.value) in _TABLES:
            table, kind = ast.unparse(node.value), self.kind(node.value)
            apart = f"*{_APART[kind]}" if kind in _APART else ""
            return f"({table} + ({self.expr(node.slice)})*{table}_w{apart})", f"{table}_w"
        raise self._unknown(node)

    # -- expressions -----------------------------------------------------------------------------------
    def kind(self, node: ast.expr) -> str:
        """What an expression is: float, int, or an array of some kind."""
        if isinstance(node, ast.Constant):
            return "int" if isinstance(node.value, int) else "float"
        if isinstance(node, ast.Name):
            if node.id in self.kinds:
                return self.kinds[node.id]
            return "int" if isinstance(self.function.space.get(node.id), int) else "float"
        if isinstance(node, ast.Subscript):
            return self._kind_of_part(node)
        if isinstance(node, ast.Compare | ast.BoolOp):
            return "int"
        if isinstance(node, ast.UnaryOp):
            return "int" if isinstance(node.op, ast.Not) else self.kind(node.operand)
        if isinstance(node, ast.BinOp):
            whole = self.kind(node.left) == "int" == self.kind(node.right) and not isinstance(node.op, ast.Div)
            return "int" if whole else "float"
        if isinstance(node, ast.IfExp):
            return "int" if self.kind(node.body) == "int" == self.kind(node.orelse) else "float"
        if isinstance(node, ast.Call):
            return self._kind_of_call(node)
        raise self._unknown(node)

    def _kind_of_part(self, node: ast.Subscript) -> str:
        if isinstance(node.value, ast.Attribute):
            return "int"  # of a shape
        kind = self.kind(node.value)
        if kind in _TABLES and not isinstance(node.slice, ast.Tuple):
            return "Given" if kind in _APART else "Floats"
        return "int" if kind == "Places" else "float"

    def _kind_of_call(self, node: ast.Call) -> str:
        name = ast.unparse(node.func)
        if name in self.loops.functions:
            return self.loops.functions[name].gives
        if name in ("len", "int", "floor"):
            return "int"
        if name in ("abs", "min", "max"):
            return "int" if all(self.kind(one) == "int" for one in node.args) else "float"
        return "float"

    def expr(self, node: ast.expr | None) -> str:
        """An expression; parentheses stand wherever the text had an operation."""
        if isinstance(node, ast.Constant):
            return repr(node.value) if not isinstance(node.value, bool) else str(int(node.value))
        if isinstance(node, ast.Name):
            return self._named(node.id)
        if isinstance(node, ast.Subscript):
            if isinstance(node.value, ast.Attribute):
                name, axis = ast.unparse(node.value.value), ast.unparse(node.slice)
                table = self.kinds[name] in _TABLES
                return f"{name}_{'hw'[int(axis)]}" if table else f"{name}_n"
            return self._place(node)
        if isinstance(node, ast.UnaryOp):
            return f"({_SIGNS[type(node.op)]}{self.expr(node.operand)})"
        if isinstance(node, ast.BoolOp):
            return f"({f' {_SIGNS[type(node.op)]} '.join(self.expr(one) for one in node.values)})"
        if isinstance(node, ast.Compare) and len(node.ops) == 1:
            if isinstance(node.ops[0], ast.In | ast.NotIn):
                return self._among(node)
            return f"({self.expr(node.left)} {_SIGNS[type(node.ops[0])]} {self.expr(node.comparators[0])})"
        if isinstance(node, ast.IfExp):
            return f"({self.expr(node.test)} ? {self.expr(node.body)} : {self.expr(node.orelse)})"
        if isinstance(node, ast.BinOp):
            return self._operation(node)
        if isinstance(node, ast.Call):
            return self._called(node)
        raise self._unknown(node or ast.Pass())

    def _among(self, node: ast.Compare) -> str:
        """Whether a number is one of some."""
        (others,) = node.comparators
        if not isinstance(others, ast.Tuple):
            raise self._unknown(node)
        found = " || ".join(f"{self.expr(node.left)} == {self.expr(one)}" for one in others.elts)
        return f"({'!' if isinstance(node.ops[0], ast.NotIn) else ''}({found}))"

    def _named(self, name: str) -> str:
        if name in self.kinds:
            return name
        value = self.function.space.get(name)
        if not isinstance(value, int | float):
            raise NotImplementedError(f"{self.function.node.name}: {name}")
        if value != value or value in (float("inf"), -float("inf")):
            return "nan_" if value != value else "inf_" if value > 0 else "(-inf_)"
        return f"({value!r})" if value < 0 else repr(value)

    def _operation(self, node: ast.BinOp) -> str:
        left, right = self.expr(node.left), self.expr(node.right)
        whole = self.kind(node.left) == "int" == self.kind(node.right)
        if isinstance(node.op, ast.Div):
            return f"over_((real){left}, {right})" if whole else f"over_({left}, {right})"
        if isinstance(node.op, ast.FloorDiv) and whole:
            return f"whole_over_({left}, {right})"
        if isinstance(node.op, ast.Mod) and whole:
            return f"({left} - whole_over_({left}, {right})*{right})"
        if type(node.op) not in _SIGNS:
            raise self._unknown(node)
        return f"({left} {_SIGNS[type(node.op)]} {right})"

    def _called(self, node: ast.Call) -> str:
        name = ast.unparse(node.func)
        if name in self.loops.functions:
            return f"{name}({', '.join(self._given(node, self.loops.functions[name]))})"
        if name == "len":
            return self._array(node.args[0])[1]
        given = [self.expr(one) for one in node.args]
        if name in ("float", "int"):
            return f"(({'real' if name == 'float' else 'int'}){given[0]})"
        if name == "floor":
            return f"((int)floor({given[0]}))"
        if name in ("min", "max") and len(given) == 2:
            return f"{'lesser_' if name == 'min' else 'larger_'}({given[0]}, {given[1]})"
        if name in _REAL:
            return f"{'abs' if self.kind(node) == 'int' else _REAL[name]}({given[0]})"
        raise self._unknown(node)

    def _given(self, node: ast.Call, called: _Function) -> list[str]:
        found = list[str]()
        for one, kind in zip(node.args, called.kinds.values(), strict=True):
            if kind == "Equations":
                continue
            if kind not in _ARRAYS:
                found.append(self.expr(one))
                continue
            if self.kind(one) != kind:
                raise self._unknown(node)
            if kind in _TABLES:
                found += [ast.unparse(one), f"{ast.unparse(one)}_h", f"{ast.unparse(one)}_w"]
            else:
                found += self._array(one)
        return found
