"""The functions of a batch module as C: the same statements, for a GPU or for this machine's own C compiler.

One thread follows one design through all steps. Its rows are locals, so that a compiler keeps in registers what it
can; what an event leaves behind is written when it happens, not carried from step to step.
"""

from __future__ import annotations

import ast
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from keyaction.sim.code.folding import folded, number_of, opposites, row_of
from keyaction.sim.code.parsed import parsed
from keyaction.sim.code.watch import ALIKE_ROW, REPEAT_ROWS, WILD, close_watch

LANES, THREADS = 32, 128
"""Lanes that lie side by side in a block, which one group of threads reads at a time; threads that start together."""

EXACT = "/* Sums and products are rounded one by one. */"
"""First line of a text that is to be compiled so."""

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

_HEAD = """\
/* Generated from the equations of a train, one design a thread; made anew whenever they change. */
{words}
#define TINY {tiny}
#define larger(a, b) ((a) > (b) ? (a) : (b))
PART real above(real x) {{ return x > 0 ? x : 0; }}
PART real whether(real x) {{ return x > 0 ? 1 : 0; }}
{arithmetic}"""

DIVIDED = """\
/* A quick guess of 20 bits and one step of third order: no special cases, error about one digit in the last place. */
PART real over_(real a, real b)
{
    real r, e;
    asm("rcp.approx.ftz.f64 %0, %1;" : "=d"(r) : "d"(b));
    e = fma(-b, r, 1.0);
    e = fma(e, e, e);
    return a*fma(r, e, r);
}"""
"""A GPU's quotient in double precision."""

_DOUBLE = f"""\
PART real size(real x) {{ return fabs(x); }}
PART real whole_below(real x) {{ return floor(x); }}
#if defined(__CUDACC__)
{DIVIDED}
PART real root_over(real x)
{{
    real r, e;
    x += TINY;
    asm("rsqrt.approx.ftz.f64 %0, %1;" : "=d"(r) : "d"(x));
    e = fma(-x*r, r, 1.0);
    return fma(r*e, fma(0.375, e, 0.5), r);
}}
#else
PART real over_(real a, real b) {{ return a/b; }}
PART real root_over(real x) {{ return 1/sqrt(x + TINY); }}
#endif"""

_FLOAT = """\
PART real size(real x) { return fabsf(x); }
PART real whole_below(real x) { return floorf(x); }
#if defined(__CUDACC__)
PART real over_(real a, real b) { return __fdividef(a, b); }
PART real root_over(real x)
{
    float r;
    asm("rsqrt.approx.ftz.f32 %0, %1;" : "=f"(r) : "f"(x + TINY));
    return r;
}
#else
PART real over_(real a, real b) { return a/b; }
PART real root_over(real x) { return 1/sqrtf(x + TINY); }
#endif"""


def head(real: str = "double") -> str:
    """The words of a text that calls that ``real``."""
    return f"""\
typedef {real} real;
#define W {LANES}LL
#if defined(__CUDACC__)
#define MOTION extern "C" __global__ void __launch_bounds__({THREADS})
#define PART __device__ __forceinline__ static
#define EACH(j, N) const long long j = blockIdx.x*(long long)blockDim.x + threadIdx.x; if (j < N)
#else
#include <math.h>
#define MOTION void
#define PART static inline
#define EACH(j, N) for (long long j = 0; j < N; j++)
#endif"""


@dataclass
class _Body:
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
        loaded = {_name(s): row for s in self.statements if _name(s) and (row := row_of(s.value)) is not None}
        uses = self._uses()
        for name, row in loaded.items():
            seen = uses[name]
            if all(kind == "kept" for kind in seen) and seen:
                self.rare[name] = row
        for name, seen in uses.items():
            if name in loaded and set(seen) <= {"kept", "counted", "compared"} and "counted" in seen:
                self.kinds[name] = self.rows[loaded[name]] = "int"
        for s in self.statements:
            if name := _name(s):
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
            own = _name(s)
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


