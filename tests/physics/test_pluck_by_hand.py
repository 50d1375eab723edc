"""Truth 2: the pluck force of a slow press is the static one by hand, and so is the pluck point.

The hand calculation starts from sizes, densities and moduli and goes from the pallet to the key, lever by lever:
moment balance at every pin, stretch of every rod, twist of the roller. It knows nothing of the program's equations.
"""

from dataclasses import dataclass, replace
from math import asin, cos, hypot, sin

import numpy as np
import pytest
from beams import deflections, pulled_board
from demo_train import BENDING, FRICTIONLESS, LIBRARY
from motions import crossing, unseating, value_at
from spellings import figures

from keyaction.sim.motion import drives

G = 9.80665
PRESSURE = 75 * G  # 75 mm of water
ARMS = {"eye": 0.200, "roller": 0.060, "square": 0.050, "key out": 0.150, "key front": 0.230}
PINS = {  # break-away torque (N m) and pin radius (m)
    "key": (5e-4, 1.25e-3),
    "square": (2e-4, 1.0e-3),
    "roller": (3e-4, 1.5e-3),
    "pallet": (5e-4, 1.0e-3),
}


def of(material, name):
    return LIBRARY.get(material)[name].value


@dataclass(frozen=True)
class Rod:
    """A rod of area x length with 0.5 g and a soft end at either side; `hooks` (m/N) give in series with it."""

    material: str
    area: float
    length: float
    end: float
    along: float = 1.0
    hooks: float = 0.0

    @property
    def weight(self):
        return (of(self.material, "density") * self.area * self.length + 2 * 0.0005) * G

    @property
    def stiffness(self):
        return 1 / (self.length / (self.along * of(self.material, "E") * self.area) + 2 / self.end + self.hooks)


# Wood is 1.10 times as stiff along the grain as in a bending test (Wood Handbook, FPL-GTR-190, 2010, ch. 5).
T1, T2, T3 = (Rod("western-redcedar", 0.010 * 0.0012, length, 4e4, 1.10) for length in (0.6, 1.8, 1.2))
PULL_DOWN = Rod("phosphor-bronze", 3.14159265 * 0.0015**2 / 4, 0.250, 6e4)
SLACK = 0.0003


def on_the_pallet():
    """(Force, its arm) of wind, spring and weight on the shut pallet, closing: the wind on the opening with 1.5 mm of
    margin all round."""
    near, far, across = 0.015 - 0.0015, 0.015 + 0.220 + 0.0015, 0.017 + 2 * 0.0015
    whole = 0.015 + 0.220 + 0.003
    weight = of("sitka-spruce", "density") * 0.022 * (0.017 + 2 * 0.003) * whole * G
    return (PRESSURE * across * (far - near), (far + near) / 2), (2.3, 0.120), (-weight, whole / 2)


def closing_moment():
    """Of these, N m."""
    return sum(force * arm for force, arm in on_the_pallet())


def seat():
    """Stiffness of the seat, N/m^1.5, and its resultant's arm, m: beds along both sides, squeezed as they are far."""
    return 3.8 / 0.0003**1.5, 2 / 3 * (0.235**3 - 0.015**3) / (0.235**2 - 0.015**2)


def opening_turn():
    """The seat's felt gives way by its load's 2/3 power: the pallet's turn that undoes it."""
    stiffness, arm = seat()
    return (closing_moment() / (arm * stiffness)) ** (2 / 3) / arm


def key_moments():
    """Weight's moment (front-heavy positive) and weight of the key: stick 250 + 200 mm and 20 g behind the pin."""
    stick = of("sitka-spruce", "density") * 0.022 * 0.024 * 0.450
    return (stick * 0.025 - 0.020 * 0.150) * G, (stick + 0.020) * G


def lever_weight():
    return of("sugar-maple", "density") * 0.015 * 0.006 * 0.100 * G


def roller_weight():
    arms = of("sugar-maple", "density") * 0.015 * 0.008 * 0.120
    return (of("sitka-spruce", "density") * 0.025**2 * 0.600 + arms) * G


def shaft_stiffness():
    # Saint-Venant: J = 0.14058 a^4 for a square.
    return of("sitka-spruce", "G") * 0.1405770 * 0.025**4 / 0.600


@dataclass(frozen=True)
class Bushings:
    """Coulomb friction of the pins, against the motion: `sense` +1 down, -1 up; no `mu` is a train without friction."""

    mu: dict[str, float]
    sense: int = 1

    def torque(self, pin, load):
        if not self.mu:
            return 0.0
        unloaded, radius = PINS[pin]
        return self.sense * (unloaded + self.mu[pin] * radius * load)


def settled(equation):
    """Fixed point of force = equation(force): friction depends on the force that it adds to."""
    force = 0.0
    for _ in range(100):
        force = equation(force)
    return force


RODS = T1, T2, T3, PULL_DOWN


