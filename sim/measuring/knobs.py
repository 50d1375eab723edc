"""What can be turned, set or be wrong at one note: a change of its train by an amount, nothing rebuilt.

One structure has one kernel: changed trains of all notes are pressed side by side, `keyaction.sim.measuring.computed`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from keyaction.models.algebra.names import Name
from keyaction.models.train.train import Train, TrainPart
from keyaction.sim.figures.sketch import Rigid, rigid
from keyaction.sim.tightening.refer import standing_rod, strand, ways

ORIGIN = "as found, supposed"
_PINS = ("tau0", "tau0_in", "tau0_out")


@dataclass(frozen=True)
class Knob:
    """One change of a train.

    Attributes
    ----------
    kind : str
        What is changed, the same for all notes ("nut", "spring"): a key of `KINDS`.
    part : str
        The part that is changed; empty where it is the train as a whole.
    apply : callable
        (train, amount) to train; amount 0 leaves it as it is. Amounts are as `KINDS` has them.
    """

    kind: str
    part: str
    apply: Callable[[Train, float], Train]

    @property
    def about(self) -> Kind:
        """What is known of its kind."""
        return KINDS[self.kind]


@dataclass(frozen=True)
class Kind:
    """What one kind of change is.

    Attributes
    ----------
    name, doc : str
    unit : str
        SI unit of its amount; "1" of shares and of natural logarithms of a factor.
    low, high : float
        Least and greatest amount.
    usual : float
        Amount by which such a thing is usually wrong when it is: what a builder would call a fault.
    good : float
        Standard deviation of it in an action that is well regulated.
    source : str
        Of `usual` and `good`.
    log : bool
        Whether the amount is the natural logarithm of a factor.
    """

    name: str
    doc: str
    unit: str
    low: float
    high: float
    usual: float
    good: float
    source: str = "common practice"
    log: bool = False


_KINDS = (
    Kind("nut", "way by which the run is looser at that rod; below 0 tighter", "m", -6e-3, 6e-3, 0.8e-3, 0.1e-3),
    Kind("rest", "height of the rest felt at the key front, higher positive", "m", -6e-3, 6e-3, 1.5e-3, 0.2e-3),
    Kind("frame", "height of the key frame with all that stands on it, higher positive", "m", -6e-3, 6e-3, 1.2e-3, 0.0),
    Kind("bottom", "depth of the bottom felt at the key front, deeper positive", "m", -4e-3, 6e-3, 1.2e-3, 0.2e-3),
    Kind("bottom-give", "factor on the stiffness of the bottom felt", "1", -4.0, 3.0, 1.2, 0.3, log=True),
    Kind("spring", "share by which the spring's force is more; below 0 less", "1", -0.95, 2.0, 0.3, 0.05),
    Kind("balance", "weight at the key front, more of which presses with the finger", "N", -2.0, 2.0, 0.2, 0.02),
    Kind("friction", "friction at the key that a pin adds, whatever it carries", "N", 0.0, 5.0, 0.25, 0.02),
    Kind("guide", "friction at the key that guide or hinge of the pallet adds", "N", 0.0, 5.0, 0.25, 0.02),
    Kind("oblique", "friction of the last rod in its hole, as a share of its pull", "1", 0.0, 0.9, 0.15, 0.01),
    Kind("rubbing", "factor on all friction of the train", "1", -2.0, 2.5, 0.7, 0.2, log=True),
    Kind("leak", "open area past the shut pallet", "m^2", 0.0, 400e-6, 25e-6, 1e-6),
    Kind("seal", "share by which the wind presses harder on the shut pallet; below 0 less", "1", -0.8, 1.5, 0.2, 0.03),
    Kind("twist", "factor on the torsional stiffness of the roller", "1", -4.0, 1.0, 1.8, 0.1, log=True),
    Kind("soft-run", "factor on the stiffness of every rod with its ends", "1", -3.0, 1.0, 1.2, 0.2, log=True),
    Kind("length", "share by which every rod of the run is longer; below 0 shorter", "1", -0.01, 0.01, 4e-4, 2e-5),
    Kind("pressure", "pressure in the box, more positive", "Pa", -2000.0, 2000.0, 60.0, 3.0),
    Kind("stops", "factor on the area of the toes that take the wind", "1", -5.0, 3.0, 0.7, 0.05, log=True),
)  # fmt: skip
KINDS = {one.name: one for one in _KINDS}
"""Every kind of change, by name; "frame" is several at once (`together`)."""


def knobs(train: Train) -> tuple[Knob, ...]:
    """Everything that can be changed at a train: kinds that it does not have are left out.

    Parameters
    ----------
    train : Train
        Of a single note; of several pallets or springs the first is changed.

    Returns
    -------
    tuple of Knob
        In the order of `KINDS`; of friction one for each body, key first.
    """
    found = rigid(train)
    made: list[Knob] = [Knob("nut", standing_rod(train), _nut(standing_rod(train)))]
    made += [Knob(kind, train.key.name, apply) for kind, apply in _of_key(train)]
    made += [Knob("spring", train.role("spring").name, _scaled((train.role("spring").name, ("M0",))))]
    made += [Knob("balance", train.key.name, _balance)]
    made += [Knob("friction", part.name, _pin(part, found)) for part in _rubbed(train, found)]
    pallet = train.role("pallet")
    made += [Knob("guide", pallet.name, _pin(pallet, found))] if _turn(found, pallet.name) else []
    made += _oblique(train)
    made += [Knob("rubbing", "", _rubbing)]
    made += [Knob("leak", pallet.name, _added(pallet.name, "A_leak"))]
    made += [Knob("seal", pallet.name, _scaled((pallet.name, ("S_wind", "A_wind"))))]
    made += [Knob("twist", part.name, _factor((part.name, ("K",)))) for part in train.parts if _has(train, part, "K")]
    rods = [(part.name, ("k",)) for part in train.parts if part.role == "rod" and _has(train, part, "k")]
    made += [Knob("soft-run", "", _factor(*rods))] if rods else []
    made += [Knob("length", "", _longer)]
    made += [Knob("pressure", train.role("box").name, _pressure)]
    groove = train.role("groove").name
    made += [Knob("stops", groove, _factor((groove, ("A_out",))))] if train.value(groove, "A_out") > 0.0 else []
    return tuple(made)


def one_of(train: Train, kind: str, part: str = "") -> Knob | None:
    """The first knob of a kind (at a part, where one is named); None where the train has none."""
    return next((one for one in knobs(train) if one.kind == kind and part in ("", one.part)), None)


def changed(train: Train, amounts: Iterable[tuple[Knob, float]]) -> Train:
    """The train with some changes at once."""
    for knob, amount in amounts:
        train = knob.apply(train, amount)
    return train


def together(train: Train, kind: str) -> list[tuple[Knob, float]]:
    """What is changed for one unit of a kind that notes share, with factors; nothing where the train does not have it.

    A frame that rises takes rest and bottom of a balanced key along, so that level rises and dip stays; the tail's
    pivot rises too, which draws the run tighter by as much at the rod that hooks onto the key.
    """
    first = {one.kind: one for one in reversed(knobs(train))}
    if kind != "frame":
        return [(first[kind], 1.0)] if kind in first else []
    key = train.key.values
    if "rest" not in first or not key.has("balance") or key.text("balance") != "balanced":
        return []
    way = ways(train)
    tail, standing = (abs(way[rod]) for rod in (strand(train)[0], first["nut"].part))
    return [(first["rest"], 1.0), (first["bottom"], -1.0), (first["nut"], -standing * (1.0 + 1.0 / tail))]


def nut(rod: str) -> Knob:
    """The nut of any rod."""
    return Knob("nut", rod, _nut(rod))


# -- how a train is changed ---------------------------------------------------------------------------------
def _with(train: Train, part: str, what: str, value: float) -> Train:
    return train.with_parameter(Name(part, what), value, ORIGIN)


def _has(train: Train, part: TrainPart, what: str) -> bool:
    return Name(part.name, what) in train.parameters


def _added(part: str, what: str) -> Callable[[Train, float], Train]:
    return lambda train, amount: _with(train, part, what, train.value(part, what) + amount)


def _nut(rod: str) -> Callable[[Train, float], Train]:
    return _added(rod, "slack")


def _scaled(*of: tuple[str, Sequence[str]]) -> Callable[[Train, float], Train]:
    """Parameters that are more by a share."""
    return lambda train, amount: _times(train, of, 1.0 + amount)


def _factor(*of: tuple[str, Sequence[str]]) -> Callable[[Train, float], Train]:
    """Parameters times a factor, whose natural logarithm is the amount."""
    return lambda train, amount: _times(train, of, math.exp(amount))


def _times(train: Train, of: Sequence[tuple[str, Sequence[str]]], factor: float) -> Train:
    for part, names in of:
        for what in names:
            if Name(part, what) in train.parameters:
                train = _with(train, part, what, train.value(part, what) * factor)
    return train


def _of_key(train: Train) -> list[tuple[str, Callable[[Train, float], Train]]]:
    name = train.key.name
    found = [("rest", _rest)] if _has(train, train.key, "x0_rest") else []
    return [*found, ("bottom", _added(name, "dip")), ("bottom-give", _factor((name, ("K_bottom",))))]


def _rest(train: Train, amount: float) -> Train:
    """A felt that lies higher at the front of the key lets it rise less where it stops the front from above."""
    name = train.key.name
    at = train.value(name, "r_rest") / train.value(name, "r_front")
    return _with(train, name, "x0_rest", train.value(name, "x0_rest") - amount * at)


def _balance(train: Train, amount: float) -> Train:
    name = train.key.name
    return _with(train, name, "B", train.value(name, "B") + amount * train.value(name, "r_front"))


def _turn(found: Rigid, part: str) -> float:
    return max((abs(turn) for (name, _), turn in found.turns.items() if name == part), default=0.0)


def _rubbed(train: Train, found: Rigid) -> list[TrainPart]:
    bodies = [part for part in train.parts if part.role in ("key", "lever") and _turn(found, part.name) > 0.0]
    return [part for part in bodies if any(_has(train, part, what) for what in _PINS)]


def _pin(part: TrainPart, found: Rigid) -> Callable[[Train, float], Train]:
    """Break-away torque of a body's pins that comes to so much at the key; shared by the two pins of a shaft."""
    turn = _turn(found, part.name)

    def apply(train: Train, amount: float) -> Train:
        own = [what for what in _PINS if Name(part.name, what) in train.parameters]
        for what in own:
            train = _with(train, part.name, what, train.value(part.name, what) + amount / turn / len(own))
        return train

    return apply


