"""The batch module of a system: one time step over a block of lanes, and what is watched in it.

Integration is a linearly implicit leapfrog. Coordinates and slips stand at whole steps, speeds at half steps:
forces are taken at speeds carried half a step on by the last acceleration and corrected for what the new speed
does to a body's own damping, slips follow their linear equation
with 1 / (1 + x + x^2/2) for its exponential, and the groove's pressure takes a trapezoidal step linearised in
the pressure. Second order, one evaluation of the forces a step, no matrix.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import sympy as sp
from sympy.printing.pycode import PythonCodePrinter

from keyaction.models.train.equations import System
from keyaction.sim.code.lowering import Lowering, assignments
from keyaction.sim.code.scalar import jacobian_entries, needed

Expr = Any

WIDTH = {"float64": 16, "float32": 32}
"""Lanes in a block: two vectors of 512 bits."""

DRIVE = (
    "down_rate",
    "lift",
    "up_rate",
    "touch",
    "depth",
    "k_finger",
    "alpha_finger",
    "smooth",
    "period",
    "frequency",
    "end",
    "ease",
    "ease_rate",
)
"""What a lane's drive holds: ramps down and up over a period, from the key's surface `touch` on."""

_INPUTS = ("k_finger", "alpha_finger")

CROSSINGS = ("start", "half", "full", "empty", "seated", "near", "far")
"""Events of a stroke, each kept as whether, when, and the values before and after."""
MEASURES = ("lift_top", "force_top", "openings", "open_now")
LIMITS = ("start_at", "half_at", "full_at", "empty_at", "near_at", "far_at", "reopened_at")

_LITERAL = re.compile(r"(?<![\w.])\d+\.\d+(?:e[+-]?\d+)?|(?<![\w.])\d+e-?\d+")

_HEAD = '''"""Generated from the equations of a train, for many designs at once; made anew whenever they change.