def press_by_hand(bushings, share=1.0, guides=(0.0, 0.0), rods=RODS):
    """Key force (N) and key travel (m) at which the seat is undone to `share` of its squeeze; 1: the pluck.

    `guides` of the rod before the roller: a force to move it, and bend times friction coefficient.
    """
    f, (t1, t2, t3, pull_down) = bushings.torque, rods
    turn = share * opening_turn()
    stiffness, place = seat()
    seated = stiffness * (place * (opening_turn() - turn)) ** 1.5
    closing = closing_moment() + 0.120**2 * 12.0 * turn - seated * place
    shutting = sum(force for force, _ in on_the_pallet()) + 0.120 * 12.0 * turn - seated
    arm = ARMS["eye"] * cos(turn)
    pull = settled(lambda t: (closing + f("pallet", abs(shutting - t))) / arm - PULL_DOWN.weight / 2)

    far = asin((ARMS["eye"] * sin(turn) + pull / pull_down.stiffness) / ARMS["roller"])
    arm = ARMS["roller"] * cos(far)
    twisting = (pull - PULL_DOWN.weight / 2) * arm + f("roller", abs(pull - roller_weight() / 2))  # the wire pulls up
    near = far + twisting / shaft_stiffness()
    arm = ARMS["roller"] * cos(near)
    third = settled(
        lambda t: (twisting + f("roller", t + roller_weight() / 2)) / arm - T3.weight / 2 + guides[0] + guides[1] * t
    )

    q2 = asin((ARMS["roller"] * sin(near) + third / t3.stiffness + SLACK) / ARMS["square"])
    arm = ARMS["square"] * cos(q2)
    second = settled(lambda t: third - T3.weight / 2 + f("square", hypot(t, third - lever_weight())) / arm)

    q1 = asin((ARMS["square"] * sin(q2) + second / t2.stiffness) / ARMS["square"])
    arm = ARMS["square"] * cos(q1)
    first = settled(lambda t: second + T1.weight / 2 + f("square", hypot(t - lever_weight(), second)) / arm)

    turn = asin((ARMS["square"] * sin(q1) + first / t1.stiffness) / ARMS["key out"])
    moment, weight = key_moments()
    load = (first + T1.weight / 2) * ARMS["key out"] - moment
    force = settled(lambda p: (load + f("key", p + first + weight) / cos(turn)) / ARMS["key front"])
    return force, ARMS["key front"] * sin(turn)


SMOOTH = Bushings({})
MU = {"key": 0.25, "square": 0.25, "roller": 0.25, "pallet": 0.5}
DOWN, UP = Bushings(MU), Bushings(MU, -1)


def slow_press(model, speed=0.002):
    """Key force and travel as the pallet leaves its seat, and the highest force up to just past that point."""
    motion = model.play(drives.press(speed, 0.005, 3000.0, release=False))
    assert motion.status.ok
    t = unseating(motion)
    before = motion.t < t + 0.0005 / speed
    return value_at(motion, "key_force", t), value_at(motion, "key_travel", t), motion["key_force"][before].max()


def test_arm_ratios_times_wind_spring_and_weight(make_model):
    # On the back of an envelope: all arms taken square; t1 is lifted, t3 and the pull-down sink.
    pull = closing_moment() / ARMS["eye"]
    rods = T1.weight - T3.weight - PULL_DOWN.weight
    force = (pull + rods) * ARMS["key out"] / ARMS["key front"] - key_moments()[0] / ARMS["key front"]
    at_gap, _, peak = slow_press(make_model(**FRICTIONLESS))
    assert at_gap == pytest.approx(force, rel=3e-3)
    assert peak == pytest.approx(force, rel=5e-3)


def test_pluck_without_friction(make_model):
    force, travel = press_by_hand(SMOOTH)
    at_gap, way, peak = slow_press(make_model(**FRICTIONLESS))
    # The rods' and felts' own damping at 2 mm/s adds 0.1 %; the peak comes while the groove still fills.
    assert at_gap == pytest.approx(force, rel=1.5e-3)
    assert way == pytest.approx(travel, rel=1e-3)
    assert 0.0 <= peak - at_gap < 2e-3 * force


def test_pluck_with_friction(make_model):
    force, travel = press_by_hand(DOWN)
    at_gap, way, peak = slow_press(make_model())
    assert at_gap == pytest.approx(force, rel=1.5e-3)
    assert way == pytest.approx(travel, rel=1e-3)
    assert 0.0 <= peak - at_gap < 2e-3 * force
    # The friction's own share, 4 % of the force, is met to a fiftieth of it.
    smooth, _ = press_by_hand(SMOOTH)
    assert force > 1.04 * smooth
    assert at_gap - slow_press(make_model(**FRICTIONLESS))[0] == pytest.approx(force - smooth, rel=0.02)


