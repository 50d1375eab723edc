"""A rod's sideways arch against the closed forms of beams, strings and Mathieu's equation, and against its own energy.

A rod of the program between a wall and a body that a constant force or a spring draws: its part, derivation, generated
code and integration are those of a train.
"""

import math
from dataclasses import dataclass

import numpy as np
import pytest
from demo_train import LIBRARY, LOSSLESS, given
from motions import balance, tightened
from scipy.optimize import brentq

from keyaction.cases.action.reader import read_case
from keyaction.models.algebra.builder import Port
from keyaction.models.fields.values import Given, Values
from keyaction.models.formulas import side_motion, spans
from keyaction.models.parts.rods import Sticker, Tracker
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.figures.play import press_note
from keyaction.sim.lanes.batch import Batch
from keyaction.sim.lanes.evaluate import evaluate
from keyaction.sim.motion import drives
from keyaction.sim.published.bench import Bench, bench

SPRUCE = {"material": "sitka-spruce", "section": "rectangle", "width": "10 mm", "thickness": "1 mm"}
CARBON = {"material": "carbon-rod", "section": "round", "diameter": "1.5 mm"}
# A strip bends by 1.10 times the modulus of the bending test: the published figures take that modulus as it is.
PUBLISHED = {"sitka-spruce": {"material.E": 9.9e9 / 1.1}, "carbon-rod": {"material.E_flexural": 134e9}}
LOOSE = {"damping": 0.0, "side_loss": 0.0}
STRAIGHT = {"moves": "down", "bow": "0 mm", **LOOSE}
SLACK, END = 1e-12, 1e-3
"""N that as good as does not pull; kg of the body at the end."""


@dataclass(frozen=True)
class Between(Bench):
    """A rod on the bench, and whether it pushes."""

    pushes: bool


def rod(part=Tracker, length="1 m", **fields):
    """Derived figures of a rod that may whip over its whole length; the rod between a wall and a body on the bench."""
    told = given(part.kind, {"length": length, "side_motion": True, **fields})
    told |= {path: Given(value, "test") for path, value in PUBLISHED[str(fields["material"])].items()}
    values = Values("rod", told, LIBRARY)
    part.resolve(values)
    assert not values.defects, values.defects
    shape = part.shape(values)

    def drawn(builder):
        load, body = builder.param("load", "N", "force on the body"), builder.coordinate("m", "its way", "end")
        builder.inertia(body, builder.param("m_end", "kg", "its mass"))
        spring, at = builder.param("k_end", "N/m", "spring on it"), builder.param("x_end", "m", "where it is at ease")
        builder.weight(spring * (body.q - at) ** 2 / 2 - load * body.q)
        builder.scope = "rod"
        part.assemble(builder, "rod", shape)
        builder.rod(Port("end", body, body.q), Port("wall", body, 0 * body.q))

    figures = {name: one.value for name, one in values.derived.items()}
    parameters = {f"{name}_rod": one.value for name, one in values.derived.items() if one.role == "parameter"}
    made = bench(drawn, **{**parameters, "m_rod": 0.0}, load=0.0, m_end=END, k_end=0.0, x_end=0.0)
    return figures, Between(made.kernel, made.values, part.pushed)


def state(made, ways):
    return np.concatenate([ways, np.zeros(len(made.kernel.states) - 2)])


def at_rest(made, **values):
    """Ways (m) of the body and of the arch at which nothing moves, the rod carrying the load."""
    p, d, known = made.parameters(**values), np.zeros(made.kernel.drive_size), {**made.values, **values}
    drawn, sense = values.get("load", 0.0) / known["k_rod"], -1 if made.pushes else 1

    def ways(side):  # the body has gone so far that the rod is stretched by the load
        return np.array([drawn - sense * known["n_side_rod"] * (2 * known["y_side_rod"] + side) * side, side])

    def forces(side):
        return np.array(made.kernel.rates(0.0, state(made, ways(side)), p, d)[2:4])

    ends = (-known["y_side_rod"] - 1e-9, 0.3 if sense < 0 else 1e-9)
    ends = (ends[0], 0.3) if known["W_side_rod"] else ends
    found = ways(brentq(lambda side: forces(side)[1], *ends, xtol=1e-15, rtol=1e-14))
    assert np.max(np.abs(made.kernel.rates(0.0, state(made, found), p, d)[2:4])) < 1e-6
    return found


