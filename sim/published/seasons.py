"""How wood follows the seasons, what finishes do to that, what heat does, and what guidance means in wood."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator
from functools import partial

import numpy as np

from keyaction.models.climate.finishes import DIFFUSION, FINISHES, PANEL
from keyaction.models.climate.lag import followed, time_constant
from keyaction.models.climate.sheet import taken_up, time_to, wave_answer
from keyaction.models.climate.year import DAY, YEAR
from keyaction.models.formulas.wood import ZERO_CELSIUS, across_expansion, length_strain, width_strain
from keyaction.models.materials.library import default_library
from keyaction.models.materials.types import Material, Property
from keyaction.sim.published.observation import Between, Near, Observation, Source
from keyaction.sim.published.wood import percent

LAG, FILM = "How slowly wood follows the air", "What finishes keep out of wood"
HEAT, GUIDANCE = "Growth by heat", "What guidance on humidity means in wood"
HOUR = 3600.0

SHEET = Source("J. Crank, The Mathematics of Diffusion, 2nd ed., 1975, ch. 4: plane sheet, both faces, a step; series "
               "summed elsewhere", "derived")  # fmt: skip
WAVES = Source("tanh(z)/z, z = L/2 sqrt(i w/D), textbook: mean of a plane sheet under a wave; D 1e-10 m²/s", "derived")
ORDER = Source("The same, against the first-order law of the program: L²/12D", "derived")
FURNITURE = Source("Knight and Thickett, on cracks of old furniture, abstract: their width lags by about 41 h",
                   "read")  # fmt: skip
RATE = Source("A. Sánchez-Ferrer and D. Engelhardt, Scientific Reports, 2026, abstract: spruce by vapour sorption, "
              "radial and tangential", "read")  # fmt: skip
FEIST = Source("W. C. Feist, J. K. Little, J. M. Wennesheimer, FPL-RP-462, 1985: effectiveness, 30 to 90 % humidity",
               "second-hand")  # fmt: skip
METALS = Source("W. D. Callister, Materials Science and Engineering, appendix B, Table B.6, from a scan", "read")
RUN = Source("Length x coefficient x difference: 2 m by 20 K, coefficients of the tables above", "derived")
ACROSS = Source("Wood Handbook, FPL-GTR-282, 2021, ch. 4: 32.4 G + 9.9 radial, 32.4 G + 18.4 tangential", "from memory")
BUILDERS = Source("A panel of organ builders, an organists' guild's journal, 2018: 40 to 60 %; worked out at 20 °C",
                  "derived")  # fmt: skip
CARE = Source(
    "Care pages of organ builders: above 30 % in winter, below 80 % in summer; worked out at 20 °C", "derived"
)
ALARM = Source("Draft standard on the storage of collections: 25 % and 75 %; worked out at 20 °C", "derived")
TRADE = Source("German timber trade, table of movement: beech 0.41 % per 1 %, tangential; 38 mm, 18 °C, 35 to 70 %",
               "derived")  # fmt: skip

HALF_TIMES = ((1, 0.137), (2, 0.546), (10, 13.66), (20, 54.65), (40, 218.6))
"""Thickness in mm, time to half of a step in h."""
COURSES = ((2, DAY, "a day", 0.961, 0.90), (10, DAY, "a day", 0.233, 3.0), (20, DAY, "a day", 0.117, 3.0),
           (20, YEAR, "a year", 0.997, 92.4), (38, YEAR, "a year", 0.962, 323.0))  # fmt: skip
"""Thickness in mm, period, swing over the air's, lag in h."""
COATS = (("shellac-2", 84, 43, 20), ("lacquer-2", 70, 22, 8), ("varnish-2", 80, 36, 15), ("epoxy-2", 98, 93, 88))
"""Effectiveness in % after 1, 7 and 14 days."""
THREE = (("paraffin", 95), ("epoxy-3", 91), ("polyurethane-3", 66), ("enamel-3", 59), ("shellac-3", 42),
         ("varnish-3", 30), ("lacquer-3", 10), ("tung-oil-3", 2), ("linseed-oil-3", 0))  # fmt: skip
"""The same after 14 days."""
EXPANSIONS = (("steel", 11.7), ("music-wire", 11.3), ("aluminium", 23.6), ("brass", 19.9), ("stainless", 17.2),
              ("beryllium-copper", 16.7))  # fmt: skip
