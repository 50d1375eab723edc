"""From rows of a plan to parameters of the equations, many designs at once and without a train for each.

One train is built whose varied fields are the numbers of many designs (`keyaction.models.many`). Where designs part (a
comparison that holds for some, an error) those that go together are built again by themselves; what only one design at
a time can be asked is built as `make_design` does. So figures and words are its own, to the last bit.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyaction.cases.action.strokes import Strokes
from keyaction.cases.study.inputs import STROKES
from keyaction.models.algebra.names import Name
from keyaction.models.many.many import Blanks, Many, OneByOne, Parted
from keyaction.models.train.structure import Structure
from keyaction.models.train.train import Train
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.sweep.alike import Alike, alike, alone
from keyaction.sim.sweep.designs import (
    IMPOSSIBLE,
    Own,
    Recipe,
    built,
    by_part,
    changed_library,
    changed_strokes,
    chosen_at,
    make_train,
)
from keyaction.sim.sweep.grouped import CLOSING, FEET, WAVE, Figure, Group, Places, Rows
from keyaction.sim.sweep.pieces import deviated, shares_of
from keyaction.sim.sweep.varied import Varied

_TOGETHER = 16384
"""Designs built in one go, at most: their numbers stay in the processor's cache."""
_ENOUGH = 1024
"""Designs that are built for each note by itself: what no design varies is a plain number there."""
_FEW = 3
"""Designs that are as quickly built one by one."""


def design_rows(recipe: Recipe, plan: Floats, numbers: int | Places = 0) -> Rows:
    """Parameters of the equations of many designs.

    Parameters
    ----------
    recipe : Recipe
    plan : (designs, inputs) array
        Rows of the plan, as `make_design` takes them.
    numbers : int or (designs,) array of int
        Of the first row in the plan, or of each.
    """
    plan = np.asarray(plan, dtype=float)
    numbers = np.asarray(numbers if np.ndim(numbers) else numbers + np.arange(len(plan)))
    with np.errstate(all="ignore"):
        maker = _Maker(recipe, plan, numbers)
        for designs in maker.alike():
            maker.build(designs)
    values = np.stack([one.values for one in maker.varied], axis=1) if maker.varied else plan[:, :0]
    return Rows(values, tuple(maker.groups()), maker.status, maker.alone)


@dataclass(frozen=True)
class _Piece:
    """Trains that were built together: their places, and figures by name, one for all or one each."""

    places: Places
    structure: Structure
    parameters: Mapping[Name, float | Floats]
    figures: Mapping[Figure, float | Floats]