{structure}
"""

from math import cos, sin, sqrt

from keyaction.sim.code.lane_select import pick
from numpy import {real} as F
from numpy import floor

W = {width}


def pos(x):
    return pick(x > 0.0, x, 0.0)


def step(x):
    return pick(x > 0.0, 1.0, 0.0)


def rsqrt(x):
    return 1.0 / sqrt(x + TINY)


TINY = {tiny}
HELPERS = ("pos", "step", "rsqrt")
'''

_DRIVE = """\
past = pick(t < d_end, t - d_period*floor(t*d_frequency), d_period)
eased = pick(past < d_ease, past, d_ease)
r1 = (past - eased + eased*eased*d_ease_rate)*d_down_rate
in1 = pick(r1 < 1.0, 1.0, 0.0)
r1 = pick(r1 < 1.0, r1, 1.0)
r2 = (past - d_lift)*d_up_rate
in2 = pick((r2 > 0.0) & (r2 < 1.0), 1.0, 0.0)
r2 = pick(r2 > 0.0, r2, 0.0)
r2 = pick(r2 < 1.0, r2, 1.0)
s1 = r1*r1*r1*(10.0 + r1*(6.0*r1 - 15.0))
s2 = r2*r2*r2*(10.0 + r2*(6.0*r2 - 15.0))
g1 = 30.0*r1*r1*(1.0 - r1)*(1.0 - r1)
g2 = 30.0*r2*r2*(1.0 - r2)*(1.0 - r2)
x_finger = d_touch + d_depth*(r1 + d_smooth*(s1 - r1) - r2 - d_smooth*(s2 - r2))
speed1 = d_down_rate*2.0*eased*d_ease_rate*(in1 + d_smooth*(g1 - in1))
v_finger = d_depth*(speed1 - d_up_rate*(in2 + d_smooth*(g2 - in2)))
f_finger = 0.0"""


def _slug(name: str) -> str:
    return name.replace("-", "_")


class LaneModule:
    """Writes the module of one system."""

    def __init__(self, system: System, real: str = "float64") -> None:
        self.system, self.real = system, real
        self.lower = Lowering(system)
        self.jacobian = jacobian_entries(system)
        self.rates = {row.symbol: rate for row, rate in zip(system.states, system.rates, strict=True)}
        self.slips = [row for row in system.states if row.kind == "slip"]
        self.pressures = [row for row in system.states if row.kind == "pressure"]
        self.works = [row for row in system.states if row.kind == "work"]
        self.bodies = [_slug(c.name) for c in system.coordinates]
        names = [f"q_{b}" for b in self.bodies] + [f"h_{b}" for b in self.bodies] + [f"a_{b}" for b in self.bodies]
        names += [row.symbol.name for row in (*self.slips, *self.pressures, *self.works)]
        self.names = names
        self.lower_all()
        fixed = len(DRIVE) + len(LIMITS) + len(self.lower.constants)
        self.rows = {name: fixed + i for i, name in enumerate(names)}

    def lower_all(self) -> None:
        """Lower every block of a step; after it the constants are all known."""
        self.step = self._step()
        self.watch = self._channels(("key_force", "key_travel", "pallet_lift", "seat_gap", "groove_pressure"))
        self.everything = self._everything()
        self.works_done = self._work_lines()

    @property
    def record_row(self) -> int:
        """First row of the record, after constants and states."""
        return len(DRIVE) + len(LIMITS) + len(self.lower.constants) + len(self.names)

    # -- pieces of a step ------------------------------------------------------------------------------
    def _lowered(self, definitions: Sequence[Any], results: Iterable[tuple[str, Expr]], prefix: str) -> list[str]:
        named = [(d.symbol.name, self.lower(d.expr)) for d in definitions]
        return assignments(named, [(name, self.lower(expr)) for name, expr in results], prefix)

    def _step(self) -> dict[str, list[str]]:
        acc = [(f"a_{b}", self.rates[c.v]) for b, c in zip(self.bodies, self.system.coordinates, strict=True)]
        slopes = self._damping_slopes()
        kept = needed(self.system.definitions, [expr for _, expr in (*acc, *slopes)])
        forces = self._lowered(kept, [*acc, *slopes], "w")
        for b, _ in zip(self.bodies, slopes, strict=True):
            forces.append(f"a_{b} = (a_{b} - half*s_{b}*p_{b})/(1.0 - half*s_{b})")
        h = sp.Symbol("h", real=True)
        linear = []
        for row in self.slips:
            rate = self.rates[row.symbol]
            linear += [
                (f"x_{row.symbol.name}", -h * sp.diff(rate, row.symbol)),
                (f"y_{row.symbol.name}", h * rate.subs(row.symbol, 0)),
            ]
        slips = self._lowered([], linear, "z")
        for row in self.slips:
            u = row.symbol.name
            slips.append(f"{u} = ({u} + y_{u}*(1.0 + 0.5*x_{u}))/(1.0 + x_{u}*(1.0 + 0.5*x_{u}))")
        return {"forces": forces, "slips": slips, "pressures": self._pressure_lines()}

    def _differentiated(self) -> list[_Named]:
        """Definitions of the system with their derivatives among them, in order."""
        return [_Named(sp.Symbol(name, real=True), expr) for name, expr in self.jacobian[0]]

    def _damping_slopes(self) -> list[tuple[str, Expr]]:
        """How each acceleration falls with its own speed: felts and rods in a blow are stiff in damping.

        The share of the pins' changing loads is left out: it is small, and the slope only guides the step.
        """
        slopes: dict[Expr, Expr] = {c.q: sp.S.Zero for c in self.system.coordinates}
        for element in self.system.elements:
            resisting = sp.diff(element.law.force(element.stretch, element.rate), element.rate)
            for port, _ in element.ends:
                slopes[port.coordinate.q] -= resisting * port.gradient**2
        inertia = {
            c.q: sp.Symbol(f"M_{b}", real=True) for b, c in zip(self.bodies, self.system.coordinates, strict=True)
        }
        return [
            (f"s_{b}", slopes[c.q] / inertia[c.q]) for b, c in zip(self.bodies, self.system.coordinates, strict=True)
        ]

    def _pressure_lines(self) -> list[str]:
        definitions, entries = self._differentiated(), self.jacobian[1]
        lines = []
        for row in self.pressures:
            i = next(k for k, other in enumerate(self.system.states) if other is row)
            slope = next(expr for a, b, expr in entries if a == i and b == i)
            rate, p = self.rates[row.symbol], row.symbol.name
            kept = needed(definitions, [rate, slope])
            lines += self._lowered(kept, [(f"f_{p}", rate), (f"g_{p}", slope)], "g")
            lines.append(f"{p} = {p} + h*f_{p}/(1.0 - 0.5*h*g_{p})")
        return lines

    def _channels(self, names: Sequence[str]) -> list[str]:
        """Lines for some observables; what the forces' lines already define is not computed again."""
        by_name = {o.name: o.expr for o in self.system.observables}
        acc = [self.rates[c.v] for c in self.system.coordinates]
        have = {d.symbol for d in needed(self.system.definitions, acc)}
        exprs = [by_name[name] for name in names]
        more = [d for d in needed(self.system.definitions, exprs) if d.symbol not in have]
        return self._lowered(more, [(f"o_{name}", expr) for name, expr in zip(names, exprs, strict=True)], "m")

    def _everything(self) -> tuple[list[str], list[str]]:
        """Lines for all observables at a whole step, and the names of the observables."""
        names = [f"o{i}" for i in range(len(self.system.observables))]
        results = [(name, o.expr) for name, o in zip(names, self.system.observables, strict=True)]
        kept = needed(self.system.definitions, [expr for _, expr in results])
        return self._lowered(kept, results, "e"), names

    # -- functions of the module -----------------------------------------------------------------------
    def _load(self, names: Iterable[str]) -> list[str]:
        return [f"{name} = A[{self.rows[name]}*W + j]" for name in names]

    def _fixed(self) -> list[str]:
        """What does not change in time: the drive, then the constants of the design."""
        rows = len(DRIVE) + len(LIMITS)
        drive = [f"{name if name in _INPUTS else f'd_{name}'} = A[{i}*W + j]" for i, name in enumerate(DRIVE)]
        return drive + [
            f"{symbol.name} = A[{rows + i}*W + j]" for i, symbol in enumerate(self.lower.constants.values())
        ]

    def _trig(self) -> list[str]:
        lines = []
        for q, (sine, cosine) in self.lower.used_turns.items():
            lines += [
                f"qq = {q}*{q}",
                f"{sine} = {q}*(1.0 - qq*(1.0/6.0 - qq*(1.0/120.0 - qq*(1.0/5040.0))))",
                f"{cosine} = 1.0 - qq*(0.5 - qq*(1.0/24.0 - qq*(1.0/720.0)))",
            ]
        return lines

    def _moved(self, relaxing: bool) -> list[str]:
        """From whole step to whole step, once the forces are known."""
        lines = []
        for b in self.bodies:
            lines.append(f"h_{b} = h_{b} + h*a_{b}")
            if relaxing:
                lines.append(f"h_{b} = pick((relax > 0.0) & (h_{b}*a_{b} < 0.0), 0.0, h_{b})")
            lines += [f"v_{b} = h_{b}", f"n_{b} = q_{b} + h*h_{b}", f"q_{b} = q_{b} + half*h_{b}"]
        return [*lines, *self.step["slips"], *self.step["pressures"]]

    def _store(self, works: bool) -> list[str]:
        lines = [f"A[{self.rows[f'q_{b}']}*W + j] = n_{b}" for b in self.bodies]
        rest = [name for name in self.rows if not name.startswith("q_") and (works or not name.startswith("work_"))]
        return lines + [f"A[{self.rows[name]}*W + j] = {name}" for name in rest]

    def _speeds(self) -> list[str]:
        return [line for b in self.bodies for line in (f"p_{b} = a_{b}", f"v_{b} = h_{b} + half*a_{b}")]

    def _begin(self, works: bool) -> list[str]:
        names = [name for name in self.rows if works or not name.startswith("work_")]
        return [*self._load(names), *self._fixed(), *self._trig(), *self._speeds(), *_DRIVE.split("\n")]

    def _constants_function(self) -> list[str]:
        printer = _ScalarPrinter()
        lines = [
            "def constants(p, h, c):",
            '    """What depends on the parameters alone, design by design."""',
            "    for i in range(len(p)):",
        ]
        lines += [f"        {p.symbol.name} = p[i, {k}]" for k, p in enumerate(self.system.params)]
        lines += [f"        c[i, {k}] = {printer.doprint(expr)}" for k, expr in enumerate(self.lower.constants)]
        return lines

    def text(self) -> str:
        """The module."""
        structure = "\n".join(f"{kind} {name} {shape}" for kind, name, shape in self.system.structure)
        tiny = "1e-300" if self.real == "float64" else "1e-30"
        head = _HEAD.format(structure=structure, width=WIDTH[self.real], tiny=tiny, real=self.real)
        stroke = _function(
            "stroke",
            "n, h, A",
            "One stroke, its events watched.",
            [
                *self._begin(False),
                *self.step["forces"],
                *self.watch,
                *_stroke_watch(self.record_row),
                *self._moved(False),
                *self._store(False),
            ],
        )
        repeat = _function(
            "repeat",
            "n, h, A",
            "Repeated strokes, judged one by one.",
            [
                *self._begin(False),
                *self.step["forces"],
                *self.watch,
                *_repeat_watch(self.record_row),
                *self._moved(False),
                *self._store(False),
            ],
        )
        loops = ["\n".join(function) for function in (stroke, repeat, self._trace())]
        constants = "\n".join(self._constants_function())
        layout = f"ROWS = {self.rows!r}\nCONSTANTS = {len(self.lower.constants)}"
        return "\n\n\n".join([self._typed(head.rstrip()), layout, constants, *map(self._typed, loops)]) + "\n"

    def _typed(self, text: str) -> str:
        """In single precision every literal is typed: one of double precision would widen all it meets."""
        return text if self.real == "float64" else _LITERAL.sub(r"F(\g<0>)", text).replace("t = i*h", "t = F(i*h)")

    def _trace(self) -> list[str]:
        """Any drive with everything recorded at every `every`-th step, work accounts kept; can also relax to rest."""
        lines, names = self.everything
        m = len(names)
        states = [f"q_{b}" for b in self.bodies] + [f"v_{b}" for b in self.bodies]
        states += [row.symbol.name for row in (*self.slips, *self.pressures, *self.works)]
        order = [row.symbol.name for row in self.system.states]
        start, forces = self._begin(True), self.step["forces"]
        return [
            "def trace(n, every, h, relax, A, OUT):",
            '    """Any drive, everything recorded at every `every`-th step; or relaxing to rest."""',
            "    half = 0.5*h",
            "    k = 0",
            "    for i in range(n):",
            "        t = i*h",
            "        if i % every == 0:",
            "            for j in range(W):",
            *(f"                {line}" for line in [*start, *lines]),
            *(f"                OUT[(k*{len(order) + m} + {a})*W + j] = {name}" for a, name in enumerate(order)),
            *(
                f"                OUT[(k*{len(order) + m} + {len(order) + a})*W + j] = {name}"
                for a, name in enumerate(names)
            ),
            "            k += 1",
            "        for j in range(W):",
            *(
                f"            {line}"
                for line in [*start, *forces, *self.works_done, *self._moved(True), *self._store(True)]
            ),
        ]

    def _work_lines(self) -> list[str]:
        """Work of a step: powers at the whole step; the sum over steps is the trapezoidal rule but for its ends."""
        acc = [self.rates[c.v] for c in self.system.coordinates]
        have = {d.symbol for d in needed(self.system.definitions, acc)}
        exprs = [self.rates[row.symbol] for row in self.works]
        more = [d for d in needed(self.system.definitions, exprs) if d.symbol not in have]
        lines = self._lowered(
            more, [(f"rate_{row.symbol.name}", expr) for row, expr in zip(self.works, exprs, strict=True)], "k"
        )
        return lines + [f"{row.symbol.name} = {row.symbol.name} + h*rate_{row.symbol.name}" for row in self.works]


