"""From a row of a plan to trains: the case's values at each note with the design's own in their place."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from keyaction.cases.action.case import Case
from keyaction.cases.action.own_materials import with_properties
from keyaction.cases.action.strokes import NO_NOTE, Strokes, make_strokes
from keyaction.cases.fields.allowed import allowed_range, inside, written
from keyaction.cases.study.inputs import MATERIALS, STROKES, How, Input, Setting, Target, own_value, word
from keyaction.cases.study.reader import Study
from keyaction.cases.study.spans import Choices
from keyaction.cases.study.spreads import Piece
from keyaction.models.fields.values import Given, Scalar
from keyaction.models.many import maths
from keyaction.models.materials.library import Library
from keyaction.models.train.given import AnyPart, with_values
from keyaction.models.train.train import Train, TrainProblem, build_train
from keyaction.sim.code.kernel import source_key
from keyaction.sim.lanes.evaluate import Doubt
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.sweep.pieces import drawn

ORIGIN = "study"
AS_IN_CASE = "as in the case"
"""What an input of words says where a design leaves the case's own, which no single choice describes."""
IMPOSSIBLE = "impossible: "
"""How the status of a design begins that cannot be built."""

Part = AnyPart
Change = tuple[Target, Scalar, How]
"""A field, a value, and what that is to the field."""

Own = Callable[[Sequence[Part], Library, int], Sequence[Part]]
"""What a note has of its own: of its parts, the library and its number among the notes, its parts."""


@dataclass(frozen=True)
class Recipe:
    """All that a process needs to compute any design of a study."""

    notes: tuple[int, ...]
    parts: tuple[tuple[Part, ...], ...]
    library: Library
    strokes: Strokes
    inputs: tuple[Input, ...]
    own: tuple[float | str, ...]
    quantities: tuple[str, ...]
    program: str
    pieces: tuple[Piece, ...] = ()
    seed: int = 0
    device: str = "cpu"
    doubt: Doubt = "decide"


@dataclass(frozen=True)
class Design:
    """One row of the plan: a train for each note, or why there is none; what is played on it; its input values."""

    trains: tuple[Train | str, ...]
    strokes: Strokes
    values: tuple[float, ...]


def recipe_of(study: Study) -> Recipe:
    """What the study's designs are made from."""
    return recipe(study.case, study.notes, study.inputs, study.quantities, study.pieces, study.seed)


def recipe(
    case: Case,
    notes: tuple[int, ...],
    inputs: tuple[Input, ...],
    quantities: tuple[str, ...],
    pieces: tuple[Piece, ...] = (),
    seed: int = 0,
) -> Recipe:
    """What designs of some notes of a case are made from.

    Parameters
    ----------
    case : Case
    notes : tuple of int
    inputs : tuple of Input
    quantities : tuple of str
    pieces : tuple of Piece
        What each note of a design has its own deviation of.
    seed : int
        Of those.
    """
    return Recipe(
        notes,
        tuple(case.given(note) for note in notes),
        case.library,
        case.strokes,
        inputs,
        tuple(_own_number(case, notes, one) for one in inputs),
        quantities,
        source_key(),
        pieces,
        seed,
    )


