"""Variants of a case side by side: every figure of every note, what their rods do, and one note's feel curves."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import get_args

import numpy as np

from keyaction.cases.action.case import Case
from keyaction.cases.action.trains import raised_by_parts, select, sound_trains, train_of
from keyaction.models.notes import note_name
from keyaction.models.train.train import Train, TrainProblem
from keyaction.models.units.quantity import System
from keyaction.sim.code.need_numba import need_numba
from keyaction.sim.compare.differs import described, differences
from keyaction.sim.compare.prices import Price
from keyaction.sim.compare.rod_choice import guided, trackers
from keyaction.sim.compare.rod_facts import FACTS, OF_STACKS, Seasons, pulls, rod_facts, stack, way_ratio
from keyaction.sim.compare.trackers import OF_TRACKERS, Trackers
from keyaction.sim.compare.usual import RULE
from keyaction.sim.compare.variants import Variant
from keyaction.sim.figures.budgets import compliance_budget, owners
from keyaction.sim.figures.columns import QUANTITIES, forces_felt
from keyaction.sim.figures.evenness import JUST_NOTICEABLE
from keyaction.sim.figures.play import press_note, reason_of
from keyaction.sim.figures.quantities import mass_budget
from keyaction.sim.figures.record import Pressed
from keyaction.sim.files.labelled import Array, Result, Variable
from keyaction.sim.lanes.evaluate import Outcome, available, evaluate
from keyaction.sim.lanes.judge import Check
from keyaction.sim.lanes.presses import pressed_trains
from keyaction.sim.motion.integrate import Floats, Tolerances
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.run.about import about
from keyaction.sim.run.assemble import CURVES
from keyaction.sim.run.note import SAMPLES, slow_curves

Told = Callable[[str], None]

FEEL_CURVES = ("feel_down_travel", "feel_down_force", "feel_up_travel", "feel_up_force")


def compare(
    variants: Sequence[Variant],
    notes: str | Sequence[int] | None = None,
    note: str | None = None,
    seasons: Seasons | None = None,
    jobs: int = 0,
    told: Told | None = None,
    prices: Sequence[Price] = (),
) -> Result:
    """Compute all variants.

    Parameters
    ----------
    variants : sequence of Variant
        From `keyaction.sim.compare.variants.read_variants`; the first is what the others are held against.
    notes : str or sequence of int, optional
        As for `keyaction.sim.run.run.run`; all by default.
    note : str, optional
        The note whose feel curves SciPy plays; the middle one by default.
    seasons : Seasons, optional
    jobs : int
        Threads; 0 means one per core.
    told : callable, optional
        Told in words of every stage that begins.
    prices : sequence of Price, optional
        Of the rods' materials.

    Returns
    -------
    Result
        Figures over ``variant`` and ``note``, rods over ``rod`` as well, feel curves over ``variant``.

    Raises
    ------
    keyaction.models.train.train.TrainProblem, keyaction.models.notes.NoteProblem
        As `run` does.
    keyaction.sim.code.no_numba.NoNumba
        If Numba cannot be used.
    """
    need_numba()
    say = told or (lambda _: None)
    first = variants[0].case
    wanted = sorted(select(first, notes))
    shown = select(first, note)[0] if note else wanted[len(wanted) // 2]
    trains, left = _trains(variants, wanted)
    wanted = list(trains[0])
    if shown in left:
        shown = wanted[len(wanted) // 2]
    say(f"all figures of {len(variants)} x {len(wanted)} notes")
    flat = [train for one in trains for train in one.values()]
    outcome = evaluate(flat, first.strokes, jobs=jobs)
    say("what gives way, and the pull in every tracker")
    table = _Table(variants, wanted, trains, seasons or Seasons(), prices)
    table.fill(pressed_trains(flat, first.strokes, jobs))
    say(f"feel curves of {note_name(shown, first.naming)}")
    pressed = [_pressed(variant.case, shown) for variant in variants]
    found = _axes(variants, wanted, shown) | _figures(outcome, len(variants), len(wanted)) | table.variables()
    found |= _stacks(variants, table.rods, prices) | _curves(pressed)
    named = {note_name(n, first.naming): why for n, why in left.items()}
    return Result(found, _about(variants, outcome, table, pressed) | {"left_out": json.dumps(named)})


def _trains(variants: Sequence[Variant], notes: Sequence[int]) -> tuple[list[dict[int, Train]], dict[int, str]]:
    """Trains of the notes that can be built in every variant, and why others are left out of all.

    Raises
    ------
    keyaction.models.train.train.TrainProblem
        When the case lacks values, or no note is left.
    """
    trains = [sound_trains(variant.case, notes) for variant in variants]
    left: dict[int, str] = {}
    for variant, built in zip(variants, trains, strict=True):
        left |= raised_by_parts(variant.case, [note for note in notes if note not in built])
    if len(left) == len(notes):
        raise TrainProblem(list(dict.fromkeys(left.values())))
    return [{note: one[note] for note in notes if note not in left} for one in trains], left


def _axes(variants: Sequence[Variant], notes: Sequence[int], shown: int) -> dict[str, Variable]:
    naming = variants[0].case.naming
    return {
        "note": Variable(("note",), _texts([note_name(n, naming) for n in notes]), "", "note"),
        "semitone": Variable(("note",), np.array(notes), "", "semitone number, C4 = 60"),
        "variant": Variable(("variant",), _texts([v.name for v in variants]), "", "what is compared"),
        "letter": Variable(("variant",), _texts([v.letter for v in variants]), "", "its letter in tables"),
        "curve_note": Variable(("variant",), _texts([note_name(shown, naming)] * len(variants)), "", "note of the feel "
                               "curves"),
    }  # fmt: skip


def _texts(values: Sequence[str]) -> Array:
    return np.array(list(values), dtype=object)


def _figures(outcome: Outcome, variants: int, notes: int) -> dict[str, Variable]:
    """Everything that `evaluate` gives, over variant and note, and how far the forces are from the first's."""
    shape, dims = (variants, notes), ("variant", "note")
    usable = np.array([text == "ok" for text in outcome.status])
    found = {}
    for name in available():
        one, values = QUANTITIES[name], np.where(usable, outcome.quantities[name], np.nan)
        found[name] = Variable(dims, values.reshape(shape), one.unit, one.label, one.definition)
    for name in forces_felt():
        apart = QUANTITIES[name].resolution.share(found[name].data[:1], found[name].data)
        words = f"Difference of {found[name].label} from the first variant's, as a share of the first's."
        found[f"{name}_apart"] = Variable(dims, apart, "", f"{found[name].label} against the first", words)
    limits = np.array(outcome.limits, dtype=object).reshape(shape)
    status = np.array(outcome.status, dtype=object).reshape(shape)
    found["repetition_limit"] = Variable(dims, limits, "", "what limits the repetition rate")
    found["status"] = Variable(dims, status, "", "ok, or why it failed")
    told = np.array([str(one) for one in outcome.verdicts], dtype=object).reshape(shape)
    found["verdict"] = Variable(dims, told, "", "what becomes of the note")
    return found


