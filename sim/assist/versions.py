"""The ways to relieve a pallet, each built into the train of a note."""

from __future__ import annotations

import math
from collections.abc import Callable

from keyaction.models.fields.values import Given
from keyaction.models.train.given import AnyPart
from keyaction.models.train.train import Train
from keyaction.models.units.quantity import format_value
from keyaction.sim.assist.own import Built, NotBuilt, Own, Size, over_of, passed_at, values_of, with_defaults
from keyaction.sim.figures.doubled import first_alone
from keyaction.sim.figures.play import press_note
from keyaction.sim.motion.note import NoteModel

AS_IS, TWO, RELIEF, BEAM, LEVER = "as-it-is", "two-pallets", "relief-pallet", "beam", "pneumatic-lever"

IN_ARM, OUT_ARM, SECOND_AT, BEAM_WIDTH, BEAM_THICKNESS = 0.100, 0.060, 0.200, 0.020, 0.010
"""m: a beam that plucks by 100 : 60, and goes on about a far fulcrum by 300 : 260 (assumed)."""
FELT = {"material": "key-felt", "thickness": 1.5e-3, "area": 4e-4}
"""Of both its fulcrums (common practice)."""
OPEN_GAP = 0.030
"""m: a second fulcrum so far off that nothing meets it."""

JOINT, LIFT_GAP, SHUTS = 2 / 3, 1.5e-3, 0.2
"""Where a relief pallet is jointed, as a share of its way to the opening's far end; m; N at the eye beyond the front
pallet's weight and what hangs on it (common practice)."""
LIFT_AREA = 2.5e-4

WIND, HOLE, EXHAUST, INLET_FORCE, INLET_MASS, SHUT_AT = 1177.0, 0.022, 0.022, 0.8, 0.006, 1.5e-3
"""Of a pneumatic lever: Pa (120 mm of water), m, m, N, kg, m (common practice)."""
LEVER_OUT, BELLOWS_ARM, BELLOWS_AREA, DEAD, CLOSING, BOARD = 0.180, 0.090, 0.010, 1.2e-4, 0.08, 1e-3
SURPLUS, STEP = 1.5, 5e-4
"""Times what opens the pallet that the bellows pulls with (assumed); m2: boards are cut to 5 cm2."""


def as_it_is(own: Own) -> Built:
    """The train of the case."""
    return Built(own.train)


def two_pallets(own: Own) -> Built:
    """Two pallets of half the width, the second pulled so much later that the first pluck is over."""
    press = first_alone(doubled(own, 0.0), own.strokes).press
    over = over_of(press, "the key's way does not open half the pallet")
    play = round(passed_at(press, "pallet_lift", over) - passed_at(press, "pallet_lift", press.pluck_point), 5)
    train = doubled(own, play)
    width, force = train.role("pallet").values.number("opening_width"), train.role("spring").figure("force")
    return Built(
        train,
        (
            Size("two openings of {}", width, "m", "half the width"),
            Size("two springs of {}", force, "N", "half the force"),
            Size("the second rod slack by {} more", play, "m", "the first pluck is over by then"),
        ),
    )


def doubled(own: Own, play: float) -> Train:
    """The train with two pallets, the second rod slack by so much more (m)."""
    at, spring, rod = own.index(own.pallet.name), own.index(own.spring.name), own.last_rod
    values = own.pallet.values
    half: dict[str, object] = {
        name.replace(".", "__"): float(values.given[name].value) / 2
        for name in ("opening_width", "seat.area", "seat.force", "seat_leak", "mass", "inertia")
        if name in values.given
    }
    whole = own.spring
    force, rate = (whole.figure(what) / 2 for what in ("force", "rate"))
    weaker = values_of({"at": whole.values.number("at"), "force": force, "rate": rate})
    wire = own.train.parts[rod].name
    slack = own.train.parts[rod].values.number("lost_motion") + play
    second = own.part(rod, own.called(f"second-{wire}"), lost_motion=slack)[:3]
    parts: list[AnyPart] = list(own.given)
    parts[at] = own.part(at, **half)
    parts[spring] = (own.given[spring][0], own.spring.name, weaker)
    more: list[AnyPart] = [
        (*second, own.outlet),
        own.part(at, own.called(f"second-{own.pallet.name}"), **half),
        (own.given[spring][0], own.called(f"second-{own.spring.name}"), weaker),
    ]
    groove = next(i for i in range(at, len(parts)) if own.train.parts[i].role == "groove")
    return own.built([*parts[:groove], *more, *parts[groove:]])


def relief_pallet(own: Own) -> Built:
    """The same pallet jointed at two thirds, its front piece opening first."""
    at, values = own.index(own.pallet.name), own.pallet.values
    joint = round(JOINT * (values.number("hinge_to_opening") + values.number("opening_length")), 4)
    _, name, given, *_ = own.given[at]
    kept = {path: value for path, value in given.items() if path != "bending"}
    felt = {f"lift.{path}": given[f"seat.{path}"] for path in ("material", "thickness") if f"seat.{path}" in given}
    if "lift.thickness" not in felt:
        felt |= {"lift.material": Given("key-felt", "assumed"), "lift.thickness": Given(2e-3, "assumed")}
    own_sizes = values_of({"joint": joint, "lift__gap": LIFT_GAP, "lift__area": LIFT_AREA})

    def train(force: float) -> Train:
        told = {**kept, **felt, **own_sizes, **values_of({"front_force": force})}
        return own.built(
            [*own.given[:at], ("relief-pallet", name, with_defaults("relief-pallet", told)), *own.given[at + 1 :]]
        )

    pallet = train(SHUTS).role("pallet")
    force = SHUTS + max(pallet.figure("B_front") / pallet.figure("r_front"), 0.0) + own.hangs
    return Built(
        train(force),
        (
            Size("jointed {} from the hinge", joint, "m", "two thirds"),
            Size("gap of {} at the eye", LIFT_GAP, "m", "common practice"),
            Size("front shut by {}", force, "N", "its weight, what hangs on it, and a little"),
        ),
    )


