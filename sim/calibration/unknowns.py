"""What a calibration may ask of a note: figures that nobody can draw, each a field of the case or a share of several.

Trains are built anew from changed fields, so that the case that is written is the one that was fitted.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from keyaction.cases.action.case import Case
from keyaction.cases.text.near import hint
from keyaction.models.fields.values import Given
from keyaction.models.train.train import Train, TrainPart, build_train
from keyaction.sim.figures.sketch import rigid
from keyaction.sim.tightening.refer import standing_rod

Fields = dict[tuple[str, str], float]
"""Part and path of a field to its value, SI."""
ORIGIN = "calibrated"


@dataclass(frozen=True)
class Kind:
    """One kind of unknown.

    Attributes
    ----------
    name : str
        As ``--unknown`` takes it.
    doc : str
        What it is.
    unit : str
        SI; "1" of a factor on what the case has.
    low, high : float
        What it may be; of a factor its natural logarithm.
    span : float
        How far the case may be off in it before anything was measured: what an interval must be below to be one (common
        practice); of a factor in its natural logarithm.
    log : bool
        Whether it is a factor.
    """

    name: str
    doc: str
    unit: str
    low: float
    high: float
    span: float
    log: bool = False


_KINDS = (
    Kind("friction", "friction at the key that its pin makes, whatever it carries", "N", 0.0, 5.0, 0.5),
    Kind("load-friction", "factor on every friction coefficient", "1", 0.0, 10.0, 2.0),
    Kind("spring", "force of the pallet spring, pallet shut", "N", 0.0, 50.0, 1.5),
    Kind("rate", "rise of the spring's force per way", "N/m", 0.0, 1e3, 40.0),
    Kind("seal", "how far outside the opening the pallet seals", "m", 0.0, 10e-3, 3e-3),
    Kind("twist", "torsional stiffness of the roller", "N*m/rad", -4.0, 4.0, 1.0, log=True),
    Kind("ends", "factor on the stiffness of all rod ends", "1", -4.0, 4.0, 1.5, log=True),
    Kind("play", "play of the rod that is regulated", "m", -3e-3, 10e-3, 1.5e-3),
    Kind("balance", "force at the front by which the key is front-heavy", "N", -5.0, 5.0, 0.5),
    Kind("dip", "travel of the front to the bottom felt", "m", 2e-3, 29e-3, 2e-3),
    Kind("bottom-felt", "factor on the stiffness of the bottom felt", "1", -4.0, 4.0, 1.5, log=True),
    Kind("rest-felt", "factor on the stiffness of the rest felt", "1", -4.0, 4.0, 1.5, log=True),
    Kind("seat-felt", "factor on the stiffness of the pallet's seat", "1", -4.0, 4.0, 1.5, log=True),
    Kind("guide", "friction at the key that hinge and guide of the pallet make", "N", 0.0, 5.0, 0.5),
    Kind("pressure", "pressure in the box", "Pa", 20.0, 5e3, 250.0),
    Kind("toes", "factor on the area of the toes that take the wind", "1", -4.0, 3.0, 1.0, log=True),
    Kind("inertia", "factor on the inertia of the key", "1", -2.0, 2.0, 0.7, log=True),
)
KINDS: Mapping[str, Kind] = {one.name: one for one in _KINDS}
"""Every kind of unknown, by name."""


@dataclass(frozen=True)
class Unknown:
    """An unknown of one note.

    Attributes
    ----------
    kind : Kind
    start : float
        As the case has it, in the fit's own figure: SI, or the natural logarithm of a factor.
    base : float
        What a factor of 1 stands for, SI; 1 where there is no single figure.
    fields : callable
        The fields of the case at a figure of the fit.
    high : float
        The most that its fields may be.
    """

    kind: Kind
    start: float
    fields: Callable[[float], Fields]
    base: float = 1.0
    high: float = math.inf

    @property
    def name(self) -> str:
        return self.kind.name

    @property
    def bounds(self) -> tuple[float, float]:
        """In the fit's own figure."""
        return self.kind.low, min(self.kind.high, self.high)

    def value(self, figure: float) -> float:
        """A figure of the fit as people read it, SI."""
        return self.base * math.exp(figure) if self.kind.log else figure


