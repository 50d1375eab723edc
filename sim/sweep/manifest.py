"""What a folder of a sweep says about itself, and whether a study may go on in it."""

from __future__ import annotations

import datetime
import hashlib
import json
from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from keyaction.cases.study.plans import size_words
from keyaction.cases.study.reader import Study
from keyaction.models.notes import note_name
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.files.begun import Refused
from keyaction.sim.motion.integrate import Tolerances
from keyaction.sim.run.about import about
from keyaction.sim.sweep.blocks import designs_per_block
from keyaction.sim.sweep.designs import Recipe, words
from keyaction.sim.sweep.plans import Plan
from keyaction.sim.sweep.usual import judged_of

FORMAT = 3
"""Version of the layout of the folder."""
CONTENT = "sweep of key actions"
USUAL = ("cpu", "decide")
"""Device, and what becomes of designs in doubt, of a folder that does not say so."""


def plan_of(study: Study) -> Plan:
    """The sampling plan of a study."""
    count = len(study.inputs)
    levels = (study.levels,) * count if study.plan == "morris" else tuple(one.levels for one in study.inputs)
    return Plan(study.plan, count, study.size, study.seed, study.second_order, levels)


def manifest(study: Study, recipe: Recipe, judge: int | None) -> dict[str, Any]:
    """Everything that a folder must know to be resumed, assembled and believed, as plain data.

    `judge` designs are judged by SciPy; None: as many as is usual for a plan of that length.
    """
    plan = plan_of(study)
    chosen = {name: QUANTITIES[name] for name in study.quantities}
    texts = about(study.case, Tolerances())
    del texts["made"], texts["fingerprint"], texts["tolerances"], texts["methods"]
    meaning = json.loads(json.dumps(study.meaning()))
    return {
        "format": FORMAT,
        "content": CONTENT,
        "key": _key(meaning, study.case.fingerprint, recipe),
        "study": meaning,
        "case": study.case.fingerprint,
        "program": recipe.program,
        "device": recipe.device,
        "doubt": recipe.doubt,
        "plan": json.loads(json.dumps(asdict(plan))),
        "designs": plan.count,
        "block_designs": designs_per_block(len(study.notes)),
        "judge": judged_of(plan.count) if judge is None else judge,
        "note_names": [note_name(note, study.case.naming) for note in study.notes],
        "quantities": {name: (one.unit, one.label, one.definition) for name, one in chosen.items()},
        "inputs": [
            {**one.meaning(), "unit": one.unit, "words": words(one, own), "doc": one.doc, "source": one.source}
            for one, own in zip(recipe.inputs, recipe.own, strict=True)
        ],
        "about": texts
        | {
            "title": study.title,
            "study": study.text,
            "study_name": study.path.name,
            "made": datetime.datetime.now(datetime.UTC).isoformat(timespec="seconds"),
        },
    }


def _key(meaning: Mapping[str, Any], case: str, recipe: Recipe) -> str:
    told = [meaning, case, recipe.program, *(one for one in (recipe.device, recipe.doubt) if one not in USUAL)]
    return hashlib.sha256(json.dumps(told, sort_keys=True).encode()).hexdigest()


def plan_in(data: Mapping[str, Any]) -> Plan:
    """The plan that a manifest describes."""
    plan = data["plan"]
    return Plan(**{**plan, "levels": tuple(plan["levels"])})


def compare(old: Mapping[str, Any], new: Mapping[str, Any], folder: str) -> None:
    """Let a study go on in a folder if it is the same, or only has a larger plan than the one begun there.

    Raises
    ------
    Refused
        With what has changed.
    """
    changes = [*_study_changes(old["study"], new["study"])]
    if old["case"] != new["case"]:
        changes.append(f"the case {new['about']['case_name']} has changed")
    if old["program"] != new["program"]:
        changes.append(f"the program has changed{_versions(old, new)}")
    ways = [(name, old.get(name, usual), new[name]) for name, usual in zip(("device", "doubt"), USUAL, strict=True)]
    begun = [f"--{name} {was}" for name, was, now in ways if was != now]
    if begun and not changes:
        raise Refused(
            f"{folder}: this study was begun there with {' '.join(begun)}, and figures found in two ways are not "
            "mixed. Nothing was written; go on in that way, or choose another folder"
        )
    changes += [f"--{name} {now} was {was}" for name, was, now in ways if was != now]
    before, after = plan_in(old), plan_in(new)
    if not changes and after.size != before.size:
        changes += _size_changes(before, after)
    if changes:
        raise Refused(
            f"{folder}: holds another study, begun {old['about']['made']}: {'; '.join(changes)}. "
            "Nothing was written; choose another folder with --out, or bring back what has changed"
        )


def _size_changes(before: Plan, after: Plan) -> list[str]:
    """What is wrong with going on with a plan of another size; nothing if it only adds rows."""
    told = size_words(after.kind)
    if after.size < before.size:
        return [f"it has {after.size} {told} where the folder was begun with {before.size}"]
    if not after.extends:
        return [f'a {after.kind} plan cannot grow from {before.size} {told} to {after.size}; "random" can']
    return []


def _study_changes(old: Mapping[str, Any], new: Mapping[str, Any]) -> list[str]:
    found = [
        f"{name} = {_shown(new.get(name))} was {_shown(old.get(name))}"
        for name in dict.fromkeys([*old, *new])
        if name != "vary" and old.get(name) != new.get(name)
    ]
    before, after = ({one["name"]: one for one in data["vary"]} for data in (old, new))
    found += [f"[[vary]] {name} is gone" for name in before if name not in after]
    found += [f"[[vary]] {name} is new" for name in after if name not in before]
    found += [f"[[vary]] {name} has changed" for name in after if name in before and before[name] != after[name]]
    if list(before) != list(after) and set(before) == set(after):
        found.append("the [[vary]] tables are in another order")
    return found


def _shown(value: object) -> str:
    text = json.dumps(value)
    return text if len(text) <= 60 else f"{text[:56]} ..."


def _versions(old: Mapping[str, Any], new: Mapping[str, Any]) -> str:
    before, after = (json.loads(data["about"]["versions"]) for data in (old, new))
    found = [f"{name} {after[name]} was {before.get(name)}" for name in after if before.get(name) != after[name]]
    return f" ({', '.join(found)})" if found else ""
