"""Couplers that are drawn for a run: what is played with them, and how a change of them is known."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass

from keyaction.cases.action.case import cells_said, source_said
from keyaction.cases.instrument.coupled import CoupledNote, held_divisions, joined_note
from keyaction.cases.instrument.coupler import Coupler
from keyaction.cases.instrument.coupler_figures import coupler_assumptions
from keyaction.cases.instrument.drawn import drawn_couplers
from keyaction.cases.instrument.instrument import Instrument
from keyaction.cases.text.assumed import Assumption
from keyaction.models.notes import note_name
from keyaction.sim.files.division_notes import full_name

BETWEEN = ","
"""Between the names of couplers, and of held divisions, in the texts of a result."""


@dataclass(frozen=True)
class Coupling:
    """Couplers of an instrument that are drawn, and divisions whose driven keys another hand holds down."""

    instrument: Instrument
    drawn: tuple[str, ...]
    held: tuple[str, ...] = ()

    @property
    def couplers(self) -> list[Coupler]:
        return [self.instrument.couplers[name] for name in self.drawn]

    @property
    def played(self) -> list[str]:
        """Divisions of which a drawn coupler takes hold, in the order of the instrument."""
        taken = {one.played for one in self.couplers}
        return [name for name in self.instrument.divisions if name in taken]

    def moved(self, division: str) -> list[str]:
        """Divisions that one may move, by one coupler or by several in chain, in the order of the instrument."""
        way, found = [division], dict[str, None]()
        for name in way:
            driven = [one.driven for one in self.couplers if one.played == name]
            way += [one for one in driven if one not in way]
            found |= dict.fromkeys(driven)
        return [name for name in self.instrument.divisions if name in found]

    def note(self, division: str, note: int) -> CoupledNote:
        """The parts of a coupled note."""
        return joined_note(self.instrument, division, note, self.drawn, self.held)

    def pallets(self, note: CoupledNote) -> dict[str, tuple[str, str]]:
        """What each pallet of a coupled note sounds, "high/C5", and the couplers that reach it, by its part."""
        found = {}
        for one in note.soundings:
            case = self.instrument.divisions[one.division]
            sounds = full_name(one.division, note_name(one.note, case.naming))
            for part in (part.name for part in case.parts if part.part.role == "pallet"):
                found[one.part(part)] = sounds, BETWEEN.join(one.by)
        return found

    def told(self) -> dict[str, str]:
        """Texts that travel with a result."""
        held = {"held": BETWEEN.join(self.held)} if self.held else {}
        return {"coupled": BETWEEN.join(self.drawn), **held}

    def fingerprint(self, division: str) -> str:
        """Changes with everything that changes a coupled figure of a division, beside what its own case says."""
        moved = self.moved(division)
        pieces = [repr(self.drawn), repr([name for name in self.held if name in moved])]
        pieces += [self.instrument.divisions[name].fingerprint for name in moved]
        files = self.instrument.files
        pieces += [piece for name in sorted(files) for piece in (name, cells_said(files[name]))]
        pieces += [source_said(one.part) for one in self.couplers]
        return hashlib.sha256("\n".join(pieces).encode()).hexdigest()

    def assumptions(self, division: str) -> list[Assumption]:
        """What the program chose of the drawn couplers, and of the other divisions that one moves."""
        found = [one for one in coupler_assumptions(self.instrument) if one.owner in self.drawn]
        for name in self.moved(division):
            own = self.instrument.divisions[name].assumptions if name != division else ()
            found += [
                one._replace(table=f"{name}: {one.table}" if one.table else "", owner=f"{name}: {one.owner}")
                for one in own
            ]
        return found


def coupling_of(instrument: Instrument, drawn: str | Iterable[str], held: str | Iterable[str] = ()) -> Coupling:
    """The couplers that are named, looked at.

    Raises
    ------
    keyaction.CouplerProblem
        As `drawn_couplers` and `held_divisions` do.
    """
    names = drawn_couplers(instrument, drawn)
    return Coupling(instrument, names, held_divisions(instrument, names, held))