RUNS = (("steel", 0.468), ("stainless", 0.688), ("aluminium", 0.944), ("brass", 0.796))


def half_time(thickness: float) -> float:
    """Hours to half of a step, thickness in mm."""
    return time_to(0.5) * (1e-3 * thickness) ** 2 / DIFFUSION / HOUR


def swing(thickness: float, period: float) -> float:
    """Of a sheet's mean over that of the air; mm and s."""
    return wave_answer(1e-3 * thickness, period, DIFFUSION)[0]


def behind(thickness: float, period: float) -> float:
    """Lag of a sheet's mean in h; mm and s."""
    return wave_answer(1e-3 * thickness, period, DIFFUSION)[1] / HOUR


def lag(thickness: float) -> float:
    """First-order lag in h, thickness in mm."""
    return time_constant(1e-3 * thickness) / HOUR


def time_by_order(share: float) -> float:
    """D t/L² at which the first-order law has made so much of a step: -ln(1 - share) of its lag."""
    return -math.log(1 - share) * time_constant(1.0) * DIFFUSION


def yearly(thickness: float) -> complex:
    """What the first-order law, followed through two years, makes of a wave of a year; mm."""
    t = 6 * HOUR * np.arange(2 * 1460.0)
    air = np.exp(2j * math.pi * t / YEAR)
    tau = time_constant(1e-3 * thickness)
    parts = [followed(part, t, tau, part[0])[1460:] for part in (air.real, air.imag)]
    return complex(np.mean((parts[0] + 1j * parts[1]) / air[1460:]))


def yearly_swing(thickness: float) -> float:
    """Over that of the air; mm."""
    return abs(yearly(thickness))


def yearly_lag(thickness: float) -> float:
    """Behind the air in h; mm."""
    return -cmath.phase(yearly(thickness)) * YEAR / (2 * math.pi * HOUR)


def _lags() -> Iterator[Observation]:
    for words, share, found in (("half", 0.5, 0.049183), ("90 %", 0.9, 0.212021)):
        yield Observation(LAG, f"D t/L² to {words} of a step", Near(found, absolute=1e-6), "", SHEET,
                          partial(time_to, share))  # fmt: skip
    for size, hours in HALF_TIMES:
        figure = Near(hours, absolute=5e-4) if hours < 1 else Near(hours, relative=1e-3)
        yield Observation(LAG, f"half of a step, {size} mm", figure, "h", SHEET, partial(half_time, size))
    for size, period, words, share, hours in COURSES:
        yield Observation(LAG, f"{size} mm, swing over {words}", Near(share, absolute=6e-4), "", WAVES,
                          partial(swing, size, period))  # fmt: skip
        digits = Near(hours, absolute=0.006, why="last digit printed") if hours < 10 else Near(hours, relative=2e-3)
        yield Observation(LAG, f"{size} mm, lag over {words}", digits, "h", WAVES, partial(behind, size, period))
    for words, share, found, off in (("half", 0.5, 0.049183, 0.18), ("90 %", 0.9, 0.212021, 0.10)):
        figure = Near(found, relative=off, why=f"first order in place of diffusion: {off:.0%} at most")
        yield Observation(LAG, f"D t/L² to {words} of a step", figure, "", ORDER, partial(time_by_order, share))
    for size, share, hours in ((20, 0.997, 92.4), (38, 0.962, 323.0)):
        why = "first order in place of diffusion: 2 % at most over a year, to 38 mm"
        yield Observation(LAG, f"{size} mm, swing over a year", Near(share, relative=0.02, why=why), "", ORDER,
                          partial(yearly_swing, size))  # fmt: skip
        yield Observation(LAG, f"{size} mm, lag over a year", Near(hours, relative=0.02, why=why), "h", ORDER,
                          partial(yearly_lag, size))  # fmt: skip
    yield Observation(LAG, "sheet of 13.3 mm", Near(41.0, absolute=0.5, why="'about'"), "h", FURNITURE,
                      partial(lag, 13.3))  # fmt: skip
    yield Observation(LAG, "diffusion taken for all wood", Between(94, 100), "µm²/s", RATE,
                      lambda: round(1e12 * DIFFUSION, 9))  # fmt: skip


