"""Natural frequencies of the train with the pallet seated, and their shapes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.linalg import eig

from keyaction.cases.action.strokes import Strokes, usual_strokes
from keyaction.sim.figures.play import press_note
from keyaction.sim.figures.record import Pressed
from keyaction.sim.motion.drives import HANDS_OFF
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.motion.note import Model, NoteModel

LOADED = 0.9
"""Share of the pluck's way at which the train is taken: taut throughout, pallet seated."""


@dataclass(frozen=True)
class Modes:
    """Small vibrations of a train, from `modes`.

    Attributes
    ----------
    frequencies : (m,) array
        Hz, rising; NaN where the pallet never opens.
    shapes : (m, m) array
        A row for each mode: the way of every coordinate, the largest of them 1.
    coordinates : tuple of m str
        Names along the columns.

    Examples
    --------
    >>> import keyaction as ka
    >>> found = ka.modes(ka.NoteModel(ka.train_of(ka.read_case("demo-wood"), "C4")))
    >>> found.coordinates[0], found.shapes.shape
    ('key', (6, 6))
    """

    frequencies: Floats
    shapes: Floats
    coordinates: tuple[str, ...]


def modes(note: NoteModel | Pressed, strokes: Strokes | None = None, state: ArrayLike | None = None) -> Modes:
    """Natural frequencies of a train and their shapes, friction and damping left out, the finger's force constant.

    They are those of the taut train just before the pluck (at 0.9 of the finger's way to it); the
    lowest is the train frequency. M x" + K x = 0, K from the derivatives of the equations.

    Parameters
    ----------
    note : NoteModel or Pressed
        A model is pressed for this.
    strokes : Strokes, optional
        How the model is pressed, ``case.strokes``; the usual ones by default.
    state : (n,) array_like, optional
        Vibrations about this state instead, SI, in the order of ``model.kernel().states``; its speeds and slips are
        taken as zero.

    Returns
    -------
    Modes

    Raises
    ------
    keyaction.sim.figures.play.NotPlayed
        When the equilibria of the slow press cannot be followed.
    ValueError
        When the state is not of that shape.

    Examples
    --------
    >>> import keyaction as ka
    >>> case = ka.read_case("demo-wood")
    >>> found = ka.modes(ka.NoteModel(ka.train_of(case, "C4")), case.strokes)
    >>> round(float(found.frequencies[0]), 1)  # Hz
    19.3
    """
    model: Model = note if isinstance(note, NoteModel) else note.model
    if state is not None:
        return _about(model, _checked(model, state))
    record = press_note(note, strokes or usual_strokes()) if isinstance(note, NoteModel) else note
    down, place = record.press.down, record.press.pluck_place
    if not np.isfinite(place):
        names = _coordinates(model)
        n = len(names)
        return Modes(np.full(n, np.nan), np.full((n, n), np.nan), names)
    way = down.finger[0] + LOADED * (down.at(place, down.finger) - down.finger[0])
    met = down.met
    return _about(model, np.array([np.interp(way, down.finger[met], course[met]) for course in down.states.T]))


def _coordinates(model: Model) -> tuple[str, ...]:
    return tuple(body.title for body in model.kernel().bodies)


def _checked(model: Model, state: ArrayLike) -> Floats:
    y = np.array(state, dtype=float)
    count = len(model.kernel().states)
    if y.shape != (count,):
        raise ValueError(f"a state has {count} entries in one axis; given: {y.shape}")
    return y


def _about(model: Model, y: Floats) -> Modes:
    """Vibrations about a state, nothing moving and no bushing wound up in it."""
    names = _coordinates(model)
    n = len(names)
    kernel = model.kernel()
    y[kernel.of_kind("speed", "slip")] = 0.0
    drive = model.vector(HANDS_OFF, HANDS_OFF.pieces[0])
    jacobian = np.asarray(kernel.jacobian(0.0, y, model.parameters(), drive))
    squares, vectors = eig(-jacobian[n : 2 * n, :n])
    order = np.argsort(squares.real)
    frequencies = np.sqrt(np.maximum(squares.real[order], 0.0)) / (2 * np.pi)
    shapes = vectors.real[:, order]
    largest = shapes[np.argmax(np.abs(shapes), axis=0), np.arange(n)]
    return Modes(frequencies, (shapes / largest).T, names)
