"""What a result of `run` holds: by this a file of another kind is told before anything is shown of it."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator

from keyaction.models.units.parsing import UnitProblem
from keyaction.models.units.quantity import convert
from keyaction.sim.figures.columns import OVER_COMPASS, QUANTITIES
from keyaction.sim.figures.coupled import COUPLED
from keyaction.sim.figures.dip import pressed_words
from keyaction.sim.files.instrument_result import InstrumentResult
from keyaction.sim.files.labelled import Result
from keyaction.sim.run.pallets import COURSES, VARIABLES

_TEXT, _WHOLE, _REAL = "text", "whole numbers", "numbers"
_KINDS = {"O": _TEXT, "i": _WHOLE, "u": _WHOLE, "f": _REAL}
_TEXTS = {
    "note": ("note", "status", "verdict", "repetition_limit", "warning"),
    "give": ("give", "give_part"),
    "part": ("part",),
    "played": ("played",),
    "account": ("account",),
    "body": ("body", "body_part", "body_piece", "body_unit"),
    "link": ("link", "link_part", "link_place", "link_kind"),
    "figure": ("figure", "figure_part", "figure_what", "figure_role", "figure_unit", "figure_origin"),
}
_ALWAYS = {
    **{name: ((axis,), _TEXT) for axis, names in _TEXTS.items() for name in names},
    "semitone": (("note",), _WHOLE),
    "body_number": (("body",), _WHOLE),
    "pluck_force": (("note",), _REAL),
    "compliance_budget": (("note", "give"), _REAL),
    "mass_budget": (("note", "part"), _REAL),
    "mode_frequency": (("note", "mode"), _REAL),
    "mode_shape": (("note", "mode", "body"), _REAL),
    "body_ratio": (("note", "body"), _REAL),
    "energy_audit": (("note", "played", "account"), _REAL),
    "figures": (("note", "figure"), _REAL),
}
_COURSES = ("finger_travel", "key_travel", "key_force", "pallet_lift", "seat_gap", "groove_pressure")
_PLAYED = {
    **{name: ((name,), _REAL) for name in ("time", "speed")},
    **{f"feel_{way}_{what}": (("note", "sample"), _REAL) for way in ("down", "up") for what in ("travel", "force")},
    **{f"feel_speed_{what}": (("note", "speed", "sample"), _REAL) for what in ("travel", "force")},
    **dict.fromkeys(_COURSES, (("note", "time"), _REAL)),
    "motion": (("note", "body", "time"), _REAL),
    "link_force": (("note", "link", "time"), _REAL),
}
"""What is there only if a note could be played."""
_PALLETS = {
    "pallet": (("pallet",), _TEXT),
    **{f"pallet_{what}": (("note", "pallet"), _TEXT) for what in ("note", "coupler", "verdict")},
    **dict.fromkeys(VARIABLES.values(), (("note", "pallet"), _REAL)),
    **dict.fromkeys(COUPLED, (("note",), _REAL)),
    **dict.fromkeys(COURSES, (("note", "pallet", "time"), _REAL)),
}
"""What is there if a note opens several pallets, or couplers were drawn, and it could be played."""
_DRAWN = {
    "quantile": (("quantile",), _REAL),
    "step_felt": (("note",), _REAL),
    "sound_share": (("note",), _REAL),
    "steps_felt": (("draw",), _WHOLE),
    "steps_known": (("draw",), _WHOLE),
    "pluck_force_spread": (("note", "quantile"), _REAL),
}
_CLOSER = {
    "spread_note": (("spread_note",), _TEXT),
    "band_travel": (("spread_note", "band_sample"), _REAL),
    **{f"feel_{way}_band": (("spread_note", "quantile", "band_sample"), _REAL) for way in ("down", "up")},
    "spread_input": (("spread_input",), _TEXT),
    **{f"pluck_force_{part}": (("spread_note", "spread_input"), _REAL) for part in ("common", "own")},
}
"""What is there if the spread of the figures was drawn, and if a note of them could be played."""


def no_run(result: Result | InstrumentResult) -> str:
    """Why a result is none of `run`, in words; empty if it is one."""
    if isinstance(result, InstrumentResult):
        if not result:
            return "is no whole result of keyaction run (it holds no division); make it anew"
        return next((f"division {name} {told}" for name, one in result.items() if (told := no_run(one))), "")
    if "variant" in result:
        return "is a comparison; the folder that it lies in goes with keyaction report RESULT --compare FOLDER"
    if "design" in result:
        return "holds many designs: a folder of a sweep is shown by keyaction sweep show FOLDER"
    wrong = next(_wrong(result), "")
    return f"is no whole result of keyaction run ({wrong}); make it anew" if wrong else ""


def _wrong(result: Result) -> Iterator[str]:
    """What is amiss with the variables and texts, one after the other."""
    played = "status" in result and result["status"].dtype == object and "ok" in result["status"]
    drawn = {**_DRAWN, **(_CLOSER if played else {})} if "spread" in result.about else {}
    bands = [f"{name}_spread" for name in (*QUANTITIES, *OVER_COMPASS)]
    drawn |= {name: (("note", "quantile"), _REAL) for name in bands if name in result}
    drawn |= {f"{name}_error": (("note", "quantile"), _REAL) for name in bands if f"{name}_error" in result}
    drawn |= {name: (("note",), _REAL) for name in ("pluck_force_deviation",) if name in result}
    drawn |= _PALLETS if "pallet" in result or ("coupled" in result.about and played) else {}
    known = {name: (("note",), _REAL) for name in (*QUANTITIES, *OVER_COMPASS) if name in result}
    for name, (dims, kind) in {**_ALWAYS, **(_PLAYED if played else {}), **known, **drawn}.items():
        if name not in result:
            yield f"'{name}' is missing"
            continue
        one = result.variables[name]
        if one.dims != dims or _KINDS.get(one.data.dtype.kind) != kind:
            yield f"'{name}' should be {kind} over {', '.join(dims)}"
        elif kind == _REAL and not is_unit(one.unit):
            yield f"'{name}' is in '{one.unit}', which is no unit"
    if "note" in result and not result["note"].size:
        yield "it holds no note"
    texts: tuple[tuple[str, Callable[[Result], object]], ...] = (
        ("assumptions", _assumptions),
        ("warnings", _warnings),
        ("spread", _spread),
        ("strokes", pressed_words),
        ("case_settings", _settings),
        ("versions", _versions),
        ("case_files", _files),
    )
    for name, read in texts:
        try:
            read(result)
        except (ValueError, TypeError, AttributeError, RecursionError):
            yield f"'{name}' cannot be read"


def is_unit(text: str) -> bool:
    try:
        convert(0.0, text or "1")
    except UnitProblem:
        return False
    return True


def _assumptions(result: Result) -> None:
    for one in result.assumptions():
        if not all(isinstance(text, str) for text in one):
            raise TypeError


def _warnings(result: Result) -> None:
    found = json.loads(result.about.get("warnings", "[]"))
    if not isinstance(found, list) or not all(isinstance(one, str) for one in found):
        raise TypeError


def _settings(result: Result) -> None:
    found = json.loads(result.about.get("case_settings", "[]"))
    if not isinstance(found, list) or not all(isinstance(one, list) and len(one) == 2 for one in found):
        raise TypeError
    if not all(isinstance(path, str) for path, _ in found):
        raise TypeError


def _versions(result: Result) -> None:
    if not isinstance(json.loads(result.about.get("versions", "{}")), dict):
        raise TypeError


def _files(result: Result) -> None:
    found = json.loads(result.about.get("case_files", "{}"))
    if not isinstance(found, dict) or not all(isinstance(text, str) for text in found.values()):
        raise TypeError


def _spread(result: Result) -> None:
    found = json.loads(result.about.get("spread", '{"draws": 0, "seed": 0, "without": []}'))
    if not isinstance(found, dict) or not all(isinstance(found.get(name), int) for name in ("draws", "seed")):
        raise TypeError
    if not isinstance(found.get("without"), list) or not all(isinstance(one, str) for one in found["without"]):
        raise TypeError
