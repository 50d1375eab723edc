"""The equations of one note as SymPy expressions."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

import numpy as np
import sympy as sp

from keyaction.cases.action.case import Case
from keyaction.cases.action.trains import train_of
from keyaction.models.train.equations import System
from keyaction.models.train.train import Train
from keyaction.sim.motion.note import NoteModel

Expr = Any
"""A SymPy expression (SymPy ships no types)."""


def _positive(x: Any) -> Any:
    return np.maximum(x, 0.0)


FUNCTIONS: Mapping[str, Callable[..., Any]] = MappingProxyType(
    {
        "pos": _positive,
        "step": lambda x: np.where(np.greater(x, 0.0), 1.0, 0.0),
        "posroot": lambda x: np.sqrt(_positive(x)),
        "pos32": lambda x: _positive(x) ** 1.5,
        "direction": lambda x: np.copysign(1.0, x),
        "size": np.abs,
    }
)
"""The functions of the force laws for NumPy: ``sympy.lambdify(..., modules=[FUNCTIONS, "numpy"])``."""


@dataclass(frozen=True)
class Equations:
    """The equations of one note; from `equations`.

    Attributes
    ----------
    states : tuple of n symbols
        The state vector y: coordinates, their speeds, pressures, slips, and four accounts of work.
    rates : (n, 1) sympy.ImmutableMatrix
        dy/dt, in states, parameters, inputs and definitions.
    coordinates : tuple of m symbols
        The first of the states.
    mass : (m, m) sympy.ImmutableMatrix
        Mass matrix of the coordinates.
    parameters : mapping of symbol to float
        Values for this note, SI.
    inputs : tuple of symbols
        What the drive sets: the way and speed of the finger, its force, its pad.
    definitions : mapping of symbol to expression
        Named intermediate terms, each in terms of earlier ones; empty once they are substituted.
    units : mapping of symbol to str
        SI unit of every symbol, "1" where it has none.
    meanings : mapping of symbol to str
        What every symbol is.

    Examples
    --------
    >>> import keyaction as ka
    >>> found = ka.equations(ka.read_case("demo-wood"), "C4")
    >>> found.states[:2], found.mass.shape
    ((q_key, q_lower_square), (6, 6))
    """

    states: tuple[Expr, ...]
    rates: Expr
    coordinates: tuple[Expr, ...]
    mass: Expr
    parameters: Mapping[Expr, float]
    inputs: tuple[Expr, ...]
    definitions: Mapping[Expr, Expr]
    units: Mapping[Expr, str]
    meanings: Mapping[Expr, str]

    def symbol(self, name: str) -> Expr:
        """The symbol of that name; `KeyError` if there is none."""
        return {symbol.name: symbol for symbol in self.units}[name]

    def substituted(self) -> Equations:
        """The same with every definition put in place, so that only states, parameters and inputs are left."""
        known: dict[Expr, Expr] = {}
        for symbol, expr in self.definitions.items():
            known[symbol] = expr.xreplace(known)
        kept = {s: unit for s, unit in self.units.items() if s not in known}
        return replace(
            self,
            rates=self.rates.xreplace(known),
            mass=self.mass.xreplace(known),
            definitions={},
            units=kept,
            meanings={s: self.meanings[s] for s in kept},
        )

    def function(self) -> Callable[..., Any]:
        """The rates as a NumPy function ``f(y, inputs)`` of two sequences, this note's values put in.

        Slower than `right_hand_side`, which is compiled, and independent of it.
        """
        whole = self.substituted()
        rates = list(whole.rates.xreplace({s: sp.Float(value) for s, value in self.parameters.items()}))
        made: Callable[..., Any] = sp.lambdify(
            [list(self.states), list(self.inputs)], rates, modules=[dict(FUNCTIONS), "numpy"], cse=True
        )
        return made


def equations(
    note: Train | NoteModel | Case, name: str | int | None = None, substituted: bool = False, laid_mass: bool = False
) -> Equations:
    """The equations of a note as SymPy expressions: Lagrange's, as an explicit first-order system.

    Parameters
    ----------
    note : Train, NoteModel or Case
    name : str or int, optional
        The note of a case ("C4", or 60); a train or a model has its own.
    substituted : bool
        Put every definition in its place. By default they are kept, as the equations are read best.
    laid_mass : bool
        With a mass laid on the key in place of the finger.

    Returns
    -------
    Equations

    Raises
    ------
    TypeError
        For a case without the name of a note, or a train with one.
    keyaction.NoteProblem
        When the case has no such note.
    keyaction.TrainProblem
        When the case lacks values.

    Examples
    --------
    >>> import keyaction as ka
    >>> found = ka.equations(ka.read_case("demo-wood"), "C4")
    >>> roller = found.symbol("K_roller")
    >>> round(found.parameters[roller], 1), found.units[roller]
    (133.2, 'N*m/rad')
    >>> whole = found.substituted()
    >>> whole.rates.free_symbols <= {*whole.states, *whole.parameters, *whole.inputs}
    True
    """
    train = _train(note, name)
    system = train.system(laid_mass)
    values = dict(zip((p.symbol for p in system.params), train.vector([p.name for p in system.params]), strict=True))
    units, meanings = _words(system)
    found = Equations(
        tuple(row.symbol for row in system.states),
        sp.ImmutableMatrix(list(system.rates)),
        tuple(c.q for c in system.coordinates),
        sp.ImmutableMatrix(system.mass),
        values,
        (*(p.symbol for p in system.inputs), *(s for outer in system.outer for s in (outer.symbol, outer.rate))),
        {d.symbol: d.expr for d in system.definitions},
        units,
        meanings,
    )
    return found.substituted() if substituted else found


def _train(note: Train | NoteModel | Case, name: str | int | None) -> Train:
    if isinstance(note, Case):
        if name is None:
            raise TypeError("which note of the case? give its name, such as 'C4'")
        return train_of(note, name)
    if name is not None:
        raise TypeError("a train is one note already; leave the name out")
    return note.train if isinstance(note, NoteModel) else note


def _words(system: System) -> tuple[dict[Expr, str], dict[Expr, str]]:
    """Unit and meaning of every symbol."""
    rows: list[Any] = [*system.states, *system.params, *system.inputs, *system.definitions]
    units, words = {one.symbol: one.unit or "1" for one in rows}, {one.symbol: one.doc for one in rows}
    for outer in system.outer:
        units |= {outer.symbol: outer.unit or "1", outer.rate: f"{outer.unit or '1'}/s"}
        words |= {outer.symbol: outer.doc, outer.rate: f"rate of {outer.doc}"}
    return units, words
