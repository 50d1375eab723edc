"""The slow press of one structure as C: the loops of `path.py`, with the equations of the structure at rest.

Three functions, each of a design a thread: `walked` follows both ways, `shown` says what is seen at every point of one
(a point a thread), and what reads figures from them. All arrays are blocks of 32 designs, (rows, 32).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property, lru_cache

from keyaction.models.train.structure import TURN_LIMIT, Structure
from keyaction.sim.code.loops_text import HEAD, Loops
from keyaction.sim.statics import feel_curve, reading
from keyaction.sim.statics.compiled import LOOPS
from keyaction.sim.statics.events import BRACKET, EVENTS, TOUCH
from keyaction.sim.statics.path import ARRIVED, BRACKETS, FAR, HERE, SLIP, SLIPS, SPAN, TANGENT, TESTS
from keyaction.sim.statics.still import STIFFNESS, WAY, Still, still_of

DONE, OPEN, WIDE, UP = 0, 10, 11, 20
"""Codes of a press: both ways followed; the pallet open at rest, a body turned too far; a body turned too far on the
way down. Others are how the way down ended (`keyaction.sim.statics.path`), or that much more: the way up."""
CODE, DOWN_COUNT, UP_COUNT, DOWN_TURNS, UP_TURNS, TOLD = range(6)
"""Whole numbers told of a press: code, points of both ways, turns of the loop that they took; how many."""

QUICK = 48 * 1024
"""Bytes of quick memory that a group of threads has on any GPU."""

_GENERATED = ("balanced", "looked")
_CALLED = [name for module in LOOPS for name in module.COMPILED if name not in _GENERATED]


class PressText:
    """Writes the C text of presses of a structure."""

    def __init__(self, still: Still) -> None:
        self.still = still
        places, layout = still.places, still.layout
        self.sizes = {
            "UNKNOWN": len(places.unknown),
            "SLIPPING": len(places.slips),
            "STATES": len(layout.states),
            "SEEN": len(layout.observables),
            "PARAMETERS": len(layout.parameters),
            "GROOVES": len(still.grooves()),
            "TURNS": len(places.turns),
        }

    @property
    def threads(self) -> int:
        """Threads of a group whose equations a GPU's quick memory takes; none where it takes not even those of few."""
        n = self.sizes["UNKNOWN"]
        return next((many for many in (64, 32) if (n + 1) * (n + 2) * many * 8 <= QUICK), 0)

    @property
    def width(self) -> int:
        """Figures of a point of a path."""
        return 2 * (self.sizes["UNKNOWN"] + 1) + self.sizes["SLIPPING"] + 1

    @cached_property
    def _often(self) -> dict[str, list[tuple[str, int]]]:
        """What every turn needs."""
        return {name: getattr(self.still, name)() for name in _GENERATED}

    @cached_property
    def _lasting(self) -> list[int]:
        """What of it does not change along a path."""
        return self.still.terms.lasting([term for one in self._often.values() for _, term in one], _changes)

    @property
    def constants(self) -> int:
        """Constants of a design."""
        return len(self._lasting)

    @cached_property
    def source(self) -> str:
        """`walked` and `shown`."""
        loops, still = Loops(LOOPS), self.still
        often, lasting = self._often, self._lasting
        known = {term: f"p[{i}*W]" for i, term in enumerate(lasting)}
        kept = [(f"kept[{i}*W]", term) for i, term in enumerate(lasting)]
        generated = {
            "constant": ("PART void constant(real *p, real stiffness, real *kept)", kept),
            "observed": (
                "PART void observed(real *p, real stiffness, real way, real *y, real *seen)",
                still.observed(),
            ),
            "counted": ("PART void counted(real *p, real *scale, real *reach)", still.counted()),
            "begun": ("PART void begun(real *p, real *y, real *told)", still.begun()),
        }
        written = [self._function(loops.declared(name), stored, known) for name, stored in often.items()]
        written += [self._function(*one, {}) for one in generated.values()]
        places, sizes = still.places, {**self.sizes, "WIDTH": self.width, "CONSTANTS": self.constants}
        fixed = {
            "unknown": places.unknown,
            "rows": places.rows,
            "slips": places.slips,
            "owner": places.owner,
            "columns": (*places.columns, -1),
            "turns": places.turns,
            "groove": [state for _, state in still.grooves()],
        }
        return "\n".join(
            [
                HEAD,
                *(f"#define {name} {size}" for name, size in sizes.items()),
                _quick(self.threads),
                *(
                    f"FIXED int {name}_of[] = {{{', '.join(map(str, given or (0,)))}}};"
                    for name, given in fixed.items()
                ),
                *written,
                loops.text(_CALLED),
                _WALKED,
                _SHOWN,
                "",
            ]
        )

    def reading(self, text: str) -> str:
        """`read`, of functions that have ``read_press`` among them."""
        sizes = (f"#define {name} {self.sizes[name]}" for name in ("STATES", "SEEN"))
        return "\n".join([HEAD, *sizes, text, _READ, ""])

    def _function(self, declared: str, stored: Sequence[tuple[str, int]], known: Mapping[int, str]) -> str:
        return "\n".join([declared, "{", *self.still.terms.lines(stored, _spelled, known), "}"])


