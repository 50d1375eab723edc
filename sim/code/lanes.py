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

from keyaction.models.algebra.names import plain
from keyaction.models.train.equations import System
from keyaction.sim.code.layout import CHANGE, layout_of, layout_text
from keyaction.sim.code.lowering import Lowering
from keyaction.sim.code.printer import CodePrinter, free_symbol, needed, scheduled
from keyaction.sim.code.repeated_strokes import closely, stepped
from keyaction.sim.code.scalar import jacobian_entries, names_of
from keyaction.sim.code.watch import DRIVE, DRIVEN, LIMITS, UNDECIDED, WIDTH, bare, repeat_watch, stroke_watch

Expr = Any

_LITERAL = re.compile(r"(?<![\w.])\d+\.\d+(?:e[+-]?\d+)?|(?<![\w.])\d+e-?\d+")

_HEAD = '''"""Generated from the equations of a train, for many designs at once; made anew whenever they change.

{structure}
"""

from math import cos, sin, sqrt

from numpy import {real} as F
from numpy import floor

W = {width}


def pick(condition, yes, no):
    return yes if condition else no


def pos(x):
    return pick(x > 0.0, x, 0.0)


def step(x):
    return pick(x > 0.0, 1.0, 0.0)


def rsqrt(x):
    return 1.0 / sqrt(x + TINY)


TINY = {tiny}
HELPERS = ("pick", "pos", "step", "rsqrt")
STRAIGHT = ("constants_of", "stroke_step", "repeat_closely_step", "record", "trace_step")
'''


class BodyNames:
    """What the code calls a body's state: way and speed at a whole step, speed at a half step, and what comes of them.

    ``h`` is the speed at the half step, ``a`` the acceleration, ``p`` the last one, ``n`` the next way, ``s`` the
    slope of the acceleration over the speed.
    """

    def __init__(self, coordinate: Any, taken: set[str]) -> None:
        title = plain(coordinate.name)
        self.q, self.v, self.turns = coordinate.q.name, coordinate.v.name, coordinate.unit == "rad"
        self.h, self.a, self.p, self.n, self.s = (free_symbol(f"{x}_{title}", taken).name for x in "hapns")