@dataclass(frozen=True)
class _Named:
    symbol: Expr
    expr: Expr


class _ScalarPrinter(PythonCodePrinter):  # type: ignore[misc]  # SymPy ships no types
    def __init__(self) -> None:
        super().__init__({"fully_qualified_modules": False})


def _function(name: str, arguments: str, doc: str, body: Sequence[str]) -> list[str]:
    return [
        f"def {name}({arguments}):",
        f'    """{doc}"""',
        "    half = 0.5*h",
        "    for i in range(n):",
        "        t = i*h",
        "        for j in range(W):",
        *(f"            {line}" for line in body),
    ]


def _crossed(event: str, value: str, condition: str) -> list[str]:
    """Keep the first time that `condition` holds, with the value before and after."""
    k = CROSSINGS.index(event) * 4
    return [
        f"hit = ({condition}) & (R{k} == 0.0)",
        f"R{k + 1} = pick(hit, t, R{k + 1})",
        f"R{k + 2} = pick(hit, last_{value}, R{k + 2})",
        f"R{k + 3} = pick(hit, {value}, R{k + 3})",
        f"R{k} = pick(hit, 1.0, R{k})",
    ]


_LAST = len(CROSSINGS) * 4 + len(MEASURES)
_LASTING = ("o_key_travel", "o_groove_pressure", "o_seat_gap")
STROKE_ROWS = _LAST + len(_LASTING)
"""Rows of the record of a stroke: events, measures, and last values."""
REPEAT_ROWS = 5
"""Rows of the record of repeated strokes: number of the stroke, highest pressure, empty, empty and seated, verdict."""