def _changes(array: str, _: int) -> bool:
    """Whether what stands there changes along a path."""
    return array in ("y", WAY)


def _quick(threads: int) -> str:
    """Room for Newton's equations: in a GPU's quick memory, if a group of so many threads finds it there."""
    size = "(UNKNOWN + 1)*(UNKNOWN + 2)"
    if not threads:
        return f"#define Q 1\n#define EQUATIONS real m[{size}]"
    quick = f"__shared__ real shared[{size}*{threads}]; real *m = shared + threadIdx.x"
    lines = ["#if defined(__CUDACC__)", f"#define Q {threads}", f"#define EQUATIONS {quick}", "#else", "#define Q 1"]
    return "\n".join([*lines, f"#define EQUATIONS real m[{size}]", "#endif"])


def _spelled(array: str, index: int) -> str:
    """A place of what is given: states lie together, parameters and what drives apart."""
    if array in (WAY, STIFFNESS):
        return array
    return f"y[{index}]" if array == "y" else f"{array}[{index}*W]"


_WALKED = f"""\
MOTION walked(long long N, int room, real force, real stiffness, real *P, real *R, real *S, real *C, real *F,
    real *X, real *Y, int *T, real *E)
{{ EACH(j, N) {{
const long long b = j/W, l = j%W;
real *p = P + b*(PARAMETERS*W) + l, *rest = R + b*(STATES*W) + l;
real *kept = C + b*(CONSTANTS*W) + l;
real *found = F + b*({EVENTS}*WIDTH*W) + l, *points = X + b*(room*WIDTH*W) + l;
int *told = T + b*({TOLD}*W) + l, counts[2] = {{0, 0}};
real scale[UNKNOWN + 1], reach[SLIPPING + 1], y[STATES], seen[2 + GROOVES], wanted[3] = {{force, stiffness, 0.0}};
real v[{SPAN}*(UNKNOWN + 1)], w[{SLIPS}*(SLIPPING + 1)];
real off[UNKNOWN], along[UNKNOWN], by[UNKNOWN*(UNKNOWN + SLIPPING)], look[5];
real tests[{TESTS}*{EVENTS + 1}], brackets[{BRACKETS}*{BRACKET}], shares[{EVENTS}];
int order[UNKNOWN + 1], code = {DONE}, wide = 0;
EQUATIONS;
constant(p, stiffness, kept);
counted(p, scale, reach);
for (int i = 0; i < STATES; i++) y[i] = 0.0;
for (int i = 0; i < UNKNOWN; i++) y[unknown_of[i]] = rest[unknown_of[i]*W];
begun(p, y, seen);
E[b*W + l] = seen[0];
for (int i = 0; i < TURNS; i++) if (fabs(y[turns_of[i]]) > {TURN_LIMIT}) wide = 1;
if (wide && seen[1] > 0.0) code = {OPEN};
for (int i = 0; i < GROOVES; i++) if (seen[2 + i] <= 0.0) y[groove_of[i]] = 0.0;
for (int i = 0; i < UNKNOWN; i++) v[{HERE}*(UNKNOWN + 1) + i] = y[unknown_of[i]]/scale[i];
v[{HERE}*(UNKNOWN + 1) + UNKNOWN] = (seen[0] + {TOUCH!r})/scale[UNKNOWN];
for (int i = 0; i < UNKNOWN; i++) v[{TANGENT}*(UNKNOWN + 1) + i] = 0.0;
v[{TANGENT}*(UNKNOWN + 1) + UNKNOWN] = 1.0;
for (int i = 0; i < SLIPPING; i++) w[{SLIP}*SLIPPING + i] = rest[slips_of[i]*W];
for (int i = 0; i <= UNKNOWN; i++) S[b*((UNKNOWN + 1)*W) + i*W + l] = scale[i];
for (int way = 0; way < 2; way++) {{
    counts[0] = counts[1] = 0;
    if (code == {DONE}) {{
        for (int i = 0; i < SLIPPING; i++) w[{FAR}*SLIPPING + i] = v[{HERE}*(UNKNOWN + 1) + owner_of[i]];
        code = walk(kept, CONSTANTS, 0, 0, 0, (int *)unknown_of, UNKNOWN, (int *)rows_of, UNKNOWN, (int *)slips_of,
            SLIPPING, (int *)owner_of, SLIPPING, scale, UNKNOWN + 1, reach, SLIPPING, (int *)columns_of, 5, wanted, 3,
            way ? -1.0 : 1.0, v, {SPAN}, UNKNOWN + 1, w, {SLIPS}, SLIPPING, order, UNKNOWN + 1, m, UNKNOWN + 1,
            UNKNOWN + 2, y, STATES, 0, 0, 0, 0, 0, 0, 0, off, UNKNOWN, along, UNKNOWN, by, UNKNOWN, UNKNOWN + SLIPPING,
            0, 0, 0, 0, 0, 0, 0, 0, look, 5, tests, {TESTS}, {EVENTS + 1}, brackets, {BRACKETS}, {BRACKET}, shares,
            {EVENTS}, found, {EVENTS}, WIDTH, points, room, WIDTH, counts, 2);
        if (code != {ARRIVED}) code += way*{UP};
    }}
    told[({DOWN_COUNT} + way)*W] = counts[0];
    told[({DOWN_TURNS} + way)*W] = counts[1];
    if (code == {DONE} && way == 0) {{
        real *last = points + (counts[0] - 1)*(WIDTH*W);
        for (int i = 0; i <= UNKNOWN; i++) {{
            v[{HERE}*(UNKNOWN + 1) + i] = last[i*W];
            v[{TANGENT}*(UNKNOWN + 1) + i] = -last[(UNKNOWN + 1 + SLIPPING + i)*W];
        }}
        for (int i = 0; i < SLIPPING; i++) w[{SLIP}*SLIPPING + i] = last[(UNKNOWN + 1 + i)*W];
        for (int k = 0; k < counts[0]; k++) for (int i = 0; i < TURNS; i++)
            if (fabs(points[(k*WIDTH + turns_of[i])*W]*scale[turns_of[i]]) > {TURN_LIMIT}) wide = 2;
        points = Y + b*(room*WIDTH*W) + l;
    }}
}}
told[{CODE}*W] = code == {DONE} && wide == 2 ? {WIDE} : code;
}} }}
"""

