"""Air: its density, flow through openings, pressures and weights of the trade, and the groove that fills."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import partial

import numpy as np
from scipy.integrate import solve_ivp

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.models.fields.values import Scalar
from keyaction.models.formulas import air
from keyaction.models.parts.wind import Groove
from keyaction.models.units.quantity import parse_quantity
from keyaction.sim.code.kernel import Floats
from keyaction.sim.motion.drives import HANDS_OFF
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.published.observation import Near, Observation, Source

AIR, FLOW, GROOVE = "Density of the air", "Pressures, and flow through an opening", "The groove that fills"

COOLPROP = Source("Moist air of a library of equations of state (I. H. Bell and others, 2014), run here", "derived")
ASHRAE = Source("Moist air by ASHRAE's psychrometric relations (Fundamentals, 2017), run here", "derived")
COARSE = Source("A technical table of a maker of fans: density of moist air", "read")
DEFINED = Source("Standard gravity (CGPM 1901) and the conventional column of water, by definition", "derived")
TEXTBOOK = Source("C_d A sqrt(2 dp/rho) and sqrt(2 dp/rho), textbook: 0.61, 1 cm², 75 mmH2O, 1.2 kg/m³", "derived")
SLIT = Source("Free-streamline slit pi/(pi + 2): H. Lamb, Hydrodynamics, 6th ed., 1932", "from memory")
SHARP = Source("An article on discharge coefficients: a sharp-edged orifice has about 0.6", "read")
READER = Source("ISO 5167-2:2003, Reader-Harris and Gallagher's coefficient, an example of a library's documents: "
                "orifice of 22.2 mm in a pipe of 73.91 mm", "read")  # fmt: skip
SERIES = Source("Two openings one behind the other, closed form: 1/(1 + (A2/A1)²) of the pressure is "
                "left on the pallet", "derived")  # fmt: skip
BOTTLE = Source("A closed volume filled through an opening, adiabatic, closed form: 1 L, 735.5 Pa, C_d A 0.61 cm²",
                "derived")  # fmt: skip

DENSITIES = (
    (20, 101325, 0.50, 1.19936, 1.19890), (20, 101325, 0.00, 1.20460, 1.20415), (15, 101325, 0.00, 1.22557, 1.22505),
    (10, 101325, 0.40, 1.24500, 1.24439), (25, 101325, 0.80, 1.17318, 1.17276), (18, 98000, 0.60, 1.16749, 1.16703),
    (30, 101325, 0.60, 1.15372, 1.15336),
)  # fmt: skip
"""°C, Pa, relative humidity, kg/m³ by the one and by the other."""
TABLE = ((20, 0, 1.206), (20, 20, 1.204), (20, 40, 1.202), (30, 0, 1.166), (30, 40, 1.159), (20, 65, 1.2))
"""°C, relative humidity in %, kg/m³ at 760 mmHg; the last is its standard air."""


def density(celsius: float, humidity: float, pressure: float = 101325.0) -> float:
    """Of moist air, kg/m³, from °C, a share and Pa."""
    return air.density(celsius + air.ZERO_CELSIUS, pressure, humidity)


def _densities() -> Iterator[Observation]:
    other = "another formulation of moist air"
    for source, column in ((COOLPROP, 3), (ASHRAE, 4)):
        for row in DENSITIES:
            celsius, pressure, humidity = row[:3]
            yield Observation(AIR, f"{celsius} °C, {pressure / 100:g} hPa, {100 * humidity:g} %",
                              Near(row[column], relative=5e-4, why=other), "kg/m³", source,
                              partial(density, celsius, humidity, pressure))  # fmt: skip
    for celsius, humidity, found in TABLE:
        yield Observation(AIR, f"{celsius} °C, {humidity} % humidity", Near(found, relative=2e-3, why="a coarse table"),
                          "kg/m³", COARSE, partial(density, celsius, humidity / 100))  # fmt: skip


def default_coefficient(opening: str) -> float:
    """The flow coefficient that a groove has unless a case says otherwise."""
    return float(next(field for field in Groove.fields if field.name == opening).default)  # type: ignore[arg-type]


def _flows() -> Iterator[Observation]:
    for text, unit, value, room in (("1 mmH2O", "Pa", 9.80665, 1e-9), ("1 inH2O", "Pa", 249.089, 1e-6),
                                    ("75 mmH2O", "Pa", 735.5, 1e-5), ("3 inH2O", "Pa", 747.3, 1e-4)):  # fmt: skip
        yield Observation(FLOW, text, Near(value, relative=room), unit, DEFINED, partial(parse_quantity, text, unit))
    yield Observation(FLOW, "1 gf", Near(9.80665, relative=1e-9), "mN", DEFINED,
                      lambda: 1e3 * parse_quantity("1 gf", "N"))  # fmt: skip
    wind = parse_quantity("75 mmH2O", "Pa")
    yield Observation(FLOW, "speed of the jet", Near(35.01, relative=1e-4), "m/s", TEXTBOOK,
                      partial(air.jet_speed, wind, 1.2))  # fmt: skip
    yield Observation(FLOW, "flow", Near(2.1357, relative=1e-4), "L/s", TEXTBOOK,
                      lambda: 1e3 * air.orifice_flow(0.61, 1e-4, wind, 1.2))  # fmt: skip
    ours, rough = "ours is given to two digits", "'about'"
    yield Observation(FLOW, "flow coefficient of the gap", Near(math.pi / (math.pi + 2), absolute=0.005, why=ours),
                      "", SLIT, partial(default_coefficient, "gap_flow"))  # fmt: skip
    for words, field in (("gap", "gap_flow"), ("toes", "feet_flow")):
        yield Observation(FLOW, f"flow coefficient of the {words}", Near(0.6, absolute=0.05, why=rough), "", SHARP,
                          partial(default_coefficient, field))  # fmt: skip
    yield Observation(FLOW, "flow coefficient of the toes", Near(0.5990326277, absolute=0.005, why=ours), "", READER,
                      partial(default_coefficient, "feet_flow"))  # fmt: skip


class HeldOpen:
    """The groove of the shipped case with its pallet held open: its own equation, integrated."""

    def __init__(self, **values: float) -> None:
        changes: dict[str, Scalar] = {"groove.leak": "0 mm^2", "groove.gap_flow": 0.6, "groove.feet_flow": 0.6}
        model = NoteModel(train_of(read_case("demo-wood", set_=changes), "C4"))
        self._model = model.with_parameters(**values) if values else model
        self._kernel = self._model.kernel()
        spellings, parameters = self._kernel.spellings, self._model.parameters()
        self.known = dict(zip(spellings, parameters.tolist(), strict=True))

    def pressures(self, area: float, times: Floats) -> Floats:
        """Pressure in the groove over the box's, with this area of gap and opening together, in m²."""
        known, kernel, p = self.known, self._kernel, self._model.parameters()
        slot = known["A_slot_pallet"]
        gap = area * slot / math.sqrt(slot**2 - area**2)
        y = np.zeros(len(kernel.states))
        y[kernel.states.index("q_pallet")] = known["q_open_pallet"] + gap / known["gap_pallet"]
        groove, d = kernel.states.index("p_groove"), self._model.vector(HANDS_OFF, HANDS_OFF.pieces[0])

        def rate(t: float, pressure: Floats) -> list[float]:
            state = y.copy()
            state[groove] = pressure[0]
            return [float(kernel.rates(t, state, p, d)[groove])]

        span = (0.0, float(times[-1]))
        found = solve_ivp(rate, span, [0.0], method="LSODA", rtol=1e-9, atol=1e-6, t_eval=times)
        return np.asarray(found.y[0] / known["p_box"])