class _Maker:
    """Builds the trains of some rows, and gathers what comes of them."""

    def __init__(self, recipe: Recipe, plan: Floats, numbers: Places) -> None:
        self.recipe, self.plan, self.numbers = recipe, plan, numbers
        self.notes = len(recipe.notes)
        inputs = zip(recipe.inputs, recipe.own, plan.T, strict=True)
        self.varied = [Varied(one, own, places) for one, own, places in inputs]
        self.status = [""] * (len(plan) * self.notes)
        self.alone = 0
        self.strokes = self._played()
        self._pieces: list[_Piece] = []

    def _played(self) -> list[Strokes] | None:
        """What is played on each design, where that is not the same for all."""
        asked = [k for k, one in enumerate(self.recipe.inputs) if any(t.place == STROKES for t in one.reached)]
        if not asked:
            return None
        known: dict[tuple[tuple[int, float], ...], Strokes | str] = {}
        played = []
        for d in range(len(self.plan)):
            key = tuple(self.varied[k].key(d) for k in asked)
            if key not in known:
                known[key] = self._strokes_of(d, asked)
            found = known[key]
            if isinstance(found, str):
                self.status[d * self.notes : (d + 1) * self.notes] = [found] * self.notes
                found = self.recipe.strokes
            played.append(found)
        return played

    def _strokes_of(self, d: int, asked: Sequence[int]) -> Strokes | str:
        chosen = [chosen_at(self.recipe.inputs[k], self.recipe.own[k], self.plan[d, k])[1] for k in asked]
        try:
            return changed_strokes(self.recipe.strokes, [change for one in chosen for change in one])
        except ValueError as problem:
            return f"{IMPOSSIBLE}{problem}"

    def alike(self) -> Iterator[Places]:
        """Designs of the same choices."""
        left = np.flatnonzero([not text for text in self.status[:: self.notes]])
        choices = [one.choice[left] for one in self.varied if one.choice.any()]
        groups = [left]
        if choices:
            _, which = np.unique(np.stack(choices, axis=1), axis=0, return_inverse=True)
            which = which.ravel()
            order = np.argsort(which, kind="stable")
            groups = np.split(left[order], np.flatnonzero(np.diff(which[order])) + 1)
        yield from groups

    @cached_property
    def _alike(self) -> list[Alike]:
        return alike(self.recipe.parts)

    def build(self, designs: Places) -> None:
        """The trains of all notes of designs of the same choices."""
        parts = self.recipe.parts
        for notes in alone(parts) if len(designs) >= _ENOUGH else self._alike:
            places = (designs[:, None] * self.notes + notes.notes).ravel()
            for start in range(0, len(places), _TOGETHER):
                self._build(notes, places[start : start + _TOGETHER])

    def _build(self, notes: Alike, places: Places) -> None:
        waiting = [(places, self._drawn(places))]
        while waiting:
            part, shares = waiting.pop()
            if len(part) <= _FEW:
                self._one_by_one(part)
                continue
            try:
                self._many(notes, part, shares)
            except Parted as parted:
                waiting += [(part[mask], shares[:, mask]) for mask in (~parted.mask, parted.mask)]
            except OneByOne:
                self._one_by_one(part)

    def _drawn(self, places: Places) -> Floats:
        """What is drawn for trains, (pieces, trains): of each piece a share."""
        pieces, recipe = self.recipe.pieces, self.recipe
        found = np.empty((len(pieces), len(places)))
        if pieces:
            for k, place in enumerate(places.tolist()):
                design, i = divmod(place, self.notes)
                found[:, k] = shares_of(pieces, recipe.seed, int(self.numbers[design]), recipe.notes[i])
        return found

    def _own(self, shares: Floats, blanks: Blanks) -> Own | None:
        """What the notes have of their own."""
        if not len(shares):
            return None
        drawn: Any = [Many(row, blanks) for row in shares]
        return lambda parts, library, _: deviated(parts, self.recipe.pieces, library, drawn)

    def _many(self, notes: Alike, places: Places, shares: Floats) -> None:
        """Build some trains as one."""
        blanks = Blanks()
        changes = [change for one in self.varied for change in one.changes(places // self.notes, blanks)]
        try:
            library = changed_library(self.recipe.library, changes)
        except ValueError as problem:
            found: Train | str = f"{IMPOSSIBLE}{problem}"
        else:
            parts = notes.at(np.searchsorted(notes.notes, places % self.notes), blanks)
            found = built(parts, by_part(changes), library, self._own(shares, blanks), 0, remarks=False)
        if isinstance(found, str):
            self._refused(places, found, blanks)
        elif len(blanks):  # a text was made of figures, and something may hang on it
            raise OneByOne
        else:
            self._take(places, found)

    def _refused(self, places: Places, text: str, blanks: Blanks) -> None:
        """Trains that cannot be built, which one of them has to confirm: an error may be of many numbers alone."""
        told = [blanks.filled(text, k) for k in range(len(places))] if len(blanks) else [text] * len(places)
        if self._alone(int(places[0])) != told[0]:
            raise OneByOne
        for place, why in zip(places.tolist(), told, strict=True):
            self.status[place] = why

    def _take(self, places: Places, train: Train) -> None:
        """Take over a train of many numbers; those with a parameter that is no finite one are told so."""
        sound = np.ones(len(places), dtype=bool)
        for item in train.parameters.values():
            finite = np.isfinite(_plain(item.value))
            if not finite.all():
                for place in places[sound & ~finite].tolist():
                    self.status[place] = f"{IMPOSSIBLE}no finite {item.doc}"
                sound &= finite
        if sound.any():
            found = _piece(places, train)
            self._pieces.append(found if sound.all() else _some(found, sound))

    def train(self, place: int) -> Train | str:
        """The train at a place, made as `make_design` makes it."""
        design, i = divmod(place, self.notes)
        return make_train(self.recipe, self.plan[design], int(self.numbers[design]), i)

    def _alone(self, place: int) -> Train | str:
        self.alone += 1
        return self.train(place)

    def _one_by_one(self, places: Places) -> None:
        for place in places.tolist():
            train = self._alone(place)
            if isinstance(train, str):
                self.status[place] = train
            else:
                self._pieces.append(_piece(np.array([place]), train))

    def groups(self) -> Iterator[Group]:
        """All trains, those together that have the same equations, figures and strokes."""
        alike: dict[tuple[object, ...], list[_Piece]] = {}
        for one in self._pieces:
            for strokes, piece in self._by_strokes(one):
                key = (piece.structure, id(strokes), tuple(piece.parameters), tuple(piece.figures))
                alike.setdefault(key, []).append(piece)
        self._pieces = []
        for pieces in alike.values():
            places = np.concatenate([one.places for one in pieces])
            table = _joined([one.parameters for one in pieces], pieces)
            figures = _joined([one.figures for one in pieces], pieces)
            if np.any(np.diff(places) < 0):
                order = np.argsort(places)
                places, table, figures = places[order], table[:, order], figures[:, order]
            strokes, names = self._strokes_at(int(places[0])), tuple(pieces[0].parameters)
            told = dict(zip(pieces[0].figures, figures, strict=True))
            yield Group(places, pieces[0].structure, strokes, names, table, told, self.train)

    def _strokes_at(self, place: int) -> Strokes:
        return self.strokes[place // self.notes] if self.strokes else self.recipe.strokes

    def _by_strokes(self, piece: _Piece) -> Iterator[tuple[Strokes, _Piece]]:
        """A piece in parts on which the same is played."""
        if self.strokes is None:
            yield self.recipe.strokes, piece
            return
        played = [self._strokes_at(place) for place in piece.places.tolist()]
        which = np.array([id(one) for one in played])
        for strokes in {id(one): one for one in played}.values():
            mask = which == id(strokes)
            yield strokes, piece if mask.all() else _some(piece, mask)


def _plain(value: float) -> float | Floats:
    """A number, or the array of those of many designs."""
    return value.values if isinstance(value, Many) else value


def _piece(places: Places, train: Train) -> _Piece:
    figures = {
        (part.name, item.name): _plain(item.value)
        for part in train.parts
        for item in (part.values.derived.get(name) for name in (CLOSING, WAVE, FEET))
        if item is not None
    }
    return _Piece(places, train.structure, {name: _plain(one.value) for name, one in train.parameters.items()}, figures)


def _some(piece: _Piece, mask: NDArray[np.bool_]) -> _Piece:
    """Some of the trains of a piece."""
    parameters = {key: _at(value, mask) for key, value in piece.parameters.items()}
    return _Piece(
        piece.places[mask], piece.structure, parameters, {key: _at(value, mask) for key, value in piece.figures.items()}
    )


def _at(value: float | Floats, mask: NDArray[np.bool_]) -> float | Floats:
    return value[mask] if isinstance(value, np.ndarray) else value


def _joined(found: Sequence[Mapping[Any, float | Floats]], pieces: Sequence[_Piece]) -> Floats:
    """Figures over the trains of all pieces, a row for each."""
    table, first = np.empty((len(found[0]), sum(len(one.places) for one in pieces))), 0
    for figures, one in zip(found, pieces, strict=True):
        last = first + len(one.places)
        for row, value in zip(table, figures.values(), strict=True):
            row[first:last] = value
        first = last
    return table