def _recorded(first: int, rows: int, body: Sequence[str]) -> list[str]:
    """Rows of the record in locals around `body`: a lane that keeps its value must not branch around a load."""
    loads = [f"R{i} = A[{first + i}*W + j]" for i in range(rows)]
    limits = [f"{name} = A[{len(DRIVE) + i}*W + j]" for i, name in enumerate(LIMITS)]
    return [*loads, *limits, *body, *(f"A[{first + i}*W + j] = R{i}" for i in range(rows))]


def _stroke_watch(first: int) -> list[str]:
    m = len(CROSSINGS) * 4
    lines = [f"last_{name} = R{_LAST + i}" for i, name in enumerate(_LASTING)]
    lines += ["lifted = t >= d_lift"]
    lines += _crossed("start", "o_key_travel", "o_key_travel >= start_at")
    lines += [f"begun = R{CROSSINGS.index('start') * 4} > 0.0"]
    lines += _crossed("half", "o_groove_pressure", "begun & (o_groove_pressure >= half_at)")
    lines += _crossed("full", "o_groove_pressure", "begun & (o_groove_pressure >= full_at)")
    lines += _crossed("empty", "o_groove_pressure", "lifted & (o_groove_pressure <= empty_at)")
    lines += _crossed("near", "o_seat_gap", "o_seat_gap >= near_at")
    lines += _crossed("far", "o_seat_gap", "o_seat_gap >= far_at")
    lines += [
        f"was_seated = R{CROSSINGS.index('seated') * 4} > 0.0",
        "open_now = was_seated & (o_seat_gap > reopened_at)",
        f"again = open_now & (R{m + 3} == 0.0)",
        f"R{m + 2} = R{m + 2} + pick(again, 1.0, 0.0)",
        f"R{m + 3} = pick(open_now, 1.0, 0.0)",
    ]
    lines += _crossed("seated", "o_seat_gap", "lifted & (o_seat_gap <= 0.0)")
    lines += [
        f"R{m} = pick((o_pallet_lift > R{m}) & (not lifted), o_pallet_lift, R{m})",
        f"R{m + 1} = pick((o_key_force > R{m + 1}) & (r1 < 1.0), o_key_force, R{m + 1})",
        *(f"R{_LAST + i} = {name}" for i, name in enumerate(_LASTING)),
    ]
    return _recorded(first, STROKE_ROWS, lines)


def _repeat_watch(first: int) -> list[str]:
    """Each stroke by the definition of `sim.figures.repetition.verdict`; 1 not full, 2 not empty, 3 not seated."""
    return _recorded(
        first,
        REPEAT_ROWS,
        [
            "stroke_number = floor(t*d_frequency)",
            "running = t < d_end",
            "turned = (stroke_number > R0) & (R0*d_period < d_end - half)",
            "fault = pick(R3 == 0.0, 3.0, 0.0)",
            "fault = pick(R2 == 0.0, 2.0, fault)",
            "fault = pick(R1 < full_at, 1.0, fault)",
            "R4 = pick(turned & (R4 == 0.0), fault, R4)",
            "R1 = pick(turned, 0.0, R1)",
            "R2 = pick(turned, 0.0, R2)",
            "R3 = pick(turned, 0.0, R3)",
            "R0 = pick(turned, stroke_number, R0)",
            "R1 = pick(running & (o_groove_pressure > R1), o_groove_pressure, R1)",
            "hollow = running & (past >= d_lift) & (o_groove_pressure < empty_at)",
            "R2 = pick(hollow, 1.0, R2)",
            "R3 = pick(hollow & (o_seat_gap <= 0.0), 1.0, R3)",
        ],
    )