def hooked(first, second, e, i, g, area):
    """Way (m) at the end of a bar that hangs over two supports, at 0 and `first`, by `second`, under 1 N there."""
    places = [0.0, first, first + second]
    return deflections(places, e * i, g * area * 5 / 6, (0, 1), {2: 1.0})[2]


def bent_rods():
    """The rods with what they hook onto: key stick, squares, roller's arms and shaft, and pallet, all as beams."""
    maple, spruce = ([1.10 * of(wood, "E"), of(wood, "G")] for wood in ("sugar-maple", "sitka-spruce"))
    key = hooked(ARMS["key front"], ARMS["key out"], spruce[0], 0.022 * 0.024**3 / 12, spruce[1], 0.022 * 0.024)

    def arm(long, thick, deep):
        area, second = thick * deep, thick * deep**3 / 12
        return deflections([0.0, long], maple[0] * second, maple[1] * area * 5 / 6, (0,), {1: 1.0}, (0,))[1]

    square, reach = arm(0.050, 0.006, 0.015), arm(0.060, 0.008, 0.015)
    shaft = deflections([0.0, 0.020, 0.640], spruce[0] * 0.025**4 / 12, spruce[1] * 0.025**2 * 5 / 6, (0, 2), {1: 1.0})[
        1
    ]
    board = pulled_board(0.238, 0.200, spruce[0] * 0.023 * 0.022**3 / 12, spruce[1] * 0.023 * 0.022 * 5 / 6)
    gives = key + square, 2 * square, square + reach + shaft, reach + shaft + board
    return [replace(rod, hooks=give) for rod, give in zip(RODS, gives, strict=True)]


def test_pluck_with_parts_that_bend(make_model):
    # Key, levers, roller and pallet bend: the same force, met later by what they give.
    bent, (force, stiff) = bent_rods(), press_by_hand(SMOOTH)
    by_hand, travel = press_by_hand(SMOOTH, rods=bent)
    at_gap, way, _ = slow_press(make_model(**FRICTIONLESS, **BENDING))
    assert travel - stiff > 0.1e-3
    assert at_gap == pytest.approx(by_hand, rel=1.5e-3)
    assert way == pytest.approx(travel, rel=1e-3)
    assert way - slow_press(make_model(**FRICTIONLESS))[1] == pytest.approx(travel - stiff, rel=0.01)
    assert by_hand == pytest.approx(force, rel=2e-3)


def test_guides_rub_in_proportion_to_the_pull(make_model):
    # The rod before the roller bends by 0.2 rad over guides of coefficient 0.3 and wants 0.05 N to move at all.
    rubbing = {"t3.guides.breakaway": "0.05 N", "t3.guides.angle": 0.2, "t3.guides.coefficient": 0.3}
    force, travel = press_by_hand(SMOOTH, guides=(0.05, 0.06))
    at_gap, way, _ = slow_press(make_model(**FRICTIONLESS, **rubbing))
    assert force > 1.05 * press_by_hand(SMOOTH)[0]
    assert at_gap == pytest.approx(force, rel=1.5e-3)
    assert way == pytest.approx(travel, rel=1e-3)


def test_friction_turns_round_on_the_way_up(make_model):
    # Pressed to just short of the pluck and let up again: the hand calculation with every torque reversed, while
    # the seat takes its load back. Half the difference is the friction at the key.
    model = make_model()
    motion = model.play(drives.press(0.002, 0.0028, 3000.0))
    lift, halfway = motion.drive.mark("lift"), 0.5 * figures(model.train)["q_open_pallet"].value
    assert motion["seat_gap"].max() < 0.0
    down = crossing(motion, "q_pallet", halfway)
    up = motion.t[(motion.t > lift) & (motion["q_pallet"] < halfway)][0]
    forces = []
    for bushings, t in ((DOWN, down), (UP, up)):
        force, travel = press_by_hand(bushings, 0.5)
        assert value_at(motion, "key_force", t) == pytest.approx(force, rel=2.5e-3)
        assert value_at(motion, "key_travel", t) == pytest.approx(travel, rel=2.5e-3)
        forces.append((force, value_at(motion, "key_force", t)))
    by_hand, played = (down_force - up_force for down_force, up_force in zip(*forces, strict=True))
    assert played == pytest.approx(by_hand, rel=0.03)


def test_the_static_force_is_the_limit_of_ever_slower_presses(make_model):
    # What is above the static force is the damping's: it halves with the speed, or a little better, since the pallet
    # itself hastens off its seat.
    force, _ = press_by_hand(SMOOTH)
    model = make_model(**FRICTIONLESS)
    excess = np.array([slow_press(model, speed)[0] - force for speed in (0.008, 0.004, 0.002)])
    assert np.all(excess > 0.0)
    assert np.all((excess[1:] / excess[:-1] > 0.4) & (excess[1:] / excess[:-1] < 0.52))
    assert 2 * excess[2] - excess[1] == pytest.approx(0.0, abs=5e-4 * force)