def frequency(made, **values):
    """Lowest frequency (Hz) about the place where it rests, by the program's own Jacobian."""
    p, d = made.parameters(**values), np.zeros(made.kernel.drive_size)
    jacobian = np.asarray(made.kernel.jacobian(0.0, state(made, at_rest(made, **values)), p, d))
    return math.sqrt(np.min(np.linalg.eigvals(-jacobian[2:4, :2]).real)) / (2 * math.pi)


# Derived: pivoted beam under tension, f0 sqrt(1 + T/Pcr), f0 = (pi/2L^2) sqrt(EI/rho A), textbook; 1 m of Sitka
# spruce 10 x 1 mm (9.9 GPa, 403.2 kg/m3) and of a carbon rod of 1.5 mm (134 GPa, 1500 kg/m3), to four or five figures.
@pytest.mark.parametrize(
    ("fields", "pull", "hertz"),
    [
        (SPRUCE, SLACK, 2.2469),
        (SPRUCE, 1.0, 8.1886),
        (SPRUCE, 3.0, 13.8225),
        (CARBON, SLACK, 5.5675),
        (CARBON, 1.0, 11.194),
        (CARBON, 3.0, 17.718),
    ],
)
def test_the_frequency_of_a_pivoted_beam_under_tension(fields, pull, hertz):
    assert frequency(rod(**fields, **STRAIGHT)[1], load=pull) == pytest.approx(hertz, rel=5e-5)


def test_pushed_with_half_of_what_buckles_it_it_whips_at_its_half_root():
    # Derived, the same closed form at T = -Pcr/2: the carbon rod at 3.9368 Hz.
    figures, made = rod(Sticker, **CARBON, **STRAIGHT)
    assert frequency(made, load=figures["side_euler"] / 2) == pytest.approx(3.9368, rel=5e-5)


def test_a_swing_takes_the_time_that_its_frequency_says():
    _, made = rod(**CARBON, **STRAIGHT)
    start = {"q_end": 1.0 / made.values["k_rod"], "q_rod-side": 1e-5}
    motion = made.run(start, 1.0, tightened(1e-3), load=1.0)
    down = np.flatnonzero((motion["q_rod-side"][:-1] > 0) & (motion["q_rod-side"][1:] <= 0))
    times = motion.t[down] + 1e-4 * motion["q_rod-side"][down] / (
        motion["q_rod-side"][down] - motion["q_rod-side"][down + 1]
    )
    assert (len(times) - 1) / (times[-1] - times[0]) == pytest.approx(11.194, rel=1e-4)


# -- sag -------------------------------------------------------------------------------------------------
@pytest.mark.parametrize("pull", [SLACK, 0.05, 0.3, 1.0, 3.0])
def test_a_level_rod_hangs_through_as_a_beam_does_and_a_little_more(pull):
    # The arch hangs 0.39 % further than a beam and 3.2 % further than a string, whose lines are no sine.
    figures, made = rod(**SPRUCE, **LOOSE, moves="level", length="0.6 m")
    line = 2 * (figures["m_quick"] + figures["m_slow"]) / 0.6
    hangs = figures["y_side"] + at_rest(made, load=pull)[1]
    assert hangs == pytest.approx(side_motion.sagging(pull, line, 0.6, figures["EI"]), rel=1e-6)
    over = hangs / spans.hanging_sag(pull, line, 0.6, figures["EI"])
    assert side_motion.SAG_OF_BEAM - 1e-4 <= over <= side_motion.SAG_OF_STRING
    assert pytest.approx(1.00386, abs=1e-5) == side_motion.SAG_OF_BEAM
    assert pytest.approx(1.03205, abs=1e-5) == side_motion.SAG_OF_STRING