def dead_choices(study: Study) -> Iterator[tuple[Input, str, str]]:
    """Choices with which no train can be built, whatever the other inputs are: input, choice, and why.

    Tried at the lowest, middle and highest note, with the others as in the case and at three of their places.
    """
    notes = study.notes
    if not any(isinstance(one.span, Choices) for one in study.inputs):
        return
    made = recipe_of(replace(study, notes=tuple(dict.fromkeys((notes[0], notes[len(notes) // 2], notes[-1])))))
    for k, one in enumerate(study.inputs):
        if not isinstance(one.span, Choices):
            continue
        for i, choice in enumerate(one.labels):
            reasons = []
            for others in (np.nan, 0.0, 0.5, 1.0):
                row = np.full(len(study.inputs), others)
                row[k] = (i + 0.5) / len(one.span.values)
                reasons.append([train for train in make_design(made, row).trains if isinstance(train, str)])
            if all(len(found) == len(made.notes) for found in reasons):
                yield one, choice, f"no train can be built with it: {reasons[0][0].removeprefix(IMPOSSIBLE)}"


def _own_number(case: Case, notes: tuple[int, ...], one: Input) -> float | str:
    """What the case itself has in place of an input: a number, 1 for a factor, or words; NaN where it has several."""
    found = own_value(case, notes, one)
    if one.chosen:
        return AS_IN_CASE if found is None else word(found)
    return float("nan") if found is None else float(found)


def words(one: Input, own: float | str) -> tuple[str, ...]:
    """The words that an input's values number: its choices, and the case's own if that is none of them."""
    if not one.chosen:
        return ()
    return one.labels if own in one.labels else (*one.labels, str(own))


def make_design(recipe: Recipe, row: Floats, number: int = 0) -> Design:
    """The trains of one row of the plan.

    Parameters
    ----------
    recipe : Recipe
    row : (inputs,) array
        Positions; NaN leaves the case's own.
    number : int
        Of the row in the plan: what each note has of its own is drawn by it.
    """
    chosen = [chosen_at(one, own, u) for one, own, u in zip(recipe.inputs, recipe.own, row, strict=True)]
    values = tuple(value for value, _ in chosen)
    changes = [change for _, found in chosen for change in found]
    own = own_pieces(recipe, number)
    return changed_design(recipe.parts, recipe.library, recipe.strokes, changes, values, own)


def make_train(recipe: Recipe, row: Floats, number: int, i: int) -> Train | str:
    """The train that `make_design` makes for the note at place `i` of the recipe's."""
    chosen = zip(recipe.inputs, recipe.own, row, strict=True)
    changes = [change for one, own, u in chosen for change in chosen_at(one, own, u)[1]]
    try:
        changed_strokes(recipe.strokes, changes)
        library = changed_library(recipe.library, changes)
    except ValueError as problem:
        return f"{IMPOSSIBLE}{problem}"
    return changed_train(recipe.parts[i], by_part(changes), library, own_pieces(recipe, number), i)


def own_pieces(recipe: Recipe, number: int) -> Own | None:
    """What the notes of a design have of their own."""
    return partial(_drawn, recipe, number) if recipe.pieces else None


def _drawn(recipe: Recipe, number: int, parts: Sequence[Part], library: Library, i: int) -> Sequence[Part]:
    return drawn(parts, recipe.pieces, library, recipe.seed, number, recipe.notes[i])


def changed_design(
    notes: Sequence[Sequence[Part]],
    library: Library,
    strokes: Strokes,
    changes: Sequence[Change],
    values: tuple[float, ...] = (),
    own: Own | None = None,
) -> Design:
    """The trains of some notes with changes.

    Parameters
    ----------
    notes : sequence of sequence of Part
        The parts of each note as the case has them.
    library, strokes
        The case's.
    changes : sequence of Change
    values : tuple of float
        Values of the inputs that the changes come from.
    own : callable, optional
        What each note has of its own.
    """
    try:
        strokes = changed_strokes(strokes, changes)
        library = changed_library(library, changes)
    except ValueError as problem:
        return Design((f"{IMPOSSIBLE}{problem}",) * len(notes), strokes, values)
    placed = by_part(changes)
    trains = tuple(changed_train(parts, placed, library, own, i) for i, parts in enumerate(notes))
    return Design(trains, strokes, values)


def by_part(changes: Sequence[Change]) -> dict[str, list[Change]]:
    """Changes by what they change: a part, the strokes, the materials."""
    found: dict[str, list[Change]] = {}
    for change in changes:
        found.setdefault(change[0].place, []).append(change)
    return found


def chosen_at(one: Input, own: float | str, u: float) -> tuple[float, list[Change]]:
    """An input's value (for words their number) at a position, and what it changes."""
    if np.isnan(u):
        return (float(words(one, own).index(str(own))) if one.chosen else float(own)), []
    found = one.span.at(np.array([u]))[0]
    if not isinstance(one.span, Choices):
        return float(found), [(target, float(found), one.how) for target in one.targets]
    value = one.span.values[int(found)]
    settings: Sequence[Setting] = one.settings[int(found)] if one.settings else [(t, value) for t in one.targets]
    return float(found if one.chosen else value), [(target, setting, "value") for target, setting in settings]


def _new_value(target: Target, value: Scalar, how: How, own: Scalar | None) -> Scalar:
    """The value that a change gives a field.

    Raises
    ------
    ValueError
        If it leaves the field's allowed range.
    """
    if how == "value":
        return value
    if own is None:
        raise ValueError(f"{target.path}: no value to scale")
    before, by = maths.number(own), maths.number(value)
    found = before * by if how == "factor" else before + by
    if not inside(target.field, found):
        raise ValueError(f"{target.path} = {written(target.field, found)}: {allowed_range(target.field)}")
    return found


def changed_strokes(strokes: Strokes, changes: Sequence[Change]) -> Strokes:
    """What is played, with changes."""
    mine = [change for change in changes if change[0].place == STROKES]
    if not mine:
        return strokes
    given = dict(strokes.given)
    for target, value, how in mine:
        own = given[target.inner].value if target.inner in given else None
        given[target.inner] = Given(_new_value(target, value, how, own), ORIGIN)
    made = make_strokes({path: {NO_NOTE: one} for path, one in given.items()})
    if not made.speeds[0] < made.speeds[1] < made.speeds[2]:
        raise ValueError("the three speeds of [strokes] must rise, slow to fast")
    return made


def changed_library(library: Library, changes: Sequence[Change]) -> Library:
    """The materials, with changes."""
    values: dict[tuple[str, str], float] = {}
    for target, value, how in changes:
        if target.place == MATERIALS:
            name, what = target.property
            own = library.get(name)[what].value
            values[(name, what)] = maths.number(value) * own if how == "factor" else maths.number(value)
    return with_properties(library, values) if values else library


def changed_train(
    parts: Sequence[Part], changes: Mapping[str, Sequence[Change]], library: Library, own: Own | None, i: int
) -> Train | str:
    """The train of the note at place `i` with changes, or why there is none."""
    train = built(parts, changes, library, own, i)
    if isinstance(train, str):
        return train
    wild = [item.doc for item in train.parameters.values() if not np.isfinite(item.value)]
    return f"{IMPOSSIBLE}no finite {wild[0]}" if wild else train


def built(
    parts: Sequence[Part],
    changes: Mapping[str, Sequence[Change]],
    library: Library,
    own: Own | None,
    i: int,
    remarks: bool = True,
) -> Train | str:
    """As `changed_train`, whose parameters may be no finite numbers; `remarks` as of `build_train`."""
    try:
        made: Sequence[Part] = [with_values(part, _given(part[2], changes.get(part[1], ()))) for part in parts]
        made = own(made, library, i) if own else made
        return build_train(made, library, remarks=remarks)
    except TrainProblem as problem:
        return f"{IMPOSSIBLE}{'; '.join(problem.defects)}"
    except (ValueError, ArithmeticError) as problem:
        return f"{IMPOSSIBLE}{problem}"


def _given(given: Mapping[str, Given], changes: Sequence[Change]) -> Mapping[str, Given]:
    if not changes:
        return given
    found = dict(given)
    for target, value, how in changes:
        own = given[target.inner].value if target.inner in given else None
        if own is not None or how == "value":  # else the note's part has nothing there that could deviate
            found[target.inner] = Given(_new_value(target, value, how, own), ORIGIN)
    return found