class _Straight(_Body):
    """Statements from the parameters of a design to its constants, divisions as they stand."""

    def lines(self) -> list[str]:
        found = []
        for one in self.statements:
            target, value = one.targets[0], self.expr(one.value)
            name = f"const real {_name(one)}" if isinstance(target, ast.Name) else self.expr(target)
            found.append(f"{name} = {value};")
        return found

    def _place(self, node: ast.Subscript) -> str:
        return f"{ast.unparse(node.value).upper()}[{ast.unparse(node.slice.elts[1])}]"  # type: ignore[attr-defined]

    def _operation(self, node: ast.BinOp, kind: str) -> str:
        if isinstance(node.op, ast.Div):
            return f"({self.expr(node.left)}/{self.expr(node.right)})"
        return super()._operation(node, kind)


def _rows_of(statements: Sequence[ast.Assign], name: str) -> list[int]:
    """Rows that a name is loaded from."""
    return [row for s in statements if _name(s) == name and (row := row_of(s.value)) is not None]


def _enough(statements: Sequence[ast.Assign]) -> str:
    """Ends repeated strokes once one of them has failed, or went as the one before, if no body has turned too far."""
    wide = _rows_of(statements, "wide")
    failed, alike = (_rows_of(statements, f"R{k}") for k in (REPEAT_ROWS - 1, ALIKE_ROW))
    ends = [" && ".join([f"A{row} != 0", *(f"A{k} < calm" for k in wide)]) for row in failed]
    ends += [" && ".join([f"A{row} == 1", *(f"A{k} < (real){WILD[0]!r}" for k in wide)]) for row in alike]
    return f"if ({' || '.join(ends)}) break;"


def _closely(statements: Sequence[ast.Assign]) -> list[ast.Assign]:
    """Repeated strokes whose record tells how close the verdict was too."""
    named = {_name(s): s for s in statements}
    first = row_of(next(s.value for s in statements if _name(s) == "R0"))
    most = named["hollow"].value.right.left  # type: ignore[attr-defined]  # ... & (most < empty_at)
    gap = named["R3"].value.args[0].right.left  # type: ignore[attr-defined]  # pick(hollow & (gap <= 0.0), 1.0, R3)
    assert first is not None
    parts = close_watch(first, most.id, gap.id)
    begin, judging, hollow, end = (
        [s for s in parsed("\n".join(one)).body if isinstance(s, ast.Assign)] for one in parts
    )
    found = list(begin)
    for one in statements:
        found += judging if _name(one) == "fault" and "R3" in ast.unparse(one.value) else []
        found.append(one)
        found += hollow if one is named["hollow"] else []
    return [*found, *end]


def _name(one: ast.Assign) -> str:
    return one.targets[0].id if isinstance(one.targets[0], ast.Name) else ""


def _kept(one: ast.Assign) -> tuple[str, str, ast.expr] | None:
    """Condition, name and value of ``name = pick(condition, value, name)``: an event's record."""
    call, name = one.value, _name(one)
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


def _block(body: _Body, lines: Sequence[str]) -> list[str]:
    """Statements in a scope of their own."""
    declared = {
        kind: [n for n, k in body.kinds.items() if k == kind and n not in body.rare] for kind in ("real", "int")
    }
    heads = [f"{kind} {', '.join(names)};" for kind, names in declared.items() if names]
    return ["{", *heads, *lines, "}"]


