"""Designs about one train."""

from __future__ import annotations

import numpy as np

_KEPT = ("N_floor", "phi_slip", "p_smooth", "p_atm", "rho_air", "g", "cos_", "sin_", "down_", "s_in_", "s_out_",
         "delta_", "x0_", "q_open")  # fmt: skip
"""Beginnings of the names of what no builder chooses, and of what follows from the others."""


def scattered(train, count, seed, share=0.10):
    """Trains about one train, every physical parameter scattered, the squeeze of seat and rest felt in equilibrium."""
    names = [p.symbol.name for p in train.system().params]
    base = np.array(train.vector([p.name for p in train.system().params]))
    free = np.array([not name.startswith(_KEPT) for name in names])
    factor = np.random.default_rng(seed).uniform(1 - share, 1 + share, (count, len(base)))
    rows = base * np.where(free, factor, 1.0)

    def at(name):
        return rows[:, names.index(name)]

    closing = at("M0_pallet_spring") - at("B_pallet") + at("S_wind_pallet") * at("p_box")
    rows[:, names.index("x0_seat_pallet")] = (closing / (at("r_seat_pallet") * at("K_seat_pallet"))) ** (2 / 3)
    rows[:, names.index("q_open_pallet")] = at("x0_seat_pallet") / at("r_seat_pallet")
    rows[:, names.index("x0_rest_key")] = np.maximum(-at("B_key") / at("r_rest_key") / at("K_rest_key"), 0) ** (2 / 3)
    return rows
