"""What feeds a pallet box, in steady flow: reservoir, trunk and outflow as orifices in series.

Q = A sqrt(2 dp / rho) through each (Bernoulli's jet without friction, air taken as incompressible: textbook), so that
the drops add up: 1/A^2 = sum of 1/A_i^2. A trunk that loses z heads of its own speed, rho/2 (Q/A)^2 each, is an
orifice of A / sqrt(z).
"""

from __future__ import annotations

import math
from collections.abc import Iterable

__all__ = ["effective_trunk", "in_series", "smallest_trunk", "steady_box", "steady_flow"]


def in_series(areas: Iterable[float]) -> float:
    """Effective area (m2) of orifices one behind the other; 0 where one is shut, infinite ones count for nothing."""
    found = list(areas)
    if any(area <= 0.0 for area in found):
        return 0.0
    sum_of = math.fsum(area**-2 for area in found)
    return sum_of**-0.5 if sum_of > 0.0 else math.inf


def effective_trunk(area: float, loss: float) -> float:
    """The orifice (m2) that a trunk is: its area over the root of the heads that it loses; infinite without a loss."""
    return area / math.sqrt(loss) if loss > 0.0 else math.inf


def steady_flow(reservoir: float, fall: float, trunk_area_eff: float, outflow_area_eff: float, density: float) -> float:
    """Flow (m3/s) from the reservoir through trunk and box; parameters as of `steady_box`."""
    area = in_series((trunk_area_eff, outflow_area_eff))
    if reservoir <= 0.0 or area <= 0.0:
        return 0.0
    # p = fall Q + rho Q^2 / (2 A^2), in the form of its root that loses no figures where the fall is small.
    return 2 * reservoir / (fall + math.sqrt(fall**2 + 2 * density * reservoir / area**2))


def steady_box(reservoir: float, fall: float, trunk_area_eff: float, outflow_area_eff: float, density: float) -> float:
    """Pressure that is left in a box out of which all that is open flows steadily.

    Parameters
    ----------
    reservoir : float
        Pressure of the reservoir while nothing flows, Pa.
    fall : float
        What the reservoir loses by each m3/s that is taken from it, Pa s/m3; 0 where it holds its pressure.
    trunk_area_eff : float
        The trunk as an orifice, m2 (`effective_trunk`); `math.inf` where the box is the reservoir.
    outflow_area_eff : float
        All that leads out of the box as one orifice, m2: the sum over its notes of gap and toes in series.
    density : float
        Of the air, kg/m3.

    Returns
    -------
    float
        Pa; `reservoir` where nothing is open, or where neither trunk nor reservoir loses any.
    """
    if outflow_area_eff <= 0.0 or (math.isinf(trunk_area_eff) and fall == 0.0):
        return reservoir
    flow = steady_flow(reservoir, fall, trunk_area_eff, outflow_area_eff, density)
    return density * (flow / outflow_area_eff) ** 2 / 2


def smallest_trunk(
    reservoir: float, fall: float, loss: float, outflow_area_eff: float, density: float, share: float
) -> float:
    """Smallest trunk (its own area, m2) that leaves the box a share of the reservoir's pressure; NaN where none does.

    Parameters
    ----------
    reservoir, fall, outflow_area_eff, density : float
        As of `steady_box`.
    loss : float
        Heads that the trunk loses.
    share : float
        Of the reservoir's pressure while nothing flows, above 0 and below 1.
    """
    wanted = share * reservoir
    flow = outflow_area_eff * math.sqrt(2 * max(wanted, 0.0) / density)
    left = reservoir - fall * flow - wanted
    if flow <= 0.0 or loss <= 0.0:
        return 0.0 if left >= 0.0 else math.nan
    return flow * math.sqrt(density * loss / (2 * left)) if left > 0.0 else math.nan