def _oblique(train: Train) -> list[Knob]:
    """The last rod rubs in its hole: a force against its way, as a moment on the body that it hooks onto."""
    rod = strand(train)[-1]
    before = next(
        part for part in reversed(train.parts[: [part.name for part in train.parts].index(rod)]) if part.role != "rod"
    )
    arm = next((what for what in ("r_out", "r_in") if _has(train, before, what)), None)
    rubs = next((what for what in ("c_out", "c") if _has(train, before, what)), None)
    if arm is None or rubs is None:
        return []

    def apply(train: Train, amount: float) -> Train:
        return _with(train, before.name, rubs, train.value(before.name, rubs) + amount * train.value(before.name, arm))

    return [Knob("oblique", rod, apply)]


def _rubbing(train: Train, amount: float) -> Train:
    names = [name for name in train.parameters if name.what.startswith(("tau0", "c_", "F0", "mu_")) or name.what == "c"]
    for name in names:
        train = train.with_parameter(name, train.parameters[name].value * math.exp(amount), ORIGIN)
    return train


def _longer(train: Train, amount: float) -> Train:
    """Every rod longer by a share; the frame stands. A sticker pushes: a longer one makes the run tighter."""
    for name in ways(train):
        part = train.part(name)
        if not part.values.has("length") or Name(name, "slack") not in train.parameters:
            continue
        way = amount * part.values.number("length") * (-1.0 if part.kind == "sticker" else 1.0)
        train = _with(train, name, "slack", train.value(name, "slack") + way)
    return train


def _pressure(train: Train, amount: float) -> Train:
    for box in (part for part in train.parts if part.role == "box"):
        train = _with(train, box.name, "p_box", max(train.value(box.name, "p_box") + amount, 0.0))
    return train