def left_on_the_pallet(ratio: float) -> float:
    """Share of the box's pressure that stays on a pallet open by `ratio` times the toes."""
    groove = HeldOpen()
    toes = groove.known["A_out_groove"] / 0.6
    return 1.0 - float(groove.pressures(ratio * toes, np.array([2.0]))[-1])


def filling_time() -> float:
    """ms in which the groove would be full: three times that of 5/9 of it, since the drop's root falls evenly."""
    groove = HeldOpen(V_groove=1e-3, p_box=735.5, rho_air=1.2, A_out_groove=0.0, Cd_groove=0.61, p_atm=101325.0)
    times = np.linspace(0.0, 4e-3, 4001)
    shares = groove.pressures(1e-4, times)
    return 1e3 * 3.0 * float(np.interp(5.0 / 9.0, shares, times))


def _grooves() -> Iterator[Observation]:
    smooth = "flow is rounded off in the last pascal"
    for ratio, left in ((0.5, 0.8), (1, 0.5), (2, 0.2)):
        yield Observation(GROOVE, f"left, opening {ratio:g} x the toes",
                          Near(left, absolute=2e-4, why=smooth), "", SERIES,
                          partial(left_on_the_pallet, ratio))  # fmt: skip
    yield Observation(GROOVE, "time until it is full", Near(4.855, relative=1e-3), "ms", BOTTLE, filling_time)


OBSERVATIONS = (*_densities(), *_flows(), *_grooves())