@pytest.mark.parametrize(("pull", "printed"), [(1.0, 4.94), (3.0, 1.65)])
def test_a_limp_strip_hangs_through_as_printed(pull, printed):
    # Derived: rho A g L^2/8T of 1 m of Sitka spruce 10 x 1 mm, in mm.
    figures, made = rod(**SPRUCE, **LOOSE, moves="down", bow="0 mm")
    weight = side_motion.load(403.2e-5, 1.0)
    limp = {"k_side_rod": 1e-9, "W_side_rod": weight}
    hangs = 1e3 * at_rest(made, load=pull, **limp)[1] / side_motion.SAG_OF_STRING
    assert hangs == pytest.approx(printed, rel=1e-2)
    assert figures["y_side"] == 0.0


def test_what_a_pull_straightens_is_what_the_elastic_line_loses():
    # Way of the end, less what the rod stretches: shortening slack less that under 1 N, 0.02 % and 1.4 % off at most.
    figures, made = rod(**SPRUCE, **LOOSE, moves="level", length="0.6 m")
    line, bending = 2 * (figures["m_quick"] + figures["m_slow"]) / 0.6, figures["EI"]
    way = at_rest(made, load=1.0)[0] - 1.0 / made.values["k_rod"]
    slack, taut = (spans.shortening(pull, line, 0.6, bending) for pull in (0.0, 1.0))
    assert slack - taut > 0.25e-3
    assert way == pytest.approx(slack - taut, rel=1e-3)


@pytest.mark.parametrize("pull", [0.5, 1.0, 2.0])
def test_a_sagging_rod_gives_way_as_ernst_says(pull):
    # H. J. Ernst, 1965 (from memory): E/[1 + (w L)^2 EA/12 T^3]; the arch's sag gives 96/pi^4 of a parabola's.
    figures, made = rod(**SPRUCE, **LOOSE, moves="down", bow="0 mm", end_stiffness="1e8 N/m")
    line, limp = 403.2e-5, {"k_side_rod": 1e-9, "W_side_rod": side_motion.load(403.2e-5, 1.0)}
    low, high = (at_rest(made, load=pull * share, **limp)[0] for share in (0.999, 1.001))
    gives = (high - low) / (0.002 * pull)
    modulus = figures["EA"] / 1e-5
    seems = side_motion.ernst_modulus(modulus, 1e-5, pull, line, 1.0)
    sags, by_ernst = gives - 1 / made.values["k_rod"], 1 / (seems * 1e-5) - 1 / figures["EA"]
    assert sags > 0.5 / made.values["k_rod"]
    assert sags / by_ernst == pytest.approx(side_motion.ERNST_OF_STRING, rel=2e-4)
    assert pytest.approx(0.98553, abs=1e-5) == side_motion.ERNST_OF_STRING


# -- push ------------------------------------------------------------------------------------------------
@pytest.mark.parametrize("share", [0.25, 0.5, 0.8])
def test_a_crooked_sticker_bows_as_perry_says(share):
    # W. E. Ayrton and J. Perry, 1886 (from memory): a bow b grows to b/(1 - P/Pcr), exactly for a sine.
    figures, made = rod(Sticker, **CARBON, moves="down", bow="1 mm", **LOOSE)
    bowed = 1e-3 + at_rest(made, load=share * figures["side_euler"])[1]
    assert bowed == pytest.approx(1e-3 / (1 - share), rel=1e-3)


def test_beyond_what_buckles_it_a_sticker_goes_on_and_holds_no_more():
    figures, made = rod(Sticker, **CARBON, moves="down", bow="1 mm", damping=3.0, side_loss=0.3)
    motion = made.run({}, 1.5, k_end=200.0, x_end=6e-3, m_end=0.05)
    push = motion["force_rod"][-1]
    assert motion["q_rod-side"][-1] > 0.03
    assert push == pytest.approx(figures["side_euler"], rel=0.05)


# -- what pull excites -----------------------------------------------------------------------------------
HEAVY, PULL, WAVES = 50.0, 1.0, 0.2
"""kg of a body whose swing the rod does not change; N about which it pulls, and the share by which that changes."""