class UnknownProblem(ValueError):
    """Unknowns that a note does not have; the message names them all."""


def unknowns(case: Case, train: Train) -> dict[str, Unknown]:
    """Everything that can be asked of a note, in the order of `KINDS`.

    Parameters
    ----------
    case : Case
    train : Train
        Of that note, as the case has it.
    """
    found: dict[str, Unknown] = {}
    for name, make in _MAKERS.items():
        made = make(KINDS[name], case, train)
        if made is not None:
            found[name] = made
    return {name: found[name] for name in KINDS if name in found}


def chosen(there: Mapping[str, Unknown], wanted: Sequence[str], note: str) -> list[Unknown]:
    """Those that are asked for.

    Raises
    ------
    UnknownProblem
        With every name that the note does not have.
    """
    wrong = []
    for name in dict.fromkeys(wanted):
        if name not in KINDS:
            wrong.append(f"--unknown {name}: not known{hint(name, there)}")
        elif name not in there:
            wrong.append(f"--unknown {name}: {note} has no {KINDS[name].doc}{hint(name, there)}")
    if wrong:
        raise UnknownProblem("\n".join(wrong))
    return [there[name] for name in dict.fromkeys(wanted)]


def fields_at(of: Sequence[Unknown], figures: Sequence[float]) -> Fields:
    """All fields of the case at some figures of the fit."""
    found: Fields = {}
    for one, figure in zip(of, figures, strict=True):
        found |= one.fields(float(figure))
    return found


def train_at(case: Case, note: int, fields: Fields) -> Train:
    """The train of a note with some fields changed.

    Raises
    ------
    keyaction.TrainProblem
        When it cannot be built so.
    """
    parts = []
    for part in case.parts:
        values = case.values(note, part)
        values |= {path: Given(value, ORIGIN) for (name, path), value in fields.items() if name == part.name}
        parts.append(part.given(values))
    return build_train(parts, case.library)


# -- how each is made ----------------------------------------------------------------------------------------
_Maker = Callable[[Kind, Case, Train], Unknown | None]


def _field(role: str, path: str, figure: str = "") -> _Maker:
    """A plain field of the first part of a role; `figure` is what the part derives where that is left out."""

    def make(kind: Kind, case: Case, train: Train) -> Unknown | None:
        part = next((one for one in train.parts if one.role == role), None)
        if part is None or not (part.values.has(path) or figure in part.values.derived):
            return None
        start = part.values.number(path) if part.values.has(path) else part.values.derived[figure].value
        return Unknown(kind, start, lambda value: {(part.name, path): value}, high=_most(case, part.name, path))

    return make


def _most(case: Case, name: str, path: str) -> float:
    """The most that a field may be."""
    head, _, tail = path.partition(".")
    for one in case.part(name).part.fields:
        if one.name == head:
            inner = one.fields or ()
            field = next((deep for deep in inner if deep.name == tail), one) if tail else one
            return field.high if field.high is not None else math.inf
    return math.inf


def _at_key(role: str) -> _Maker:
    """The break-away of a pin as the friction that it makes at the key."""

    def make(kind: Kind, case: Case, train: Train) -> Unknown | None:
        part = next((one for one in train.parts if one.role == role), None)
        if part is None or "tau0" not in part.values.derived:
            return None
        turn = _turn(train, part.name)
        if turn == 0.0:  # a pneumatic lever lies between
            return None
        most = _most(case, part.name, "pin.breakaway") * turn
        start = part.values.derived["tau0"].value * turn
        return Unknown(kind, start, lambda value: {(part.name, "pin.breakaway"): value / turn}, high=most)

    return make


def _turn(train: Train, part: str) -> float:
    return max((abs(turn) for (name, _), turn in rigid(train).turns.items() if name == part), default=1.0)