@dataclass
class _Table:
    """Figures of the slow press that are read from its records, gathered one record at a time."""

    variants: Sequence[Variant]
    notes: Sequence[int]
    trains: Sequence[Mapping[int, Train]]
    seasons: Seasons
    prices: Sequence[Price] = ()

    def __post_init__(self) -> None:
        first = self.variants[0].case
        self.rods = [part.name for part in guided(first)]
        self.kinds = [part.kind for part in guided(first)]
        self.pulled = [part.name for part in trackers(first)]
        shape = (len(self.variants), len(self.notes))
        self.owners: dict[str, str] = {}
        self.give: list[dict[str, float]] = [{} for _ in range(shape[0] * shape[1])]
        self.mass: list[dict[str, float]] = [{} for _ in range(shape[0] * shape[1])]
        self.made = {name: np.full(shape, np.nan) for name in OF_TRACKERS}
        self.facts = {name: np.full((*shape, len(self.rods)), np.nan) for name in FACTS if name not in OF_STACKS}

    def fill(self, records: Iterable[tuple[int, Pressed]]) -> None:
        """Read every record; a train that never plucks leaves gaps."""
        for i, record in records:
            at = divmod(i, len(self.notes))
            train = self.trains[at[0]][self.notes[at[1]]]
            self.give[i], self.mass[i] = compliance_budget(record), mass_budget(record)
            self.owners |= owners(record.model.train)
            grown = []
            for j, rod in enumerate(self.rods):
                found = rod_facts(train.part(rod), pulls(record, rod), self.seasons, self.prices)
                for name, value in found.items():
                    self.facts[name][(*at, j)] = value
                if rod in self.pulled:
                    grown.append(found.get("season_change", np.nan) / way_ratio(train, rod))
            if self.pulled:
                trackers_of = Trackers(self.pulled, self.give[i], self.mass[i], grown)
                for name, one in OF_TRACKERS.items():
                    self.made[name][at] = one.compute(trackers_of)

    def _budget(self, budgets: Sequence[Mapping[str, float]]) -> tuple[list[str], Array]:
        longest = max(budgets, key=len)
        names = list(dict.fromkeys([*longest, *(name for one in budgets for name in one)]))
        values = np.array([[one.get(name, np.nan) for name in names] for one in budgets])
        return names, values.reshape(len(self.variants), len(self.notes), len(names))

    def variables(self) -> dict[str, Variable]:
        """Everything that was read."""
        give, gave = self._budget(self.give)
        part, weighs = self._budget(self.mass)
        dims = ("variant", "note")
        found = {
            "give": Variable(("give",), _texts(give), "", "what gave way before the pluck"),
            "give_part": Variable(("give",), _texts([self.owners.get(n, "") for n in give]), "", "part that it is of"),
            "part": Variable(("part",), _texts(part), "", "part of the train"),
            "compliance_budget": Variable((*dims, "give"), gave, "m", "key travel taken up before the pluck"),
            "mass_budget": Variable((*dims, "part"), weighs, "kg", "effective mass at the key front"),
        }
        for name, one in OF_TRACKERS.items():
            found[name] = Variable(dims, self.made[name], one.unit, one.label, one.definition)
        if self.rods:
            found["rod"] = Variable(("rod",), _texts(self.rods), "", "tracker or sticker")
            found["rod_kind"] = Variable(("rod",), _texts(self.kinds), "", "its kind")
            for name, data in self.facts.items():
                unit, label, words = FACTS[name]
                found[name] = Variable((*dims, "rod"), data, unit, label, words)
            found |= self._made_of()
        return found

    def _made_of(self) -> dict[str, Variable]:
        """Material and section of each variant's rods, as the first of the notes has them."""
        dims, note = ("variant", "rod"), self.notes[0]
        rows = [[described(trains[note].part(rod).values) for rod in self.rods] for trains in self.trains]
        materials = np.array([[row[0] for row in one] for one in rows], dtype=object)
        sections = np.array([[row[1] for row in one] for one in rows], dtype=object)
        return {
            "rod_material": Variable(dims, materials, "", "material"),
            "rod_section": Variable(dims, sections, "", "section"),
        }


