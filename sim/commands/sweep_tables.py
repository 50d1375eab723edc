"""Tables of a study's result for an 80-column terminal."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray
from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from keyaction.models.units.quantity import System, format_value
from keyaction.sim.analysis.columns import Input
from keyaction.sim.analysis.effects import Effect, Effects
from keyaction.sim.analysis.indices import Estimate, MorrisScreening, SobolIndices, doubts
from keyaction.sim.analysis.pareto import Sense
from keyaction.sim.analysis.reasons import by_cause
from keyaction.sim.analysis.view import StudyView
from keyaction.sim.commands.common import WIDTH, many
from keyaction.sim.figures.limits import MORE
from keyaction.sim.figures.verdict import Fate

Floats = NDArray[np.float64]

MOST_DESIGNS = 12
"""Designs of a front that are listed."""
_TOP = 3
_MOST_INPUTS = 8
"""Inputs of a design that a row of the front names."""
_REASONS = 8
_AT, _CHOICE = "at", 14
"""Heading of the settings of an input, and their width."""
_SLIGHT = 0.005
"""Weight below which an input is not named."""


def _plain(title: str, caption: str = "") -> Table:
    return Table(
        title=Text(title, style="italic"),
        title_justify="left",
        caption=Text(caption, style="dim italic") if caption else None,
        caption_justify="left",
        box=SIMPLE_HEAD,
        show_edge=False,
        pad_edge=False,
        padding=(0, 1, 0, 0),
        width=WIDTH,
    )


def _columns(table: Table, words: str, *numbers: str, narrow: int = 24) -> None:
    """A column of words that takes the room, and columns of numbers."""
    table.add_column(words, ratio=1, min_width=narrow, overflow="fold")
    for heading in numbers:
        setting = heading == _AT  # words of a choice may be long
        table.add_column(heading, justify="right", no_wrap=not setting, max_width=_CHOICE if setting else None)


def designs_table(view: StudyView) -> Table:
    """How many designs there are at each note, and how many failed."""
    waiting = f", {view.waiting} not yet computed" if view.waiting else ""
    table = _plain(f"{view.result.title}: plan {view.plan}, {many(len(view.rows), 'design')}{waiting}")
    _columns(table, "note", "designs", "ok", "failed")
    for i, name in enumerate(view.result.notes):
        fine = view.played(i)
        table.add_row(str(name), str(len(view.rows)), str(fine), str(len(view.rows) - fine))
    return table


def fates_table(view: StudyView) -> Table | None:
    """What becomes of how many designs, and at which notes; None if all of which it is known speak."""
    told = [(fate, name, count) for name, one in zip(view.result.notes, view.pieces.verdicts, strict=True)
            for fate, count in one.items() if fate]  # fmt: skip
    if {fate for fate, _, _ in told} <= {Fate.SPEAKS.value, Fate.UNKNOWN.value}:
        return None
    failed = any(view.reasons(i) for i in range(len(view.result.notes)))
    table = _plain("\nWhat becomes of them" + (", pressed slowly; those that failed are counted too" if failed else ""))
    _columns(table, "verdict", "designs", "notes", narrow=40)
    whole: Counter[str] = Counter()
    for fate, _, count in told:
        whole[fate] += count
    for fate, count in whole.most_common():
        table.add_row(Text(fate), str(count), _notes([name for other, name, _ in told if other == fate]))
    return table


def reasons_table(view: StudyView) -> Table | None:
    """Why designs failed, and how many of which notes; None if none did."""
    told = [
        (reason, name, count) for i, name in enumerate(view.result.notes) for reason, count in view.reasons(i).items()
    ]
    if not told:
        return None
    table = _plain("\nWhy designs failed")
    _columns(table, "reason", "designs", "notes", narrow=40)
    alike = by_cause(reason for reason, _, _ in told)
    told = [(alike[reason], name, count) for reason, name, count in told]
    whole: Counter[str] = Counter()
    for reason, _, count in told:
        whole[reason] += count
    for reason, count in whole.most_common(_REASONS):
        table.add_row(
            Text(reason), str(count), _notes(list(dict.fromkeys(name for other, name, _ in told if other == reason)))
        )
    if len(whole) > _REASONS:
        rest = whole.most_common()[_REASONS:]
        table.add_row(many(len(rest), "other reason"), str(sum(count for _, count in rest)), "")
    return table


def _notes(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{len(names)}, from {names[0]}"


def inputs_table(view: StudyView, units: System) -> Table:
    """What was varied, from where to where."""
    table = _plain("\nVaried")
    _columns(table, "input", "from", "to", "values")
    for one in view.inputs:
        reach = view.pieces.reaches[one.name]
        if one.text:
            table.add_row(Text(f"{one.name}: {', '.join(reach.kinds)}"), "", "", str(len(reach.kinds)))
        elif np.isfinite(reach.low):
            ends = (one.written(end, units) for end in (reach.low, reach.high))
            table.add_row(Text(one.name), *ends, str(len(reach.kinds) or "many"))
    return table


def quantities_table(view: StudyView, quantities: Sequence[str], note: int, units: System) -> Table:
    """Least, middle and largest value of each quantity."""
    view.look(quantities, note)
    rows = []
    for name in quantities:
        found = view.spread(name, note)
        cells = [view.written(name, figure, units) for figure in (found.least, found.median, found.largest)]
        rows.append((view.label(name), [*cells, str(view.played(note) - found.count)]))
    more = any(cell.endswith(MORE) for _, cells in rows for cell in cells)
    table = _plain(f"\nQuantities at {view.result.notes[note]}", _open_end(view, units) if more else "")
    _columns(table, "quantity", "least", "median", "largest", "no value")
    for label, cells in rows:
        table.add_row(Text(label), *cells)
    return table


def limits_told(view: StudyView, note: int) -> str:
    """What limits the repetition rate of how many designs; empty where it was not searched."""
    found, again = view.limits(note)
    told = ", ".join(f"{limit} ({count})" for limit, count in found.most_common())
    more = f"; {many(again, 'design')} {'passes' if again == 1 else 'pass'} again at a faster rate" if again else ""
    return (
        f"What limits the repetition rate at {view.result.notes[note]}, and of how many: {told}{more}." if told else ""
    )


def _open_end(view: StudyView, units: System) -> str:
    top = format_value(view.highest_rate, "Hz", units)
    return f"{top}{MORE} and more: {top} passes, the highest rate tried"


_WEIGHTS = {
    "sobol": "total Sobol' index (95 % interval): share of the variance in which the input has a part",
    "morris": "mean size of the elementary effects (mu*), the largest 1",
    "one-at-a-time": "swing from the base design, the largest 1",
}


def weights_table(view: StudyView, quantities: Sequence[str], note: int) -> Table:
    """For each quantity the inputs that matter most."""
    words = _WEIGHTS.get(view.plan, "swing over the input's range by straight lines through all designs, the largest 1")
    table = _plain(f"\nWhat matters most at {view.result.notes[note]}", f"{words}; all inputs: --quantity NAME")
    doubted, untold = dict[str, list[str]](), list[str]()
    table.add_column("quantity", min_width=22)
    table.add_column("inputs", ratio=1, overflow="fold")
    for name in quantities:
        indices = view.indices(name, note)
        weights = view.weights(name, note) if indices is None else indices.total.value
        order = [i for i in np.argsort(-np.nan_to_num(weights, nan=-1.0)) if weights[i] >= _SLIGHT][:_TOP]
        told = ", ".join(f"{view.inputs[i].name} {weights[i]:.2f}{_between(indices, int(i))}" for i in order)
        if told:
            table.add_row(Text(view.label(name)), Text(told))
        else:
            untold.append(view.label(name))
        if indices is not None and order:
            for text in doubts(indices, [one.name for one in view.inputs]):
                doubted.setdefault(text, []).append(view.label(name))
    if not table.row_count:
        untold = ["every quantity"]
    for label in untold if len(untold) <= _TOP else [f"{len(untold)} other quantities"]:
        table.add_row(Text(label), "does not vary, or too few designs")
    if doubted and table.caption:
        lines = [f"{', '.join(labels)}: {text}" for text, labels in doubted.items()]
        table.caption = Text("\n".join([str(table.caption), *lines]), style="dim italic")
    return table


def _between(indices: SobolIndices | None, i: int) -> str:
    """The interval of a total index."""
    if indices is None or not np.isfinite(indices.total.low[i]):
        return ""
    return f" ({indices.total.low[i]:.2f} to {indices.total.high[i]:.2f})"


def detail_tables(view: StudyView, quantity: str, note: int, units: System) -> list[Table]:
    """Everything about one quantity that the plan allows to say."""
    heading = f"\n{view.label(quantity).capitalize()} at {view.result.notes[note]}"
    indices, screening = view.indices(quantity, note), view.screening(quantity, note)
    if indices is not None:
        return [_sobol(view, indices, heading), *_interactions(view, indices, heading)]
    if screening is not None:
        return [_morris(view, screening, quantity, heading, units)]
    return [_effects(view, view.effects(quantity, note), quantity, heading, units)]


def _interval(estimate: Estimate, i: Any) -> tuple[str, str]:
    value, low, high = (round(float(part[i]), 3) + 0.0 for part in (estimate.value, estimate.low, estimate.high))
    return ("-", "") if not np.isfinite(value) else (f"{value:.3f}", f"{low:.3f} to {high:.3f}")


def _base_points(indices: SobolIndices) -> str:
    return f"{indices.used} base points; 95 % by bootstrap of base points"


def _sobol(view: StudyView, indices: SobolIndices, heading: str) -> Table:
    said = [_base_points(indices), *doubts(indices, [one.name for one in view.inputs])]
    table = _plain(f"{heading}: Sobol' indices", "\n".join(said))
    _columns(table, "input", "first", "95 %", "total", "95 %")
    for i in np.argsort(-np.nan_to_num(indices.total.value, nan=-1.0)):
        table.add_row(Text(view.inputs[i].name), *_interval(indices.first, int(i)), *_interval(indices.total, int(i)))
    if np.all(np.isfinite(indices.first.value)):
        table.add_row("sum (1: no interactions)", f"{np.sum(indices.first.value):.3f}", "", "", "")
    return table


def _interactions(view: StudyView, indices: SobolIndices, heading: str) -> list[Table]:
    if indices.second is None:
        return []
    pairs = [(i, j) for i, j in zip(*np.triu_indices(len(view.inputs), 1), strict=True)]
    pairs.sort(key=lambda pair: -float(np.nan_to_num(indices.second.value[pair], nan=-1.0)))  # type: ignore[union-attr]
    table = _plain(f"{heading}: the strongest interactions", _base_points(indices))
    _columns(table, "inputs", "second", "95 %")
    for i, j in pairs[: 3 * _TOP]:
        names = f"{view.inputs[i].name} with {view.inputs[j].name}"
        table.add_row(Text(names), *_interval(indices.second, (i, j)))
    return [table]


def _morris(view: StudyView, found: MorrisScreening, quantity: str, heading: str, units: System) -> Table:
    label = view.shown(quantity, 0.0, units)[1]
    lost = f"; {found.dropped} effects spoilt by designs without a value" if found.dropped else ""
    caption = f"change per whole range of the input{f', {label}' if label else ''}; sigma: by where it starts{lost}"
    table = _plain(f"{heading}: Morris screening", caption)
    _columns(table, "input", "mu*", "95 %", "mu", "sigma", "effects")
    for i in np.argsort(-np.nan_to_num(found.mu_star.value, nan=-1.0)):
        star, low, high, mean, spread = (
            _number(view, quantity, part[i], units)
            for part in (found.mu_star.value, found.mu_star.low, found.mu_star.high, found.mu.value, found.sigma.value)
        )
        interval = f"{low} to {high}" if star != "-" else ""
        table.add_row(Text(view.inputs[i].name), star, interval, mean, spread, str(found.effects[i]))
    return table


def _number(view: StudyView, quantity: str, value: float, units: System) -> str:
    return f"{float(view.shown(quantity, value, units)[0]):.3g}" if np.isfinite(value) else "-"


def _effects(view: StudyView, found: Effects, quantity: str, heading: str, units: System) -> Table:
    how, caption = "one at a time", f"base design: {view.written(quantity, found.base, units)}"
    if found.fitted:
        share = f"; they explain {found.explained:.0%} of the variance" if np.isfinite(found.explained) else ""
        how, caption = "by straight lines", f"straight lines through {many(found.used, 'design')}{share}"
    table = _plain(f"{heading}: what each input does, {how}", caption)
    lost = any(effect.failed for effect in found.effects)
    _columns(table, "input", "lowest", _AT, "highest", _AT, "swing", *(["failed"] if lost else []), narrow=16)
    swings = np.array([effect.swing for effect in found.effects])
    for i in np.argsort(-np.nan_to_num(swings, nan=-1.0)):
        cells = _effect(view, view.inputs[i], found.effects[i], quantity, units, found.fitted)
        table.add_row(*(cells if lost else cells[:-1]))
    return table


def _effect(
    view: StudyView, one: Input, effect: Effect, quantity: str, units: System, fitted: bool
) -> tuple[Text | str, ...]:
    written = view.written_plain if fitted else view.written
    low, high = (written(quantity, value, units) for value in (effect.low, effect.high))
    swing = view.written_plain(quantity, effect.swing, units)
    at = [one.written(value, units) for value in (effect.at_low, effect.at_high)]
    return Text(one.name), low, Text(at[0]), high, Text(at[1]), swing, str(effect.failed or "")


def pareto_table(view: StudyView, senses: dict[str, Sense], note: int, units: System) -> Table:
    """The designs that no other beats, spread evenly over the front if they are many."""
    found = view.front(senses, note)
    front, values = found.rows, found.values
    shown = np.unique(np.linspace(0, max(len(front) - 1, 0), min(len(front), MOST_DESIGNS)).astype(int))
    better = {"min": "less", "max": "more"}
    wanted = ", ".join(f"{better[sense]} {view.label(name)}" for name, sense in senses.items())
    several = f"; {len(shown)} of them shown" if len(shown) < len(front) else ""
    title = f"\nPareto front at {view.result.notes[note]}: {wanted} is better"
    columns = [[view.written(name, value, units) for value in values[shown, k]] for k, name in enumerate(senses)]
    more = f"\n{_open_end(view, units)}" if any(cell.endswith(MORE) for column in columns for cell in column) else ""
    table = _plain(title, f"{len(front)} of {found.candidates} designs{several}{more}")
    table.add_column("design", justify="right", no_wrap=True)
    for name in senses:
        table.add_column(Text(view.label(name)), justify="right", max_width=14)
    chosen = _telling(view, senses, note)
    few = f"the {len(chosen)} inputs of {len(view.inputs)} that matter most"
    table.add_column("inputs" if len(chosen) == len(view.inputs) else few, ratio=1, overflow="fold")
    for row, *figures in zip(front[shown].tolist(), *columns, strict=True):
        design = ", ".join(f"{one.name} {one.written(one.values[row], units)}" for one in chosen)
        table.add_row(str(view.rows[row]), *figures, Text(design))
    return table


def _telling(view: StudyView, names: Iterable[str], note: int) -> list[Input]:
    """All inputs if they are few; else those that matter most to the quantities, in the study's order."""
    if len(view.inputs) <= _MOST_INPUTS:
        return list(view.inputs)
    weights = [np.nan_to_num(view.weights(name, note), nan=-1.0) for name in names if name in view.quantities]
    most = np.max(weights, axis=0) if weights else np.zeros(len(view.inputs))
    kept = sorted(np.argsort(-most, kind="stable")[:_MOST_INPUTS])
    return [view.inputs[i] for i in kept]
