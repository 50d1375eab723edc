"""What travels with a result: the case, versions, tolerances, and the run's fingerprint."""

from __future__ import annotations

import datetime
import hashlib
import json
import platform

from keyaction._version import __version__
from keyaction.cases.action.case import Case
from keyaction.cases.instrument.instrument import Instrument
from keyaction.sim.code.kernel import installed, source_key
from keyaction.sim.motion.integrate import LADDER, Tolerances
from keyaction.sim.run.assemble import tolerances_text


def about(case: Case, tolerances: Tolerances) -> dict[str, str]:
    """Texts that travel with a result."""
    return {
        "title": case.title,
        "description": case.description,
        "note_names": case.naming,
        "case_name": case.path.name,
        "case_text": case.text,
        "case_files": json.dumps(dict(case.files)),
        "case_settings": json.dumps([list(setting) for setting in case.settings]),
        "strokes": json.dumps({path: given.value for path, given in case.strokes.given.items()}),
        "assumptions": json.dumps(list(case.assumptions)),
        "warnings": json.dumps(list(case.warnings)),
        "versions": _versions(),
        "tolerances": tolerances_text(tolerances),
        "methods": ", then ".join(LADDER),
        "fingerprint": fingerprint(case, tolerances),
        "made": _now(),
        **({"division": case.division, "within": case.within.told()} if case.within else {}),
    }


def about_instrument(instrument: Instrument) -> dict[str, str]:
    """Texts that travel with the result of an instrument; what its divisions rest on goes with each of them."""
    return {
        "title": instrument.title,
        "description": instrument.description,
        "note_names": instrument.naming,
        "instrument_name": instrument.path.name,
        "instrument_text": instrument.text,
        "versions": _versions(),
        "made": _now(),
    }


def _versions() -> str:
    libraries = {library: installed(library) for library in ("numpy", "scipy", "sympy", "h5py")}
    return json.dumps({"keyaction": __version__, "python": platform.python_version(), **libraries})


def _now() -> str:
    return datetime.datetime.now(datetime.UTC).isoformat(timespec="seconds")


def fingerprint(case: Case, tolerances: Tolerances) -> str:
    """Changes with everything that changes a figure: the case, the program, the tolerances."""
    digest = hashlib.sha256(f"{case.fingerprint} {source_key()} {tolerances_text(tolerances)}".encode())
    return digest.hexdigest()
