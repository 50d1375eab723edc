"""What a finish does to the speed at which wood takes up moisture: none stops it, every one slows it.

Effectiveness is what a finish keeps out: 1 - (taken up under it) / (taken up without it), 30 to 90 % humidity, all over
small boards of pine about 16 mm thick (thickness from memory): W. C. Feist, J. K. Little and J. M. Wennesheimer, "The
Moisture-Excluding Effectiveness of Finishes on Wood Surfaces", USDA Forest Products Laboratory, FPL-RP-462, 1985
(second-hand). A film's resistance is taken from the 14th day. What first order then has on the other days, against
what was measured under two coats (it falls with time, as it must):

| day | shellac | lacquer | spar varnish | epoxy |
|---|---|---|---|---|
| 1 | 68 by 84 % | 51 by 70 % | 62 by 80 % | 97 by 98 % |
| 7 | 42 by 43 % | 24 by 22 % | 35 by 36 % | 93 by 93 % |

Diffusion itself (`keyaction.models.climate.sheet`) has 71, 55, 66 and 98 % on the first day: most of what is missing
there is no fault of first order. A bare board may well take up more at first than a sheet, through its end grain.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

DIFFUSION = 1e-10
"""m2/s, moisture across the grain: spruce by vapour sorption, radial 0.94e-10, tangential 1.00e-10 (A. Sánchez-Ferrer
and D. Engelhardt, Scientific Reports, 2026, abstract, read). Thicker wood is given up to 1e-9 (from memory)."""
PANEL = 0.016
"""m: thickness of the boards on which finishes were tried (from memory)."""
PANEL_LAG = PANEL**2 / (12 * DIFFUSION)
"""s: lag of such a board without a finish, 59 h."""
_DAYS = 14
_DAY = 86400.0


@dataclass(frozen=True)
class Finish:
    """A finish.

    Attributes
    ----------
    name : str
        As a case names it: what, and how many coats.
    effectiveness : float
        Share of moisture kept out over 14 days.
    doc : str
        For people.
    source : str
    status : str
        "second-hand", "assumed" or "derived": how far the effectiveness is to be trusted.
    """

    name: str
    effectiveness: float
    doc: str
    source: str
    status: str

    @property
    def factor(self) -> float:
        """How many times slower the tried board of 16 mm follows.

        So that first-order answers of both boards give the effectiveness E at t = 14 days:
        1 - E = (1 - exp(-t / (factor tau))) / (1 - exp(-t / tau)), tau the bare board's.
        """
        if self.effectiveness == 0:
            return 1.0
        bare = -math.expm1(-_DAYS * _DAY / PANEL_LAG)
        taken = (1 - self.effectiveness) * bare
        return -_DAYS * _DAY / PANEL_LAG / math.log1p(-taken)

    @property
    def resistance(self) -> float:
        """Of the film, s/m: what it adds to the lag of a sheet with two faces, over half of its thickness.

        A film holds moisture up by so much for every share of moisture that passes it, whatever the wood behind it.
        """
        return 2 * (self.factor - 1) * PANEL_LAG / PANEL

    def kept_out(self, days: float) -> float:
        """Effectiveness at another time by first-order answers of the tried board; it falls with time."""
        after = days * _DAY / PANEL_LAG
        return 1 - math.expm1(-after / self.factor) / math.expm1(-after)


_SOURCE = (
    "W. C. Feist, J. K. Little and J. M. Wennesheimer, USDA Forest Products Laboratory, FPL-RP-462, 1985: kept out of "
    "30 to 90 % humidity over 14 days"
)
_TRIED = (
    ("shellac-2", 20, "two coats of shellac"),
    ("shellac-3", 42, "three coats of shellac"),
    ("lacquer-2", 8, "two coats of nitrocellulose lacquer"),
    ("lacquer-3", 10, "three coats of nitrocellulose lacquer"),
    ("varnish-2", 15, "two coats of spar varnish"),
    ("varnish-3", 30, "three coats of spar varnish"),
    ("epoxy-2", 88, "two coats of epoxy varnish of two parts"),
    ("epoxy-3", 91, "three coats of epoxy varnish of two parts"),
    ("polyurethane-3", 66, "three coats of clear polyurethane of two parts"),
    ("enamel-3", 59, "three coats of gloss enamel"),
    ("paraffin", 95, "dipped in melted paraffin wax"),
    ("tung-oil-3", 2, "three coats of tung oil"),
    ("linseed-oil-3", 0, "three coats of linseed oil"),
)
"""Name, effectiveness in %, words."""
BARE = Finish("bare", 0.0, "no finish", "the bare board is what the others are held against", "derived")
FINISHES: Mapping[str, Finish] = {
    BARE.name: BARE,
    **{name: Finish(name, kept / 100, doc, _SOURCE, "second-hand") for name, kept, doc in _TRIED},
}
"""The finishes by their names."""
