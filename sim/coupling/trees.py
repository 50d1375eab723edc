"""Which part of a coupled train is which coupler, and the notes that it drives."""

from __future__ import annotations

from collections.abc import Sequence

from keyaction.cases.action.trains import train_of
from keyaction.cases.instrument.coupled import CoupledNote, joined_note
from keyaction.cases.instrument.coupler import Coupler, slug
from keyaction.cases.instrument.instrument import Instrument
from keyaction.models.train.train import Train
from keyaction.sim.coupling.regulate import DrivenNote

ROLE = "coupler"


def couplers_of(drawn: Sequence[str], train: Train) -> dict[str, str]:
    """The coupler that each part of that role is, by the parts' names."""
    return {part.name: _named(drawn, part.name) for part in train.parts if part.role == ROLE}


def part_of(drawn: Sequence[str], coupled: CoupledNote, coupler: Coupler) -> str:
    """How a coupler is called in a coupled train where it takes hold of what the finger plays."""
    own = coupled.soundings[0].part(coupler.takes[0])
    for _, name, _, *ends in coupled.parts:
        if ends and ends[0] is not None and ends[0][0] == own and _named(drawn, name) == coupler.name:
            return str(name)
    raise LookupError(f"{coupler.name} takes no hold of {coupled.division}")


def _named(drawn: Sequence[str], part: str) -> str:
    """The drawn coupler with the longest name that a part's begins with; what follows tells where it stands."""
    fits = [name for name in drawn if f"{part}-".startswith(f"{ROLE}-{slug(name)}-")]
    return max(fits, key=lambda name: len(slug(name)), default="")


def driven_note(instrument: Instrument, drawn: Sequence[str], coupled: CoupledNote, coupler: Coupler) -> DrivenNote:
    """The note that a coupler drives, its key pressed itself with these couplers drawn."""
    made = joined_note(instrument, coupler.driven, coupled.note + coupler.shift, drawn)
    called = {(one.division, one.note): one for one in coupled.soundings}
    names: dict[str, str] = {}
    for one in made.soundings:
        there = called.get((one.division, one.note), one)
        names |= {one.part(name): there.part(name) for name in _pallets(instrument, one.division)}
    return DrivenNote(made.train(), instrument.divisions[coupler.driven].strokes, names)


def own_notes(instrument: Instrument, coupled: CoupledNote) -> tuple[DrivenNote, ...]:
    """All notes that are driven, each with its own key and nothing coupled."""
    found = []
    for one in coupled.soundings[1:]:
        case = instrument.divisions[one.division]
        names = {name: one.part(name) for name in _pallets(instrument, one.division)}
        found.append(DrivenNote(train_of(case, one.note), case.strokes, names))
    return tuple(found)


def _pallets(instrument: Instrument, division: str) -> list[str]:
    return [part.name for part in instrument.divisions[division].parts if part.part.role == "pallet"]