def by_film(name: str, days: float) -> float:
    """Effectiveness in % by diffusion through the film and the board."""
    fourier, resistance = DIFFUSION * days * DAY / PANEL**2, FINISHES[name].resistance
    biot = PANEL / (2 * DIFFUSION * resistance) if resistance else float("inf")
    return 100 * (1 - taken_up(fourier, biot) / taken_up(fourier))


def by_order(name: str, days: float) -> float:
    """Effectiveness in % by the first-order law of the program."""
    return 100 * FINISHES[name].kept_out(days)


def _films() -> Iterator[Observation]:
    fitted = "fitted to this day by first order; by diffusion through film and board"
    first = "film fitted to the 14th day; the bare board of the trial took up more at first than a plane sheet"
    later = "film fitted to the 14th day"
    for name, *measured in COATS:
        rooms = (20 if measured[0] < 90 else 1, 3, 0.5)
        for days, kept, room, why in zip((1, 7, 14), measured, rooms, (first, later, fitted), strict=True):
            ours = by_film if days == 14 else by_order
            yield Observation(FILM, f"{name}, {days} d", Near(kept, absolute=room, why=why), "%", FEIST,
                              partial(ours, name, days))  # fmt: skip
    for name, kept in THREE:
        yield Observation(FILM, f"{name}, 14 d", Near(kept, absolute=0.5, why=fitted), "%", FEIST,
                          partial(by_film, name, 14))  # fmt: skip


def expansion(name: str) -> float:
    """Of a material of the library, 1e-6/K."""
    return 1e6 * default_library().get(name)["thermal_expansion"].value


def warmed(name: str) -> float:
    """mm by which 2 m grow over 20 K."""
    return 2e3 * length_strain(default_library().get(name), (283.15, 0.5), (303.15, 0.5))


def dry_wood(gravity: float, way: str) -> float:
    """Expansion of oven-dry wood across the grain, 1e-6/K."""
    still = {"density": 1120 * gravity, "movement_radial": 0.0, "movement_tangential": 0.0}
    wood = Material(
        "oven-dry", "wood", "", {one: Property(value, "", "made up", "given") for one, value in still.items()}
    )
    return 1e6 * across_expansion(wood, "radial" if way == "radial" else "tangential")


def _heat() -> Iterator[Observation]:
    for name, found in EXPANSIONS:
        yield Observation(HEAT, f"expansion of {name}", Near(found, relative=1e-9), "1e-6/K", METALS,
                          partial(expansion, name))  # fmt: skip
    for name, found in RUNS:
        yield Observation(HEAT, f"2 m of {name}, 20 K", Near(found, relative=1e-9), "mm", RUN, partial(warmed, name))
    for gravity, *both in ((0.40, 22.86, 31.36), (0.65, 30.96, 39.46)):
        for way, found in zip(("radial", "tangential"), both, strict=True):
            yield Observation(HEAT, f"gravity {gravity:g}, {way}", Near(found, relative=1e-9), "1e-6/K", ACROSS,
                              partial(dry_wood, gravity, way))  # fmt: skip


def swelling(size: float, celsius: float, dry: float, damp: float) -> float:
    """mm by which so many mm of European beech move tangentially; humidities in %."""
    air = celsius + ZERO_CELSIUS
    return size * width_strain(
        default_library().get("european-beech"), "tangential", (air, dry / 100), (air, damp / 100)
    )


def _guidance() -> Iterator[Observation]:
    for source, humidity, content in ((BUILDERS, 40, 7.72), (BUILDERS, 60, 11.00), (CARE, 30, 6.19), (CARE, 80, 16.04),
                                      (ALARM, 25, 5.38), (ALARM, 75, 14.45)):  # fmt: skip
        yield Observation(GUIDANCE, f"moisture at {humidity} %", Near(content, absolute=0.006), "%", source,
                          partial(percent, 20, humidity))  # fmt: skip
    for source, dry, damp, found in ((BUILDERS, 40, 60, 1.34), (CARE, 30, 80, 4.04)):
        yield Observation(GUIDANCE, f"100 mm of beech, {dry} to {damp} %", Near(found, absolute=0.006), "mm", source,
                          partial(swelling, 100, 20, dry, damp))  # fmt: skip
    yield Observation(GUIDANCE, "a roller of beech", Near(0.966, absolute=5e-4), "mm", TRADE,
                      partial(swelling, 38, 18, 35, 70))  # fmt: skip


OBSERVATIONS = (*_lags(), *_films(), *_heat(), *_guidance())
