"""The parts of the trade. A new part is one file and one entry here."""

from __future__ import annotations

from keyaction.models.parts.base import Part
from keyaction.models.parts.beam import Beam
from keyaction.models.parts.couplers import CouplerHook, CouplerLever, CouplerSticker, CouplerTumbler
from keyaction.models.parts.key import Key
from keyaction.models.parts.levers import Backfall, Square
from keyaction.models.parts.pallet import Pallet
from keyaction.models.parts.pedal_key import PedalKey
from keyaction.models.parts.pneumatic_lever import PneumaticLever
from keyaction.models.parts.relief_pallet import ReliefPallet
from keyaction.models.parts.rods import PullDown, Sticker, Tracker
from keyaction.models.parts.roller import Roller
from keyaction.models.parts.spring import Spring
from keyaction.models.parts.wind import Box, Groove

PARTS: dict[str, type[Part]] = {
    part.kind: part
    for part in (
        *(Key, PedalKey, Tracker, PullDown, Sticker, Square, Backfall, Roller, Pallet, Spring, Groove, Box),
        *(ReliefPallet, Beam, PneumaticLever),
        *(CouplerLever, CouplerTumbler, CouplerSticker, CouplerHook),
    )
}
"""Every kind of part by its name in a case file."""