class CText:
    """Writes the C text of a batch module.

    Parameters
    ----------
    source : str
        The batch module.
    real : {"float64", "float32"}
        What the text calls ``real``.
    known : mapping of int to float
        Rows that are 0 or 1 in every lane to be computed.
    """

    def __init__(self, source: str, real: str = "float64", known: Mapping[int, float] | None = None) -> None:
        self.real, self.known = real, known or {}
        functions = [node for node in parsed(source).body if isinstance(node, ast.FunctionDef)]
        self.functions = {one.name: [s for s in one.body if isinstance(s, ast.Assign)] for one in functions}
        self.functions["repeat_closely_step"] = _closely(self.functions["repeat_step"])
        first = next(row for s in self.functions["stroke_step"] if _name(s) == "c0" and (row := row_of(s.value)))
        turned = opposites(self.functions["constants_of"])
        self.opposite = {first + k: first + m for k, m in turned.items()}

    def text(self, function: str) -> str:
        """The text of one function: ``stroke``, ``repeat``, ``repeat_closely``, ``trace`` or ``constants``."""
        single = self.real == "float32"
        begun = _HEAD.format(
            words=head("float" if single else "double"),
            tiny="1e-30f" if single else "1e-300",
            arithmetic=_FLOAT if single else _DOUBLE,
        )
        if function == "constants":
            return "\n".join([EXACT, begun, *self._constants(), ""])
        lines = self._trace() if function == "trace" else self._watched(function)
        return "\n".join([begun, *lines, ""])

    def _constants(self) -> list[str]:
        """The constants of a design, from its parameters."""
        lines = _Straight(self.functions["constants_of"], "float64").lines()
        return [
            "MOTION constants(long long N, int width, int count, const real *p, const real *lengths, real *c)",
            "{ EACH(j, N) {",
            "const real *P = p + j*width; real *C = c + j*count; const real h = lengths[j];",
            *lines,
            "} }",
        ]

    def _body(self, name: str) -> _Body:
        return _Body(folded(self.functions[name], self.known, self.opposite), self.real)

    def _watched(self, name: str) -> list[str]:
        body = self._body(f"{name}_step")
        block = _block(body, body.lines())
        if name == "stroke":
            return _function(f"{name}({_GIVEN})", "", [body], block)
        block.append(_enough(self.functions[f"{name}_step"]))
        return _function(f"{name}({_GIVEN}, real calm)", "", [body], block)

    def _trace(self) -> list[str]:
        """Records while there is room for them: a motion that only relaxes has none."""
        seen, body = self._body("record"), self._body("trace_step")
        record = [line.replace("OUT[", "told[") for line in seen.lines()]
        block = [
            "if (k < kept && i % every == 0)",
            *_block(seen, [*record, "k++;"]),
            *_block(body, body.lines()),
        ]
        start = f"int k = 0; real *told = OUT + (j/W)*(kept*{self._recorded()}*W) + j%W;"
        return _function(f"trace({_GIVEN}, int every, int kept, real relax, real *OUT)", start, [seen, body], block)

    def _recorded(self) -> int:
        """Figures of a record."""
        return sum(ast.unparse(s.targets[0]).startswith("OUT[") for s in self.functions["record"])


_GIVEN = "long long N, int rows, const int *steps, const real *lengths, real *all"


def _function(declared: str, start: str, bodies: Sequence[_Body], block: Sequence[str]) -> list[str]:
    """A motion: the rows of a lane loaded, its steps, the rows that change stored."""
    kinds = {row: kind for body in bodies for row, kind in body.rows.items()}
    stored = set().union(*(body.stored for body in bodies))
    first = [
        f"{'' if row in stored else 'const '}{kind} A{row} = {'(int)' if kind == 'int' else ''}A[{row}*W];"
        for row, kind in sorted(kinds.items())
    ]
    return [
        f"MOTION {declared}",
        "{ EACH(j, N) {",
        "real *A = all + (j/W)*(rows*W) + j%W;",
        "const real h = lengths[j], half = (real)0.5*h; const int n = steps[j];",
        *([start] if start else []),
        *first,
        "for (int i = 0; i < n; i++) { const real t = i*h;",
        *block,
        "}",
        *(f"A[{row}*W] = A{row};" for row in sorted(stored)),
        "} }",
    ]
