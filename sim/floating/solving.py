"""How notes on a rail are integrated: Adams' method by VODE, and LSODA with slopes within a band where that fails.

A rail joins a thousand states and more. LSODA finds them stiff, and solves its band again and again: 56 notes take
four times as long as by Adams' method, whose steps stability bounds. So a finer error costs it little, and it is asked
for a tenth: what quiet notes tremble then is nothing beside the work of a struck one.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable

import numpy as np
from scipy.integrate import ode, odeint

from keyaction.sim.floating.compiled import Loop
from keyaction.sim.floating.places import Places
from keyaction.sim.motion.integrate import Failed, Floats, Tolerances

FINER = 10.0
"""Times that Adams' method is asked for smaller errors."""
MOST = 50_000
"""Steps between two instants."""

Rates = Callable[[float, Floats], Floats]


class Solver:
    """Integrates the states of one set of notes on a rail."""

    def __init__(self, run: Loop, places: Places, tol: Tolerances) -> None:
        self.run, self.places, self.tol = run, places, tol
        known = {"coordinate": tol.way, "speed": tol.speed, "pressure": tol.pressure, "work": tol.work}
        self.absolute = np.array([known.get(kind, tol.slip) for kind in places.kinds])

    def rates(self, p: Floats, d: Floats) -> Rates:
        """All rates with these parameters and drives; the same array every time."""
        run, out = self.run, np.zeros(self.places.size)

        def rates(now: float, state: Floats) -> Floats:
            run.together(run.fills, run.places, run.body, now, state, p, d, out)
            return out

        return rates

    def adams(self, p: Floats, y: Floats, t: Floats, d: Floats) -> tuple[Floats, int]:
        """States (N, n) at the times, and how many evaluations that took.

        Raises
        ------
        Failed
            When it does not come to the last time.
        """
        count, rates = 0, self.rates(p, d)

        def counted(now: float, state: Floats) -> Floats:
            nonlocal count
            count += 1
            return rates(now, state)

        solver = ode(counted).set_integrator(
            "vode",
            method="adams",
            rtol=self.tol.relative / FINER,
            atol=self.absolute / FINER,
            nsteps=MOST,
            max_step=self.tol.max_step,
        )
        solver.set_initial_value(y, t[0])
        path = np.empty((len(t), len(y)))
        path[0] = y
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            for row in range(1, len(t)):
                path[row] = solver.integrate(t[row])
                if not solver.successful():
                    raise Failed(f"VODE returned {solver.get_return_code()}")
        return _finite(path), count

    def lsoda(self, p: Floats, y: Floats, t: Floats, d: Floats) -> tuple[Floats, int]:
        """The same by LSODA."""
        places, run = self.places, self.run
        band = np.zeros((2 * places.wide + 1, places.size))

        def slopes(now: float, state: Floats) -> Floats:
            run.slopes(run.fills, run.places, run.body, now, state, p, d, places.scale, places.wide, band)
            return band

        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            path, told = odeint(
                self.rates(p, d),
                y,
                t,
                Dfun=slopes,
                ml=places.wide,
                mu=places.wide,
                tfirst=True,
                rtol=self.tol.relative,
                atol=self.absolute,
                hmax=self.tol.max_step,
                tcrit=[t[-1]],
                mxstep=MOST,
                full_output=True,
            )
        if told["message"] != "Integration successful.":
            raise Failed(told["message"])
        return _finite(path), int(told["nfe"][-1])

    def either(self, p: Floats, y: Floats, t: Floats, d: Floats, attempts: list[str]) -> tuple[Floats, int, str]:
        """By the first method that manages, and which; `attempts` takes what failed."""
        for name, method in (("Adams", self.adams), ("LSODA", self.lsoda)):
            try:
                return *method(p, y, t, d), name
            except Failed as problem:
                attempts.append(f"{name} at {t[0] * 1e3:.1f} ms: {problem}")
        raise Failed(attempts[-1])


def _finite(path: Floats) -> Floats:
    if not np.all(np.isfinite(path)):
        raise Failed("the motion grew beyond all bounds")
    return path