def excited(times, seconds=4.0):
    """How a straight rod's arch grows (1/s) whose pull swings at `times` its own frequency, and what that comes of."""
    _, made = rod(**CARBON, **STRAIGHT)
    stiff, own = made.values["k_rod"], 2 * math.pi * frequency(made, load=PULL)
    rate, way = times * own, PULL / stiff
    start = {"q_end": way * (1 + WAVES), "q_rod-side": 1e-7}
    # The spring swings the body about where it is at ease, and carries the mean pull beside.
    spring = HEAVY * rate**2 - stiff
    at = (way * (spring + stiff)) / spring
    motion = made.run(start, seconds, tightened(1e-3), m_end=HEAVY, k_end=spring, x_end=at)
    side = np.abs(motion["q_rod-side"])
    waves = int(2 * math.pi / own / 1e-4)
    growing = [side[i : i + waves].max() for i in (len(side) // 4, len(side) - waves - 1)]
    spent = motion.t[len(side) - waves - 1] - motion.t[len(side) // 4]
    tension = (own**2 - (2 * math.pi * 5.5675) ** 2) / own**2
    return math.log(growing[1] / growing[0]) / spent, own, WAVES * tension, side.max()


def test_a_pull_at_twice_its_frequency_makes_it_whip():
    # Mathieu's equation: at twice its frequency, with a stiffness that swings by a share h, it grows as exp(h w t/4) to
    # the first order in h (L. D. Landau and E. M. Lifshitz, Mechanics, 3rd ed., 1976, par. 27, from memory).
    grows, own, share, _ = excited(2.0)
    assert grows == pytest.approx(share * own / 4, rel=0.03)


@pytest.mark.one_in(3)
@pytest.mark.parametrize("times", [0.7, 1.4, 1.7, 2.4, 3.0])
def test_at_other_rates_it_does_not(times):
    grows, own, share, largest = excited(times)
    assert abs(grows) < 0.02 * share * own / 4
    assert largest < 3e-7


def test_beside_twice_its_frequency_it_grows_within_mathieus_band_only():
    # The first band reaches h w/2 to either side of twice the frequency w (the same par.): within it it grows by
    # exp(0.71 h w t/4), 88 times in these 8 s; beyond it by half as much again it beats, up to 2.2 times.
    share = excited(2.0, 0.5)[2]
    half = share / 4
    inside, beyond = (excited(2.0 + part * 2 * half, 8.0)[3] for part in (0.7, 1.5))
    assert inside > 3e-6
    assert beyond < 3e-7


def test_energy_goes_to_and_fro_between_rod_and_arch():
    figures, made = rod(**SPRUCE, **LOOSE, moves="level", length="0.6 m",
                        **{"slap.play": "1 mm", "slap.squeeze": "0.3 mm", "slap.force": "2 N",
                           "slap.alpha": 0.0})  # fmt: skip
    start = {"q_end": 0.6e-3, "q_rod-side": -figures["y_side"] + 0.8e-3, "v_rod-side": 1.0}
    motion = made.run(start, 0.5, tightened(1e-4), m_end=0.05, load=0.6)
    assert np.ptp(motion["q_rod-side"]) > 2e-3
    met = max(motion[name].max() for name in motion.kernel.observables if name.startswith("force_") and "slap" in name)
    assert met > 0.5
    kinetic = END * np.ptp(motion["v_rod-side"]) ** 2
    assert kinetic > 1e-4
    assert np.ptp(motion["energy"]) < 1e-6 * np.ptp(motion["v_rod-side"]) ** 2 * figures["m_slow"]


# -- in a train ------------------------------------------------------------------------------------------
PLACED = {f"t2.guides.stations.{i}.at": f"{450 * (i + 1)} mm" for i in range(3)}
SLAPS = {"t2.slap.play": "3 mm", "t2.slap.squeeze": "0.3 mm", "t2.slap.force": "2 N", "t2.slap.alpha": 1.0}
WHIPS = {**PLACED, "t2.side_motion": True}
STROKE = drives.stroke(0.04, 0.15, 0.04, 0.0109)
STROKES = read_case("demo-wood").strokes


@pytest.mark.one_in(2)
@pytest.mark.parametrize("more", [{}, SLAPS], ids=["free", "between combs"])
def test_what_comes_in_is_stored_or_lost(make_model, more):
    motion = make_model(**WHIPS, **more).play(STROKE, tightened(1e-2))
    assert np.ptp(motion["q_t2-side"]) > 1e-3
    assert np.max(np.abs(balance(motion))) < 1e-6 * motion.audit.throughput


def test_energy_is_constant_when_nothing_is_lost(make_model):
    model = make_model(**WHIPS, **LOSSLESS, **{"t2.side_loss": 0.0, "t2.guides.coefficient": 0.0})
    motion = model.play(STROKE, tightened(1e-3))
    assert np.all(motion["work_friction"] == 0.0)
    lost = motion["work_damping"]
    assert np.max(np.abs(lost)) < 1e-9 + motion.audit.damping  # the finger's pad alone
    assert np.max(np.abs(balance(motion))) < 1e-6 * motion.audit.throughput


def test_the_sag_of_a_level_rod_is_lost_motion_at_the_key(make_model):
    # By the closed forms: the span of 600 mm loses its shortening, which the key has to make up for by its levers.
    at = {f"t2.guides.stations.{i}.at": f"{600 * (i + 1)} mm" for i in range(2)}
    straight, sagging = (make_model(**at, **{"t2.side_motion": on}) for on in (False, True))
    first, second = (press_note(one, STROKES) for one in (straight, sagging))
    figures = {name: one.value for name, one in sagging.train.part("t2").values.derived.items()}
    line = 2 * (figures["m_quick"] + figures["m_slow"]) / 0.6
    pull = second.at_pluck("force_t2")
    lost = spans.shortening(0.0, line, 0.6, figures["EI"]) - spans.shortening(pull, line, 0.6, figures["EI"])
    more = QUANTITIES["pluck_point"].compute(second) - QUANTITIES["pluck_point"].compute(first)
    assert lost > 0.1e-3
    assert more == pytest.approx(lost * 230 / 150, rel=0.03)
    assert QUANTITIES["pluck_force"].compute(second) == pytest.approx(
        QUANTITIES["pluck_force"].compute(first), rel=1e-3
    )


def test_a_short_stiff_rod_moves_as_if_it_were_straight(make_model):
    stout = {"t2.length": "150 mm", "t2.section": "square", "t2.width": "12 mm"}
    straight, bowed = (make_model(**stout, **{"t2.side_motion": on}) for on in (False, True))
    first, second = (press_note(one, STROKES) for one in (straight, bowed))
    for name in ("pluck_point", "pluck_force", "lost_motion", "follow_through_force", "steady_lift"):
        one, other = (QUANTITIES[name].compute(record) for record in (first, second))
        assert other == pytest.approx(one, rel=2e-5), name
    played = [one.play(STROKE, tightened(1e-2)) for one in (straight, bowed)]
    for name in ("key_force", "pallet_lift", "groove_pressure"):
        one, other = (motion[name] for motion in played)
        assert np.max(np.abs(other - one)) < 1e-3 * np.ptp(one), name


def test_without_side_motion_the_structure_is_what_it_was(make_model):
    plain = make_model().train.structure
    assert [member.shape for member in plain if member.name == "t2"] == [(0, False)]
    assert [member.shape for member in make_model(**PLACED).train.structure if member.name == "t2"] == [(0, True)]


def test_lanes_play_it_as_scipy_does(make_model):
    models = [make_model(**WHIPS, **SLAPS, **{"t2.thickness": size}) for size in ("1.2 mm", "1.4 mm")]
    batch = Batch.of([one.train for one in models])
    rest = batch.rest()
    for i, model in enumerate(models):
        ways = len(model.kernel().bodies)
        assert rest.states[i, :ways] == pytest.approx(model.rest()[:ways], abs=1e-8)
    told = evaluate([one.train for one in models], STROKES, ["opening_time", "release_delay", "peak_force"], sample=2)
    assert told.status == ("ok", "ok")
    assert told.checks[0].compared == 2
    assert told.checks[0].worst < 0.005
