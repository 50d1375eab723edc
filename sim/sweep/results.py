"""The one dataset of a sweep: put together block by block, whatever its size."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import islice
from pathlib import Path
from typing import Any

import h5py
import numpy as np
from numpy.typing import NDArray

from keyaction.models.notes import naming_of, parse_note
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.files import sparse_hdf5
from keyaction.sim.files.hdf5 import FORMAT
from keyaction.sim.files.problem import Unreadable, unwritten
from keyaction.sim.files.replace import replacing
from keyaction.sim.files.sparse_hdf5 import Layout, Rows
from keyaction.sim.lanes.judge import ALLOWED, Check
from keyaction.sim.sweep.blocks import TRAINS, Block, BlockResult, Coded, Cut, cut
from keyaction.sim.sweep.folder import BLOCKS
from keyaction.sim.sweep.kept_blocks import Kept, Told, newest
from keyaction.sim.sweep.manifest import plan_in
from keyaction.sim.sweep.playing import CODED

CONTENT = "key action, design by design"
_TEXT = h5py.string_dtype("utf-8")
MOST_WORDS = 1000
"""Different reasons that a file tells apart."""
_ROOM = 8
"""Times as many that are looked at together."""
TOGETHER = 1 << 16
"""Trains whose figures are written together."""
OTHER = "failed: for yet another reason; too many to tell apart"
OTHERS = {"sensitive": "more than can be told here; too many to tell apart"}


class Words:
    """Texts as numbers: a list that grows with every new one."""

    def __init__(self, first: Sequence[str] = (), other: str = OTHER) -> None:
        self.other = other
        self.names = list(first)
        self._codes = {name: code for code, name in enumerate(first)}

    def add(self, text: str) -> None:
        """Take a text into the list."""
        if text not in self._codes:
            name = text if len(self.names) < MOST_WORDS else self.other
            if name not in self._codes:
                self._codes[name] = len(self.names)
                self.names.append(name)

    def codes(self, coded: Coded) -> NDArray[np.int32]:
        """The numbers of some texts."""
        other = self._codes.get(self.other, 0)
        return np.array([self._codes.get(name, other) for name in coded.names], dtype=np.int32)[coded.codes]


class _Texts:
    """Different texts of a word, each with the first train that has it; of too many, the first in the plan's order."""

    def __init__(self) -> None:
        self.first: dict[str, tuple[int, int]] = {}

    def add(self, block: int, texts: Sequence[str]) -> None:
        """Take the texts of a block."""
        for place, text in enumerate(texts):
            if (block, place) < self.first.get(text, (block + 1, 0)):
                self.first[text] = (block, place)
        if len(self.first) > _ROOM * MOST_WORDS:
            self.first = dict(sorted(self.first.items(), key=lambda one: one[1])[: 2 * MOST_WORDS])

    def words(self, name: str) -> Words:
        """As numbers, in the plan's order."""
        found = Words(("ok",) if name == "status" else ("",), OTHERS.get(name, OTHER))
        for text in sorted(self.first, key=self.first.__getitem__):
            found.add(text)
        return found


class Survey:
    """What a look at the kept blocks tells: how many designs, their statuses, the judgement of SciPy.

    Raises
    ------
    Unreadable
        When one of the files of blocks is damaged.
    """

    def __init__(self, folder: Path, blocks: Sequence[Block], key: str) -> None:
        number, at = np.full(len(blocks), -1, dtype=np.int32), np.zeros(len(blocks), dtype=np.int64)
        self.designs, self.whole = 0, False
        self.counts: Counter[str] = Counter()
        self.reasons: Counter[str] = Counter()
        texts = {name: _Texts() for name in CODED}
        judged_by, doubtful, sensitive = list[tuple[int, Check]](), 0, 0
        for told, where, place in newest(folder / BLOCKS, blocks, key):
            index = told.block.index
            number[index], at[index] = where, place
            self.designs += told.block.stop - told.block.start
            self._count(told)
            for name, found in texts.items():
                found.add(index, told.words[name][0])
            for check in told.checks:
                doubtful, sensitive = doubtful + check.doubtful, sensitive + check.sensitive
                if check.compared:
                    first = told.block.start * told.trains // (told.block.stop - told.block.start)
                    where = first + check.design if check.design >= 0 else -1
                    judged_by.append((index, replace(check, design=where, doubtful=0, sensitive=0)))
        self.words = {name: found.words(name) for name, found in texts.items()}
        self.checks = [Check(0, 0.0, "none", -1, 0.0, doubtful, sensitive)]
        self.checks += [check for _, check in sorted(judged_by, key=lambda one: one[0])]
        self.kept = Kept(folder / BLOCKS, number, at)
        self.whole = bool(np.all(number >= 0))

    def _count(self, told: Told) -> None:
        names, codes = told.words["status"]
        for code, name in enumerate(names):
            count = codes.count(code)
            self.counts[name.partition(":")[0]] += count
            if name != "ok":
                self.reasons[name] += count
        while len(self.reasons) > MOST_WORDS:
            del self.reasons[min(self.reasons, key=self.reasons.__getitem__)]