def _stacks(variants: Sequence[Variant], rods: Sequence[str], prices: Sequence[Price]) -> dict[str, Variable]:
    """Space that each rod's rods of the whole compass take, and their price."""
    if not rods:
        return {}
    found = {name: np.full((len(variants), len(rods)), np.nan) for name in OF_STACKS}
    for i, variant in enumerate(variants):
        trains = sound_trains(variant.case, variant.case.compass)
        for j, rod in enumerate(rods):
            for name, value in stack([train.part(rod) for train in trains.values()], prices).items():
                found[name][i, j] = value
    return {name: Variable(("variant", "rod"), data, *FACTS[name]) for name, data in found.items()}


def _pressed(case: Case, note: int) -> tuple[str, dict[str, Floats]]:
    """Whether a note could be pressed slowly, else why not, and its feel curves."""
    try:
        with np.errstate(all="ignore"):
            return "ok", slow_curves(press_note(NoteModel(train_of(case, note)), case.strokes))
    except Exception as problem:  # the reason is kept with the variant, the others go on
        return f"failed: {reason_of(problem)}", {}


def _curves(pressed: Sequence[tuple[str, Mapping[str, Floats]]]) -> dict[str, Variable]:
    """Feel curves of one note, each variant's as a row."""
    if not any(curves for _, curves in pressed):
        return {}
    found = {"sample": Variable(("sample",), np.arange(SAMPLES), "", "sample along the feel curve")}
    gap = np.full(SAMPLES, np.nan)
    for name in FEEL_CURVES:
        _, unit, label = CURVES[name]
        rows = np.array([curves.get(name, gap) for _, curves in pressed], dtype=np.float32)
        found[name] = Variable(("variant", "sample"), rows, unit, label)
    return found


def _passed(check: Check) -> bool:
    """Whether the sample confirmed the figures; one that only SciPy or only the lanes could find did not."""
    return check.passed and not np.isnan(check.worst)


def _about(
    variants: Sequence[Variant], outcome: Outcome, table: _Table, pressed: Sequence[tuple[str, Mapping[str, Floats]]]
) -> dict[str, str]:
    first = variants[0].case
    seasons = table.seasons
    texts = about(first, Tolerances())
    settings = {v.name: [list(setting) for setting in v.case.settings] for v in variants}
    return texts | {
        "compared": json.dumps([v.name for v in variants]),
        "compared_settings": json.dumps(settings),
        "differs": json.dumps({one: differences(variants, table.trains, table.notes, one) for one in get_args(System)}),
        "rule": RULE,
        "checks": json.dumps([str(check) for check in outcome.checks]),
        "checks_passed": json.dumps(all(_passed(check) for check in outcome.checks)),
        "curve_status": json.dumps([status for status, _ in pressed]),
        "just_noticeable": json.dumps(JUST_NOTICEABLE),
        "seasons": json.dumps({"winter": seasons.winter, "summer": seasons.summer}),
    }