def _load_friction(kind: Kind, _: Case, train: Train) -> Unknown | None:
    before: Fields = {}
    for part in train.parts:
        for pin in ("pin", "pin_in", "pin_out"):
            own = any(part.values.has(f"{pin}.{what}") for what in ("coefficient", "friction"))
            figure = {"pin": "c" if "c" in part.values.derived else "c_in", "pin_in": "c_in", "pin_out": "c_out"}[pin]
            if own and figure in part.values.derived:
                across = f"{pin}.diameter" if part.values.has(f"{pin}.diameter") else "pin.diameter"
                before[part.name, f"{pin}.coefficient"] = (
                    2 * part.values.derived[figure].value / part.values.number(across)
                )
        if part.values.has("guides.coefficient"):
            before[part.name, "guides.coefficient"] = part.values.number("guides.coefficient")
    before = {place: value for place, value in before.items() if value > 0.0}
    if not before:
        return None
    most = min(2.0 / value for value in before.values())
    return Unknown(kind, 1.0, lambda factor: {place: value * factor for place, value in before.items()}, high=most)


def _balance(kind: Kind, _: Case, train: Train) -> Unknown | None:
    key = train.key
    if "B" not in key.values.derived:
        return None
    front = key.values.derived["r_front"].value
    start = key.values.derived["B"].value / front
    return Unknown(kind, start, lambda force: {(key.name, "balance_moment"): force * front})


def _factor(base: float, before: Fields, kind: Kind) -> Unknown | None:
    if not before:
        return None
    return Unknown(kind, 0.0, lambda log: {place: value * math.exp(log) for place, value in before.items()}, base)


def _twist(kind: Kind, _: Case, train: Train) -> Unknown | None:
    part = next((one for one in train.parts if one.kind == "roller"), None)
    if part is None:
        return None
    stiffness = part.values.derived["K"].value
    return _factor(stiffness, {(part.name, "torsional_stiffness"): stiffness}, kind)


def _ends(kind: Kind, _: Case, train: Train) -> Unknown | None:
    before: Fields = {}
    for part in (one for one in train.parts if one.role == "rod"):
        path = "stiffness" if part.values.has("stiffness") else "end_stiffness"
        if part.values.has(path):
            before[part.name, path] = part.values.number(path)
    return _factor(1.0, before, kind)


def _felt(role: str, table: str) -> _Maker:
    """A felt is stiffer by its area, or by the force of its measured squeeze."""

    def make(kind: Kind, _: Case, train: Train) -> Unknown | None:
        part: TrainPart | None = next((one for one in train.parts if one.role == role), None)
        if part is None:
            return None
        measured = part.values.has(f"{table}.squeeze", f"{table}.force")
        path = f"{table}.force" if measured else f"{table}.area"
        return _factor(1.0, {(part.name, path): part.values.number(path)}, kind) if part.values.has(path) else None

    return make


def _play(kind: Kind, _: Case, train: Train) -> Unknown | None:
    rod = standing_rod(train)
    return Unknown(kind, train.value(rod, "slack"), lambda way: {(rod, "lost_motion"): way})


def _toes(kind: Kind, _: Case, train: Train) -> Unknown | None:
    groove = next((one for one in train.parts if one.role == "groove"), None)
    if groove is None:
        return None
    areas = {(groove.name, path): float(one.value) for path, one in groove.values.given.items() if _is_area(path)}
    if groove.values.has("feet_area"):
        areas = {(groove.name, "feet_area"): groove.values.number("feet_area")}
    return _factor(1.0, {place: area for place, area in areas.items() if area > 0.0}, kind)


def _is_area(path: str) -> bool:
    return path.startswith("stops.") and path.endswith(".area")


def _inertia(kind: Kind, _: Case, train: Train) -> Unknown | None:
    key = train.key
    return _factor(1.0, {(key.name, "inertia"): key.values.derived["J"].value}, kind)


_MAKERS: Mapping[str, _Maker] = {
    "friction": _at_key("key"),
    "load-friction": _load_friction,
    "spring": _field("spring", "force", "force"),
    "rate": _field("spring", "rate", "rate"),
    "seal": _field("pallet", "sealing_margin"),
    "twist": _twist,
    "ends": _ends,
    "play": _play,
    "balance": _balance,
    "dip": _field("key", "dip"),
    "bottom-felt": _felt("key", "bottom_felt"),
    "rest-felt": _felt("key", "rest_felt"),
    "seat-felt": _felt("pallet", "seat"),
    "guide": _at_key("pallet"),
    "pressure": _field("box", "pressure"),
    "toes": _toes,
    "inertia": _inertia,
}