def judged(checks: Sequence[Check], doubt: str = "decide", notes: Sequence[str] = ()) -> dict[str, Any]:
    """The judgement of SciPy over all sampled designs, as plain data.

    `doubt` says what became of those in doubt; with the names of the notes it is told which design differs most.
    """
    decided = {"doubtful": sum(one.doubtful for one in checks), "sensitive": sum(one.sensitive for one in checks)}
    checks = [check for check in checks if check.compared]
    worst = max(checks, key=lambda one: np.inf if np.isnan(one.worst) else one.worst, default=None)
    failed = sum(not one.worst <= ALLOWED for one in checks)
    return {
        "compared": sum(one.compared for one in checks),
        "worst": None if worst is None or not np.isfinite(worst.worst) else worst.worst,
        "quantity": "" if worst is None else worst.quantity,
        "allowed": ALLOWED,
        "beyond": failed,
        "where": "" if worst is None or worst.design < 0 or not notes else _where(worst.design, notes),
        **decided,
        "doubt": doubt,
    }


def _where(train: int, notes: Sequence[str]) -> str:
    design, note = divmod(train, len(notes))
    return f"design {design} at {notes[note]}"


def judged_text(data: Mapping[str, Any]) -> str:
    """The judgement in words."""
    told = f"{data['doubtful'] or 'no'} design{'s' * (data['doubtful'] != 1)} in doubt"
    if data["doubtful"] and data.get("doubt") == "mark":
        told += ", marked as sensitive and not decided"
    elif data["doubtful"]:
        told += ", played one by one (SciPy)"
        told += f", {data['sensitive']} of them sensitive to how exactly" if data["sensitive"] else ""
    if not data["compared"]:
        return f"{told}; none else was played again as a check"
    worst = "without limit" if data["worst"] is None else f"{data['worst']:.2%}"
    name = data["quantity"]
    where = f" ({QUANTITIES[name].label if name in QUANTITIES else name})" if name not in ("", "none") else ""
    what = "design" if data["compared"] == 1 else "designs"
    told += f"; {data['compared']} {what} played again as a check: largest difference {worst}{where}"
    if data["beyond"]:
        told += f"; beyond {data['allowed']:.1%} in {data['beyond']} of them"
        told += f", most of all in {data['where']}" if data.get("where") else ""
    return told


def blocks_of(data: Mapping[str, Any]) -> Cut:
    """The blocks that a manifest's plan is cut into."""
    return cut(plan_in(data), len(data["note_names"]), data["judge"])


def assemble(folder: Path, data: Mapping[str, Any], path: Path, again: str = "") -> Survey:
    """Put the finished blocks into one file.

    Parameters
    ----------
    folder : Path
        Of the sweep.
    data : mapping
        Its manifest.
    path : Path
        The file.
    again : str
        What to do when there is room again, if not the same.

    Returns
    -------
    Survey

    Raises
    ------
    Unreadable
        When nothing is finished yet.
    FileProblem
        When the file cannot be written; an older one stays as it was.
    """
    blocks = blocks_of(data)
    survey = Survey(folder, blocks, data["key"])
    if not survey.designs:
        raise Unreadable(f"{folder}: no block of this sweep is finished yet")
    texts = _about(data, survey)
    try:
        with replacing(path) as temporary:
            rows = _rows(data, survey)
            sparse_hdf5.write(temporary, lambda layout: _lay_out(layout, data, survey, texts), rows)
    except OSError as problem:
        advice = f"all finished blocks are kept. Make room, then {again or 'do the same again'}"
        raise unwritten(path, problem, advice) from problem
    return survey