def beam(own: Own) -> Built:
    """A loose beam before the last rod, whose second fulcrum is met once the pluck is over."""
    fields = {
        "in_arm": IN_ARM, "out_arm": OUT_ARM, "fulcrums": "beyond", "second_at": SECOND_AT, "material": "sugar-maple",
        "width": BEAM_WIDTH, "thickness": BEAM_THICKNESS,
        **{f"{which}_felt__{path}": value for which in ("near", "second") for path, value in FELT.items()},
    }  # fmt: skip
    name = own.called("beam")

    def train(gap: float) -> Train:
        return _before_last(own, ("beam", name, with_defaults("beam", values_of({**fields, "second_gap": gap}))))

    pressed = press_note(NoteModel(train(OPEN_GAP)), own.strokes)
    unopened = f"by {IN_ARM * 1e3:.0f} : {OUT_ARM * 1e3:.0f} the key's way does not open the pallet"
    over = over_of(pressed.press, unopened)
    elements = pressed.kinematics.layout.elements
    stretch = next(one.stretch for one in elements if (one.part, one.place) == (name, "second"))
    gap = round(OPEN_GAP + passed_at(pressed.press, stretch, over), 5)
    if gap <= 0.0:
        raise NotBuilt("the beam does not turn before the pallet plucks")
    return Built(
        train(gap),
        (
            Size("arms of {}", IN_ARM, "m"),
            Size("to {}", OUT_ARM, "m"),
            Size("second fulcrum at {}", SECOND_AT, "m"),
            Size("its gap {}", gap, "m", "the pluck is over by then"),
        ),
    )


def pneumatic_lever(own: Own) -> Built:
    """A bellows on wind of its own before the last rod, strong enough for the pallet at full wind."""
    facts = own.pallet.values.derived
    needed = facts["closing_no_wind"].value + facts["wind_at_eye"].value
    if needed <= 0.0:
        raise NotBuilt("nothing holds the pallet shut")
    exact = (SURPLUS * needed * LEVER_OUT + CLOSING) / (BELLOWS_ARM * WIND)
    area = max(BELLOWS_AREA, math.ceil(exact / STEP) * STEP)
    opening = _eye_way(own)
    fields = {
        "pressure": WIND, "inlet__hole_diameter": HOLE, "inlet__force": INLET_FORCE, "inlet__mass": INLET_MASS,
        "inlet_felt__material": "pallet-felt", "inlet_felt__thickness": 2e-3, "inlet_felt__area": 2.5e-4,
        "exhaust__hole_diameter": EXHAUST, "exhaust__shut_at": SHUT_AT, "out_arm": LEVER_OUT,
        "rest_felt__material": "key-felt", "rest_felt__thickness": 3e-3, "rest_felt__area": 1.5e-4,
        "end_felt__material": "key-felt", "end_felt__thickness": 3e-3, "end_felt__area": 2e-4,
        "bellows__area": area, "bellows__arm": BELLOWS_ARM, "bellows__opening": opening, "bellows__dead_volume": DEAD,
        "bellows__inertia": BOARD, "bellows__closing": CLOSING,
    }  # fmt: skip
    values = with_defaults("pneumatic-lever", values_of(fields))
    train = _before_last(own, ("pneumatic-lever", own.called("lever"), values))
    return Built(
        train,
        (
            Size("wind of {} of its own", WIND, "Pa", "common practice"),
            Size("bellows of {}", area, "m^2", f"pulls at least {SURPLUS:g} times what opens the pallet"),
            Size("opening by {}", opening, "m", "as far as the key pulls the eye now"),
            Size("inlet held by {}", INLET_FORCE, "N"),
        ),
    )


def _eye_way(own: Own) -> float:
    """How far the key pulls the eye as it is, m; without a press the usual 8 mm."""
    if own.pressed is None:
        return 8e-3
    lift = own.pressed.press.down["pallet_lift"]
    way = round(float(lift[-1] - lift[0]), 4)
    if way <= 0.0:
        raise NotBuilt(f"the key moves the pallet by {format_value(max(way, 0.0), 'm')}, so no stroke is known for it")
    return way


def _before_last(own: Own, lever: AnyPart) -> Train:
    """A lever before the last rod, with a copy of that rod to move it; the play stays in the copy."""
    rod = own.last_rod
    copy = own.part(rod, own.called(f"{lever[1]}-rod"))
    kind, name, values = own.part(rod, lost_motion=0.0)[:3]
    return own.built([*own.given[:rod], copy, lever, (kind, name, values), *own.given[rod + 1 :]])


VERSIONS: dict[str, Callable[[Own], Built]] = {
    AS_IS: as_it_is,
    TWO: two_pallets,
    RELIEF: relief_pallet,
    BEAM: beam,
    LEVER: pneumatic_lever,
}
"""By the name that a command takes, in the order of the tables."""