class LaneModule:
    """Writes the module of one system."""

    def __init__(self, system: System, real: str = "float64") -> None:
        self.system, self.real = system, real
        self.taken = names_of(system)
        self.own: dict[tuple[str, str], str] = {}
        self.lower = Lowering(system, self.taken)
        self.jacobian = jacobian_entries(system)
        self.rates = {row.symbol: rate for row, rate in zip(system.states, system.rates, strict=True)}
        self.slips = [row for row in system.states if row.kind == "slip"]
        self.pressures = [row for row in system.states if row.kind == "pressure"]
        self.works = [row for row in system.states if row.kind in ("work", "impulse")]
        self.bodies = [BodyNames(c, self.taken) for c in system.coordinates]
        self.ways = [b.q for b in self.bodies]
        self.accounts = [row.symbol.name for row in self.works]
        self.names = [*self.ways, *(b.h for b in self.bodies), *(b.a for b in self.bodies)]
        self.names += [row.symbol.name for row in (*self.slips, *self.pressures)] + self.accounts
        self.lower_all()
        self.rows = {name: self.fixed + i for i, name in enumerate(self.names)}

    def lower_all(self) -> None:
        """Lower every block of a step; after it the constants are all known."""
        self.step = self._step()
        self.speech = layout_of(self.system).speech
        stroke = ("key_force", "key_travel", "pallet_lift", "seat_gap", "groove_pressure")
        self.watch = self._channels(tuple(dict.fromkeys((*stroke, *self.speech))))
        self.everything = self._everything()
        self.works_done = self._work_lines()

    @property
    def fixed(self) -> int:
        """Number of rows that do not change in time: drive, limits, changes from outside, constants."""
        return len(DRIVE) + len(LIMITS) + len(CHANGE) * len(self.system.outer) + len(self.lower.constants)

    @property
    def turns_row(self) -> int:
        """First row of the widest turns, after constants and states; the record of what is watched follows."""
        return self.fixed + len(self.names)

    @property
    def record_row(self) -> int:
        """First row of the record."""
        return self.turns_row + len(self.turning)

    @property
    def turning(self) -> list[str]:
        """Ways of the bodies that turn."""
        return [b.q for b in self.bodies if b.turns]

    # -- pieces of a step ------------------------------------------------------------------------------
    def _lowered(self, definitions: Sequence[Any], results: Iterable[tuple[str, Expr]], prefix: str) -> list[str]:
        named = [(d.symbol.name, self.lower(d.expr)) for d in definitions]
        named += [(name, self.lower(expr)) for name, expr in results]
        printer = CodePrinter(floats=True)
        return [f"{name} = {printer.doprint(expr)}" for name, expr in scheduled(named, prefix, self.taken)]

    def _step(self) -> dict[str, list[str]]:
        acc = [(b.a, self.rates[c.v]) for b, c in zip(self.bodies, self.system.coordinates, strict=True)]
        slopes = self._damping_slopes()
        kept = needed(self.system.definitions, [expr for _, expr in (*acc, *slopes)])
        forces = self._lowered(kept, [*acc, *slopes], "w")
        forces += [f"{b.a} = ({b.a} - half*{b.s}*{b.p})/(1.0 - half*{b.s})" for b in self.bodies]
        h = sp.Symbol("h", real=True)
        linear = []
        for row in self.slips:
            rate = self.rates[row.symbol]
            decay, gain = self._own("x", row), self._own("y", row)
            linear += [(decay, -h * sp.diff(rate, row.symbol)), (gain, h * rate.subs(row.symbol, 0))]
        slips = self._lowered([], linear, "z")
        for row in self.slips:
            u, x, y = row.symbol.name, self._own("x", row), self._own("y", row)
            slips.append(f"{u} = ({u} + {y}*(1.0 + 0.5*{x}))/(1.0 + {x}*(1.0 + 0.5*{x}))")
        return {"forces": forces, "slips": slips, "pressures": self._pressure_lines()}

    def _own(self, letter: str, row: Any) -> str:
        """A name for what belongs to one state; the same whenever it is asked for."""
        key = letter, row.symbol.name
        if key not in self.own:
            self.own[key] = free_symbol(f"{letter}_{row.symbol.name}", self.taken).name
        return self.own[key]

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
        inertia = {(d.name.part, d.name.body): d.symbol for d in self.system.definitions if d.name.what == "M"}
        return [
            (b.s, slopes[c.q] / inertia[c.part, c.piece])
            for b, c in zip(self.bodies, self.system.coordinates, strict=True)
        ]

    def _pressure_lines(self) -> list[str]:
        definitions, entries = self._differentiated(), self.jacobian[1]
        lines = []
        for row in self.pressures:
            i = next(k for k, other in enumerate(self.system.states) if other is row)
            slope = next(expr for a, b, expr in entries if a == i and b == i)
            rate, p = self.rates[row.symbol], row.symbol.name
            kept = needed(definitions, [rate, slope])
            flow, fall = self._own("f", row), self._own("g", row)
            lines += self._lowered(kept, [(flow, rate), (fall, slope)], "g")
            lines.append(f"{p} = {p} + h*{flow}/(1.0 - 0.5*h*{fall})")
        return lines

    def _channels(self, names: Sequence[str]) -> list[str]:
        """Lines for some observables; what the forces' lines already define is not computed again."""
        by_name = {o.name: o.expr for o in self.system.observables}
        acc = [self.rates[c.v] for c in self.system.coordinates]
        have = {d.symbol for d in needed(self.system.definitions, acc)}
        exprs = [by_name[name] for name in names]
        more = [d for d in needed(self.system.definitions, exprs) if d.symbol not in have]
        return self._lowered(more, [(bare(f"o_{name}"), expr) for name, expr in zip(names, exprs, strict=True)], "m")

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
        rows = self.fixed - len(self.lower.constants)
        inputs = self._inputs()
        drive = [f"{inputs.get(name, bare(f'd_{name}'))} = A[{i}*W + j]" for i, name in enumerate(DRIVE)]
        return drive + [
            f"{symbol.name} = A[{rows + i}*W + j]" for i, symbol in enumerate(self.lower.constants.values())
        ]

    def _outer(self) -> list[str]:
        """Parameters that change from outside, and their rates, at time t."""
        lines = []
        for k, outer in enumerate(self.system.outer):
            row = len(DRIVE) + len(LIMITS) + len(CHANGE) * k
            lines += [
                *(f"d{what} = A[{row + i}*W + j]" for i, what in enumerate(CHANGE)),
                "r0 = (t - dstart)*dspeed",
                "r0 = pick(r0 > 0.0, r0, 0.0)",
                "r0 = pick(r0 < 1.0, r0, 1.0)",
                f"{outer.symbol.name} = dbefore + dchange*(r0*r0*r0*(10.0 + r0*(6.0*r0 - 15.0)))",
                f"{outer.rate.name} = dchange*dspeed*(30.0*r0*r0*(1.0 - r0)*(1.0 - r0))",
            ]
        return lines

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
            lines.append(f"{b.h} = {b.h} + h*{b.a}")
            if relaxing:
                lines.append(f"{b.h} = pick((relax > 0.0) & ({b.h}*{b.a} < 0.0), 0.0, {b.h})")
            lines += [f"{b.v} = {b.h}", f"{b.n} = {b.q} + h*{b.h}", f"{b.q} = {b.q} + half*{b.h}"]
        return [*lines, *self.step["slips"], *self.step["pressures"]]

    def _store(self, works: bool) -> list[str]:
        lines = [f"A[{self.rows[b.q]}*W + j] = {b.n}" for b in self.bodies]
        rest = [name for name in self._kept(works) if name not in self.ways]
        return lines + [f"A[{self.rows[name]}*W + j] = {name}" for name in rest]

    def _kept(self, works: bool) -> list[str]:
        return [name for name in self.rows if works or name not in self.accounts]

    def _speeds(self) -> list[str]:
        return [line for b in self.bodies for line in (f"{b.p} = {b.a}", f"{b.v} = {b.h} + half*{b.a}")]

    def _begin(self, works: bool) -> list[str]:
        start = [*self._load(self._kept(works)), *self._fixed(), *self._trig(), *self._speeds()]
        return [*start, *bare(DRIVEN).format(**self._inputs()).split("\n"), *self._outer()]

    def _inputs(self) -> dict[str, str]:
        """What the code calls the finger's inputs; those that the drive sets keep their own names as keys."""
        named = {one.name.what: one.symbol.name for one in self.system.inputs}
        return named | {bare(what): spelling for what, spelling in named.items()}

    def _widest(self, counts: str) -> list[str]:
        """The widest turn of every body that turns, kept for the range in which the model holds, while it counts."""
        lines = []
        for i, q in enumerate(self.turning):
            place = f"A[{self.turns_row + i}*W + j]"
            lines += [f"wide = {place}", f"turn = abs({q})", f"{place} = pick((turn > wide){counts}, turn, wide)"]
        return lines

    def _constants_function(self) -> list[str]:
        printer = CodePrinter()
        lines = [f"{p.symbol.name} = p[i, {k}]" for k, p in enumerate(self.system.params)]
        lines += [f"c[i, {k}] = {printer.doprint(expr)}" for k, expr in enumerate(self.lower.constants)]
        return [
            *_body("constants_of", "i, p, h, c", "What depends on the parameters of one design alone.", lines),
            "def constants(p, h, c):",
            '    """What depends on the parameters alone, design by design."""',
            "    for i in range(len(p)):",
            "        constants_of(i, p, h, c)",
        ]

    def text(self) -> str:
        """The module."""
        structure = "\n".join(str(member) for member in self.system.structure)
        tiny = "1e-300" if self.real == "float64" else "1e-30"
        head = _HEAD.format(structure=structure, width=WIDTH[self.real], tiny=tiny, real=self.real)
        loops = ["\n".join(function) for function in (self._stroke(), self._repeated(), self._trace())]
        constants = "\n".join(self._constants_function())
        layout = layout_text(layout_of(self.system))
        layout += f"ROWS = {self.rows!r}\nWAYS = {tuple(self.ways)!r}\nSTATES = {tuple(self._states())!r}\n"
        layout += f"TURNING = {tuple(self.turning)!r}\nCONSTANTS = {len(self.lower.constants)}"
        return "\n\n\n".join([self._typed(head.rstrip()), layout, constants, *map(self._typed, loops)]) + "\n"

    def _watching(self, watch: Sequence[str], counts: str = "") -> list[str]:
        """A step in which no more is kept than what is watched; turns while it `counts`."""
        start = [*self._begin(False), *self.step["forces"], *self.watch]
        return [*start, *watch, *self._widest(counts), *self._moved(False), *self._store(False)]

    def _stroke(self) -> list[str]:
        """One stroke, all lanes side by side from its begin to its end."""
        return [
            *_step("stroke", self._watching(stroke_watch(self.record_row))),
            "def stroke(n, h, A):",
            '    """One stroke, its events watched."""',
            "    half = 0.5*h",
            "    for i in range(n):",
            "        t = i*h",
            "        for j in range(W):",
            "            stroke_step(t, h, half, j, A)",
        ]

    def _repeated(self) -> list[str]:
        """Repeated strokes, judged one by one: a step, the same with how close each was, and many steps of that."""
        step = self._watching(repeat_watch(self.record_row, self.speech), f" & ({UNDECIDED})")
        return [*_step("repeat", step), *_step("repeat_closely", closely(step)), *stepped(self.record_row)]

    def _typed(self, text: str) -> str:
        """In single precision every literal is typed: one of double precision would widen all it meets."""
        return text if self.real == "float64" else _LITERAL.sub(r"F(\g<0>)", text).replace("t = i*h", "t = F(i*h)")

    def _states(self) -> list[str]:
        """What the code calls the states, in their order."""
        return [row.symbol.name for row in self.system.states]

    def _trace(self) -> list[str]:
        """Any drive with everything recorded at every `every`-th step, work accounts kept; can also relax to rest."""
        lines, names = self.everything
        order = self._states()
        size = len(order) + len(names)
        begin = self._begin(True)
        out = [f"OUT[(k*{size} + {a})*W + j] = {name}" for a, name in enumerate([*order, *names])]
        moved = [*self.step["forces"], *self.works_done, *self._moved(True), *self._store(True)]
        return [
            *_body("record", "t, h, half, j, k, A, OUT", "All of one lane at a time.", [*begin, *lines, *out]),
            *_body("trace_step", "t, h, half, j, relax, A", "One step of one lane.", [*begin, *moved]),
            "def trace(n, every, h, relax, A, OUT):",
            '    """Any drive, everything recorded at every `every`-th step; or relaxing to rest."""',
            "    half = 0.5*h",
            "    k = 0",
            "    for i in range(n):",
            "        t = i*h",
            "        if i % every == 0:",
            "            for j in range(W):",
            "                record(t, h, half, j, k, A, OUT)",
            "            k += 1",
            "        for j in range(W):",
            "            trace_step(t, h, half, j, relax, A)",
        ]

    def _work_lines(self) -> list[str]:
        """Work of a step: powers at the whole step; the sum over steps is the trapezoidal rule but for its ends."""
        acc = [self.rates[c.v] for c in self.system.coordinates]
        have = {d.symbol for d in needed(self.system.definitions, acc)}
        exprs = [self.rates[row.symbol] for row in self.works]
        more = [d for d in needed(self.system.definitions, exprs) if d.symbol not in have]
        lines = self._lowered(
            more, [(self._own("rate", row), expr) for row, expr in zip(self.works, exprs, strict=True)], "k"
        )
        return lines + [f"{row.symbol.name} = {row.symbol.name} + h*{self._own('rate', row)}" for row in self.works]


@dataclass(frozen=True)
class _Named:
    symbol: Expr
    expr: Expr


def _step(name: str, lines: Sequence[str]) -> list[str]:
    return _body(f"{name}_step", "t, h, half, j, A", "One step of one lane.", lines)


def _body(name: str, arguments: str, doc: str, lines: Sequence[str]) -> list[str]:
    """A straight-line function."""
    return [f"def {name}({arguments}):", f'    """{doc}"""', *(f"    {line}" for line in lines), "", ""]