_SHOWN = f"""\
MOTION shown(long long N, int room, int way, real stiffness, real *P, real *S, real *X, int *T, real *finger,
    real *states, real *seen, real *extreme)
{{ EACH(j, N) {{
const long long l = j%W, b = (j/W)/room;
const int i = (int)((j/W)%room), *told = T + b*({TOLD}*W) + l;
if (i < told[({DOWN_COUNT} + way)*W]) {{
    real *p = P + b*(PARAMETERS*W) + l, *scale = S + b*((UNKNOWN + 1)*W) + l;
    real *z = X + (b*room + i)*(WIDTH*W) + l, y[STATES];
    for (int k = 0; k < STATES; k++) y[k] = 0.0;
    for (int k = 0; k < UNKNOWN; k++) y[unknown_of[k]] = z[k*W]*scale[k*W];
    for (int k = 0; k < SLIPPING; k++) y[slips_of[k]] = z[(UNKNOWN + 1 + k)*W];
    const real at = z[UNKNOWN*W]*scale[UNKNOWN*W];
    finger[(b*room + i)*W + l] = at;
    extreme[(b*room + i)*W + l] = z[(WIDTH - 1)*W];
    for (int k = 0; k < STATES; k++) states[((b*room + i)*STATES + k)*W + l] = y[k];
    observed(p, stiffness, at, y, seen + (b*room + i)*(SEEN*W) + l);
}}
}} }}
"""


_READ = f"""\
MOTION read(long long N, int room, int scratch, int c, int g, int m, real *down_finger, real *down_states,
    real *down_seen, real *down_extreme, real *up_finger, real *up_states, real *up_seen, real *up_extreme, int *T,
    real *E, int *columns, real *G, real *K,
    real *O)
{{ EACH(j, N) {{
const long long b = j/W, l = j%W;
const int *told = T + b*({TOLD}*W) + l, way = {DOWN_COUNT}*W;
real *given = G + b*(g*W) + l, *out = O + b*(m*W) + l;
given[0] = E[b*W + l];
if (told[{CODE}*W] == {DONE} || told[{CODE}*W] == {WIDE})
    read_press(down_finger + b*(room*W) + l, told[way], down_states + b*(room*STATES*W) + l, told[way], STATES,
        down_seen + b*(room*SEEN*W) + l, told[way], SEEN, down_extreme + b*(room*W) + l, told[way], told[way],
        up_finger + b*(room*W) + l, told[way + W], up_states + b*(room*STATES*W) + l, told[way + W], STATES,
        up_seen + b*(room*SEEN*W) + l, told[way + W], SEEN, up_extreme + b*(room*W) + l, told[way + W],
        told[way + W], columns, c, given, g, K + b*(scratch*W) + l, scratch, out, m);
else for (int i = 0; i < m; i++) out[i*W] = nan_;
}} }}
"""


@lru_cache(maxsize=1)
def read_text() -> str:
    """The functions of `keyaction.sim.statics.reading` as C."""
    loops = Loops([feel_curve, reading], apart=True)
    return loops.text([*feel_curve.COMPILED, *reading.COMPILED])


@lru_cache(maxsize=32)
def press_text(structure: Structure) -> PressText:
    """The C text of presses of a structure."""
    return PressText(still_of(structure))
