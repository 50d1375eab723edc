"""The one dataset of a sweep: put together block by block, whatever its size."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import h5py
import numpy as np

from keyaction.models.notes import naming_of, parse_note
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.files import sparse_hdf5
from keyaction.sim.files.hdf5 import FORMAT
from keyaction.sim.files.problem import FileProblem, Unreadable, unwritten
from keyaction.sim.files.replace import replacing
from keyaction.sim.files.sparse_hdf5 import Layout, Rows
from keyaction.sim.lanes.judge import ALLOWED, Check
from keyaction.sim.sweep.blocks import CODED, Block, BlockResult, cut
from keyaction.sim.sweep.folder import kept_blocks, read_block
from keyaction.sim.sweep.manifest import plan_in

CONTENT = "key action, design by design"
_TEXT = h5py.string_dtype("utf-8")
MOST_WORDS = 1000
"""Different reasons that a file tells apart."""
OTHER = "failed: for yet another reason; see the files in the folder blocks"
OTHERS = {"sensitive": "more than can be told here; see the files in the folder blocks"}


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

    def code(self, text: str) -> int:
        """The number of a text."""
        return self._codes.get(text, self._codes.get(self.other, 0))


class Survey:
    """What a first pass over the blocks tells: how many designs, their statuses, the judgement of SciPy."""

    def __init__(self, results: Iterator[BlockResult]) -> None:
        self.blocks: list[Block] = []
        self.words = {name: Words(("ok",) if name == "status" else ("",), OTHERS.get(name, OTHER)) for name in CODED}
        self.counts: Counter[str] = Counter()
        self.reasons: Counter[str] = Counter()
        self.checks: list[Check] = []
        for result in results:
            self.blocks.append(result.block)
            self.counts.update(text.partition(":")[0] for text in result.status)
            self.reasons.update(text for text in result.status if text != "ok")
            for name, words in self.words.items():
                for text in dict.fromkeys(result.words[name]):
                    words.add(text)
            self.checks += result.checks
            while len(self.reasons) > MOST_WORDS:
                del self.reasons[min(self.reasons, key=self.reasons.__getitem__)]

    @property
    def designs(self) -> int:
        """Designs that are there."""
        return sum(block.stop - block.start for block in self.blocks)


def judged(checks: Sequence[Check]) -> dict[str, Any]:
    """The judgement of SciPy over all sampled designs, as plain data."""
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
        **decided,
    }


def judged_text(data: Mapping[str, Any]) -> str:
    """The judgement in words."""
    many = data["doubtful"] != 1
    told = f"{data['doubtful'] or 'no'} design{'s' * many} in doubt, played one by one (SciPy)"
    if data["sensitive"]:
        told += f", {data['sensitive']} of them sensitive to how exactly"
    if not data["compared"]:
        return f"{told}; none else was played again as a check"
    worst = "without limit" if data["worst"] is None else f"{data['worst']:.2%}"
    name = data["quantity"]
    where = f" ({QUANTITIES[name].label if name in QUANTITIES else name})" if name not in ("", "none") else ""
    what = "design" if data["compared"] == 1 else "designs"
    told += f"; {data['compared']} {what} played again as a check: largest difference {worst}{where}"
    if data["beyond"]:
        told += f"; beyond {data['allowed']:.1%} in {data['beyond']} of them"
    return told


def blocks_of(data: Mapping[str, Any]) -> list[Block]:
    """The blocks that a manifest's plan is cut into."""
    return cut(plan_in(data), len(data["note_names"]), data["judge"])


def assemble(folder: Path, data: Mapping[str, Any], path: Path) -> Survey:
    """Put the finished blocks into one file.

    Parameters
    ----------
    folder : Path
        Of the sweep.
    data : mapping
        Its manifest.
    path : Path
        The file.

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
    survey = Survey(kept_blocks(folder, blocks, data["key"]))
    if not survey.blocks:
        raise Unreadable(f"{folder}: no block of this sweep is finished yet")
    whole = len(survey.blocks) == len(blocks)
    texts = _about(data, survey, whole)
    try:
        with replacing(path) as temporary:
            rows = _rows(folder, data, survey)
            sparse_hdf5.write(temporary, lambda layout: _lay_out(layout, data, survey, texts), rows)
    except OSError as problem:
        advice = "all finished blocks are kept. Make room, then give the same command with --resume"
        raise unwritten(path, problem, advice) from problem
    return survey


def _about(data: Mapping[str, Any], survey: Survey, whole: bool) -> dict[str, str]:
    plan = data["plan"]
    return {
        **data["about"],
        "fingerprint": data["key"],
        "plan": plan["kind"],
        "second_order": str(plan["second_order"]).lower(),
        "plan_data": json.dumps(plan),
        "inputs": json.dumps(data["inputs"]),
        "quantities": json.dumps(list(data["quantities"])),
        "designs": str(data["designs"]),
        "complete": str(whole).lower(),
        "counts": json.dumps(dict(survey.counts)),
        "judged": json.dumps(judged(survey.checks)),
        "methods": f"many designs at once, in one compiled step; {judged_text(judged(survey.checks))}",
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


def _rows(folder: Path, data: Mapping[str, Any], survey: Survey) -> Iterator[Rows]:
    first = 0
    for block in survey.blocks:
        result = read_block(folder, block, data["key"])
        if result is None:
            raise FileProblem(f"{folder}: block {block.index} went away while it was being read; try again")
        shape = result.values.shape[:2]
        values: dict[str, Any] = {"design": np.arange(result.block.start, result.block.stop)}
        for name, k, _ in _input_columns(data):
            values[name] = (result.places if name.startswith("unit_") else result.inputs)[:, k]
        for k, name in enumerate(data["quantities"]):
            values[name] = result.values[:, :, k]
        for name, words in survey.words.items():
            values[name] = np.array([words.code(text) for text in result.words[name]]).reshape(shape)
        yield first, values
        first += shape[0]
