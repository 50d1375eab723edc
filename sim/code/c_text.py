"""The functions of a batch module as C: the same statements, for a GPU or for this machine's own C compiler.

One thread follows one design through all steps. Its rows are locals, so that a compiler keeps in registers what it
can; what an event leaves behind is written when it happens, not carried from step to step.
"""

from __future__ import annotations

import ast
from collections.abc import Mapping, Sequence

from keyaction.sim.code.c_bodies import Body, Straight, scoped
from keyaction.sim.code.folding import folded, name_of, opposites, row_of
from keyaction.sim.code.parsed import parsed
from keyaction.sim.code.repeated_strokes import enough

LANES, THREADS = 32, 128
"""Lanes that lie side by side in a block, which one group of threads reads at a time; threads that start together."""

EXACT = "/* Sums and products are rounded one by one. */"
"""First line of a text that is to be compiled so."""

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
        first = next(row for s in self.functions["stroke_step"] if name_of(s) == "c0" and (row := row_of(s.value)))
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
        lines = Straight(self.functions["constants_of"], "float64").lines()
        return [
            "MOTION constants(long long N, int width, int count, const real *p, const real *lengths, real *c)",
            "{ EACH(j, N) {",
            "const real *P = p + j*width; real *C = c + j*count; const real h = lengths[j];",
            *lines,
            "} }",
        ]

    def _body(self, name: str) -> Body:
        return Body(folded(self.functions[name], self.known, self.opposite), self.real)

    def _watched(self, name: str) -> list[str]:
        body = self._body(f"{name}_step")
        block = scoped(body, body.lines())
        if name == "stroke":
            return _function(f"{name}({_GIVEN})", "", [body], block)
        block.append(enough(self.functions[f"{name}_step"]))
        return _function(f"{name}({_GIVEN})", "", [body], block)

    def _trace(self) -> list[str]:
        """Records while there is room for them: a motion that only relaxes has none."""
        seen, body = self._body("record"), self._body("trace_step")
        record = [line.replace("OUT[", "told[") for line in seen.lines()]
        block = [
            "if (k < kept && i % every == 0)",
            *scoped(seen, [*record, "k++;"]),
            *scoped(body, body.lines()),
        ]
        start = f"int k = 0; real *told = OUT + (j/W)*(kept*{self._recorded()}*W) + j%W;"
        return _function(f"trace({_GIVEN}, int every, int kept, real relax, real *OUT)", start, [seen, body], block)

    def _recorded(self) -> int:
        """Figures of a record."""
        return sum(ast.unparse(s.targets[0]).startswith("OUT[") for s in self.functions["record"])


_GIVEN = "long long N, int rows, const int *steps, const real *lengths, real *all"


def _function(declared: str, start: str, bodies: Sequence[Body], block: Sequence[str]) -> list[str]:
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