def _about(data: Mapping[str, Any], survey: Survey) -> dict[str, str]:
    plan, told = data["plan"], judged(survey.checks, data.get("doubt", "decide"), data["note_names"])
    return {
        **data["about"],
        "fingerprint": data["key"],
        "plan": plan["kind"],
        "second_order": str(plan["second_order"]).lower(),
        "plan_data": json.dumps(plan),
        "inputs": json.dumps(data["inputs"]),
        "quantities": json.dumps(list(data["quantities"])),
        "designs": str(data["designs"]),
        "complete": str(survey.whole).lower(),
        "counts": json.dumps(dict(survey.counts)),
        "judged": json.dumps(told),
        "methods": f"many designs at once, in one compiled step; {judged_text(told)}",
        "status_meanings": json.dumps(survey.words["status"].names),
    }


def _input_columns(data: Mapping[str, Any]) -> Iterator[tuple[str, int, Mapping[str, Any]]]:
    """Name, number and description of every variable along the designs that tells about an input."""
    for k, one in enumerate(data["inputs"]):
        yield f"input_{one['name']}", k, one
        if data["plan"]["kind"] == "morris":
            yield f"unit_{one['name']}", k, one


def _lay_out(layout: Layout, data: Mapping[str, Any], survey: Survey, texts: Mapping[str, str]) -> None:
    file, designs, notes = layout.file, survey.designs, data["note_names"]
    file.attrs["format"], file.attrs["content"] = FORMAT, CONTENT
    for name, text in texts.items():
        file.create_dataset(f"about/{name}", data=text, dtype=_TEXT)
    design = _described(layout.column("design", (designs,), "i8"), "1", "row of the plan")
    note = file.create_dataset("note", data=notes, dtype=_TEXT)
    note.attrs["long_name"] = "note"
    design.make_scale("design")
    note.make_scale("note")
    naming = naming_of(texts.get("note_names"))
    semitone = file.create_dataset("semitone", data=[parse_note(name, naming) for name in notes])
    _described(semitone, "1", "semitone number, C4 = 60").dims[0].attach_scale(note)
    for name, _, one in _input_columns(data):
        place = name.startswith("unit_")
        coded = one["words"] and not place
        made = layout.column(name, (designs,), "i4" if coded else "f8")
        _described(made, "1" if place else one["unit"] or "1", "place in the plan" if place else one["doc"])
        if coded:
            made.attrs.create("meanings", one["words"], dtype=_TEXT)
        told = ("fields", "factor", "offset", "span", "source")
        made.attrs["definition"] = json.dumps({key: one[key] for key in told if key in one})
        made.dims[0].attach_scale(design)
    for name, (unit, label, definition) in data["quantities"].items():
        made = _described(layout.column(name, (designs, len(notes)), "f8"), unit or "1", label)
        made.attrs["definition"] = definition
        _attach(made, design, note)
    for name, label in CODED.items():
        made = _described(layout.column(name, (designs, len(notes)), "i4"), "1", label)
        made.attrs.create("meanings", survey.words[name].names, dtype=_TEXT)
        _attach(made, design, note)


def _described(made: Any, unit: str, label: str) -> Any:
    made.attrs["units"], made.attrs["long_name"] = unit, label
    return made


def _attach(made: Any, *scales: Any) -> None:
    for axis, scale in enumerate(scales):
        made.dims[axis].attach_scale(scale)


def _batched(results: Iterable[BlockResult], size: int) -> Iterator[list[BlockResult]]:
    """Some results at a time."""
    source = iter(results)
    while found := list(islice(source, size)):
        yield found


def _rows(data: Mapping[str, Any], survey: Survey) -> Iterator[Rows]:
    """The figures, many blocks at a time: single ones would be a great many small writes."""
    first, notes = 0, len(data["note_names"])
    for results in _batched(survey.kept.results(), max(1, TOGETHER // TRAINS)):
        values: dict[str, Any] = {
            "design": np.concatenate([np.arange(one.block.start, one.block.stop) for one in results])
        }
        inputs, places = (np.concatenate([getattr(one, name) for one in results]) for name in ("inputs", "places"))
        for name, k, _ in _input_columns(data):
            values[name] = (places if name.startswith("unit_") else inputs)[:, k]
        figures = np.concatenate([one.values for one in results])
        for k, name in enumerate(data["quantities"]):
            values[name] = figures[:, :, k]
        for name, words in survey.words.items():
            values[name] = np.concatenate([words.codes(one.words[name]) for one in results]).reshape(-1, notes)
        yield first, values
        first += len(figures)
