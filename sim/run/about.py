"""What travels with a result: the case, versions, tolerances, and the run's fingerprint."""

from __future__ import annotations

import datetime
import hashlib
import json
import platform
import tomllib

from keyaction._version import __version__
from keyaction.cases.action.case import Case
from keyaction.cases.instrument.instrument import Instrument
from keyaction.sim.code.kernel import installed, source_key
from keyaction.sim.motion.integrate import LADDER, Tolerances
from keyaction.sim.run.assemble import tolerances_text
from keyaction.sim.run.coupling import Coupling


def about(case: Case, tolerances: Tolerances, coupling: Coupling | None = None) -> dict[str, str]:
    """Texts that travel with a result."""
    more = coupling.assumptions(case.division) if coupling else []
    return {
        "title": case.title,
        "description": case.description,
        "note_names": case.naming,
        "case_name": case.path.name,
        "case_text": case.text,
        "case_files": json.dumps(dict(case.files)),
        "case_settings": json.dumps([list(setting) for setting in case.settings]),
        "strokes": json.dumps({path: given.value for path, given in case.strokes.given.items()}),
        "assumptions": json.dumps([*case.assumptions, *more]),
        "warnings": json.dumps(list(case.warnings)),
        "versions": _versions(),
        "tolerances": tolerances_text(tolerances),
        "methods": ", then ".join(LADDER),
        "fingerprint": fingerprint(case, tolerances, coupling),
        "made": _now(),
        **({"division": case.division, "within": case.within.told()} if case.within else {}),
        **(coupling.told() if coupling else {}),
    }


def about_instrument(instrument: Instrument, coupling: Coupling | None = None) -> dict[str, str]:
    """Texts that travel with the result of an instrument; what its divisions rest on goes with each of them."""
    return {
        "title": instrument.title,
        "description": instrument.description,
        "note_names": instrument.naming,
        "instrument_name": instrument.path.name,
        "instrument_text": instrument.text,
        "instrument_files": json.dumps(dict(instrument.files)),
        "instrument_cases": json.dumps(_cases(instrument)),
        "versions": _versions(),
        "made": _now(),
        **(coupling.told() if coupling else {}),
    }


def _cases(instrument: Instrument) -> dict[str, tuple[str, dict[str, str]]]:
    """Text of every division's case, played or not, and of the files that it needs, by the path that names it."""
    paths = {row["name"]: row["case"] for row in tomllib.loads(instrument.text)["division"]}
    return {paths[name]: (case.text, dict(case.files)) for name, case in instrument.divisions.items() if name in paths}


def _versions() -> str:
    libraries = {library: installed(library) for library in ("numpy", "scipy", "sympy", "h5py")}
    return json.dumps({"keyaction": __version__, "python": platform.python_version(), **libraries})


def _now() -> str:
    return datetime.datetime.now(datetime.UTC).isoformat(timespec="seconds")


def fingerprint(case: Case, tolerances: Tolerances, coupling: Coupling | None = None) -> str:
    """Changes with everything that changes a figure: the case, the program, the tolerances, what couplers move."""
    coupled = f" {coupling.fingerprint(case.division)}" if coupling else ""
    digest = hashlib.sha256(f"{case.fingerprint} {source_key()} {tolerances_text(tolerances)}{coupled}".encode())
    return digest.hexdigest()
