"""A chord played: its notes together and each alone, what its boxes do, and what would carry it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from keyaction.cases.action.strokes import Strokes
from keyaction.models.algebra.names import Name
from keyaction.models.train.train import Train
from keyaction.sim.chord.figures import BoxFigures, InChord, box_figures, is_still, lowest_held, scales_of, times_of
from keyaction.sim.chord.hands import even, held
from keyaction.sim.chord.places import Groove, Player, grooves_of
from keyaction.sim.chord.repeats import Repeated, repeated
from keyaction.sim.chord.resting import at_pressures
from keyaction.sim.chord.robbing import Robbing, robbing
from keyaction.sim.chord.steady import Opening, openings_of, steady_pressures
from keyaction.sim.chord.supplies import shared_boxes
from keyaction.sim.chord.together import Together, play_together
from keyaction.sim.figures.play import NotPlayed, press_note
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.motion.sounders import sounders
from keyaction.sim.motion.strokes import standard_stroke
from keyaction.sim.statics.press import STIFFNESS, StaticPress
from keyaction.sim.wind.supplies import Supply, boxes_of

HOLDS = (1.0, 2.0, 4.0)
"""s for which a chord is held until it is still, one after the other: some periods of box and trunk."""
AREAS = ("gap", "gap_front", "A_leak", "A_slot")
"""What opens at a pallet, by the names of its figures; the second of a relief pallet alone."""
TRIES, CLOSE = 4, 1e-3
"""How often smaller openings are pressed, and the share within which they are then as small as is asked for."""


@dataclass(frozen=True)
class Member:
    """A note of a chord: its name, its train (coupled or not), its strokes, and which boxes of the chord its boxes are.

    `boxes` maps the names of the train's boxes to names of the chord's own, `titles` those of its pallets, where it has
    several, to what people call them.
    """

    name: str
    train: Train
    strokes: Strokes
    boxes: Mapping[str, str]
    titles: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Chord:
    """What comes of a chord; from `keyaction.chord`.

    Attributes
    ----------
    notes : tuple of InChord
        A groove each.
    boxes : tuple of BoxFigures
    stops : tuple of str, optional
        Stops drawn for it; None where the case's own are.
    robbing : tuple of Robbing
        The chord with the first stop drawn, the first two, and so on.
    with_trunk : float
        Lowest share of a groove, of its box with no key down, played and held with the smallest trunks that carry it;
        NaN where there are none, or no trunk is told.
    with_pallets : float
        The same with every opening scaled as it may be.
    repeated : Repeated, optional
        The chord repeated, where a rate is asked for.
    told : tuple of str
        What is to be said of its notes before anything else.
    coupled : tuple of str
        The couplers that are drawn.
    played : Together
        All motions, pressures and flows of the stroke, and its audit.

    Examples
    --------
    >>> import keyaction as ka
    >>> found = ka.chord(ka.read_case("demo-wood"), "C3 C4")
    >>> box = found.played.boxes["box"]
    >>> round(float(box.pressure.min())), round(1e3 * float(box.flow.max()), 1)  # Pa, L/s
    (588, 8.5)
    >>> abs(found.played.audit.residual) < 1e-4 * found.played.audit.throughput
    True
    """

    notes: tuple[InChord, ...]
    boxes: tuple[BoxFigures, ...]
    stops: tuple[str, ...] | None
    robbing: tuple[Robbing, ...]
    with_trunk: float
    with_pallets: float
    repeated: Repeated | None
    played: Together
    told: tuple[str, ...] = ()
    coupled: tuple[str, ...] = ()

    def __repr__(self) -> str:
        return f"<Chord: {' '.join(self.played.notes)}, {self.played.status}>"

    @property
    def carries(self) -> bool:
        """Whether every groove reaches 90 % of its box with no key down."""
        return all(one.carries for one in self.notes)

    @property
    def carries_now(self) -> bool:
        """Whether every groove reaches 90 % of its box as it then is."""
        return all(one.carries_now for one in self.notes)


def play_chord(members: Sequence[Member], stops: Sequence[str] | None = None, rate: float = 0.0) -> Chord:
    """Play trains together that share boxes.

    Parameters
    ----------
    members : sequence of Member
        With the stops drawn that they are to have.
    stops : sequence of str, optional
        What was drawn for the chord, in order; by default as the case says.
    rate : float
        Hz at which the chord is repeated as well; 0 for none.

    Raises
    ------
    ChordProblem
        Where notes do not share one box.
    NotPlayed
        Where a note, or the chord, cannot be played.
    """
    return _Playing(members).chord(stops, rate)


class _Playing:
    """A chord on its way."""

    def __init__(self, members: Sequence[Member]) -> None:
        self.members = members
        self.titles = {(one.name, pallet): title for one in members for pallet, title in one.titles.items()}
        names = {(one.name, box): shared for one in members for box, shared in one.boxes.items()}
        self.supplies: dict[str, Supply] = shared_boxes({one.name: one.train for one in members}, names)
        self.models = {one.name: NoteModel(one.train) for one in members}
        drives = even([standard_stroke(self.models[one.name], one.strokes) for one in members])
        self.players = [
            Player(one.name, self.models[one.name], drive, one.boxes)
            for one, drive in zip(members, drives, strict=True)
        ]
        self.grooves: dict[str, tuple[Groove, ...]] = {name: grooves_of(model) for name, model in self.models.items()}
        self.boxes = {f"{note} {box}": shared for (note, box), shared in names.items()}
        self.pressed = self._presses(self.models)

    def chord(self, stops: Sequence[str] | None, rate: float) -> Chord:
        openings = self._openings(self.models, self.pressed)
        played = sound(play_together(self.players, self.supplies), "the chord")
        still = self._held(self.players, self.supplies, "the chord held")
        boxes = [box_figures(name, played, still, openings) for name in played.boxes]
        plucks = {name: found.pluck_force for name, found in self.pressed.items()}
        return Chord(
            tuple(self._notes(openings, played, plucks)),
            tuple(boxes),
            None if stops is None else tuple(stops),
            tuple(robbing(openings, {one.name: one.train for one in self.members}, self.supplies, stops)),
            self._with_trunks(boxes),
            self._with_pallets(openings, scales_of(openings, played.boxes)),
            repeated(self.players, self.supplies, self.members[0].strokes, rate) if rate else None,
            played,
        )

    def _notes(self, openings: Sequence[Opening], played: Together, plucks: Mapping[str, float]) -> list[InChord]:
        left, scales = steady_pressures(openings, self.supplies), scales_of(openings, played.boxes)
        under = {one.name: self._plucked(one, openings, plucks[one.name]) for one in self.members}
        alone = {one.name: one.model.play(one.drive) for one in self.players}
        found = []
        for one, scale in zip(openings, scales, strict=True):
            groove = next(g for g in self.grooves[one.note] if g.name == one.groove)
            full, now = self.supplies[one.box].pressure, left[one.box]
            several = len(self.grooves[one.note]) > 1
            found.append(
                InChord(
                    self.titles.get((one.note, one.pallet), f"{one.note} {one.pallet}") if several else one.note,
                    one.note,
                    one.groove,
                    one.box,
                    plucks[one.note],
                    under[one.note],
                    times_of(alone[one.note], groove, full),
                    times_of(played.notes[one.note], groove, full),
                    one.share * now / full if full > 0.0 else math.nan,
                    one.share if full > 0.0 else math.nan,
                    one.area,
                    one.toes,
                    scale,
                )
            )
        return found

    def _plucked(self, one: Member, openings: Sequence[Opening], alone: float) -> float:
        """Pluck force of a note while all others are held, N."""
        others = [opening for opening in openings if opening.note != one.name]
        left = steady_pressures(others, self.supplies)
        if all(left[name] == self.supplies[name].pressure for name in one.boxes.values()):
            return alone
        return press_note(at_pressures(self.models[one.name], one.boxes, left), one.strokes).press.pluck_force

    def _with_trunks(self, boxes: Sequence[BoxFigures]) -> float:
        """The chord confirmed with the smallest trunks that carry it."""
        if any(one.holds or not one.trunk > 0.0 or math.isinf(self.supplies[one.name].area) for one in boxes):
            return math.nan
        fed = {one.name: replace(self.supplies[one.name], area=one.trunk) for one in boxes}
        return lowest_held(self._held(self.players, fed, "smallest trunk"), self.grooves, self.boxes)

    def _with_pallets(self, openings: Sequence[Opening], scales: Sequence[float]) -> float:
        """The chord confirmed with all openings so small; each is tried anew, as its pallet then hangs otherwise."""
        if not all(math.isfinite(scale) and scale > 0.0 for scale in scales):
            return math.nan
        players, factors = self.players, list(scales)
        for _ in range(TRIES):
            trains = {one.name: one.train for one in self.members}
            for one, factor in zip(openings, factors, strict=True):
                trains[one.note] = self._scaled(trains[one.note], one, factor)
            models = {name: NoteModel(train) for name, train in trains.items()}
            players = [replace(one, model=models[one.name]) for one in self.players]
            made = self._openings(models, self._presses(models))
            if not all(one.area > 0.0 for one in made):
                return math.nan
            off = [scale * one.area / now.area for one, scale, now in zip(openings, scales, made, strict=True)]
            factors = [factor * by for factor, by in zip(factors, off, strict=True)]
            if max(abs(by - 1.0) for by in off) < CLOSE:
                break
        return lowest_held(self._held(players, self.supplies, "smallest pallets"), self.grooves, self.boxes)

    def _openings(self, models: Mapping[str, NoteModel], presses: Mapping[str, StaticPress]) -> list[Opening]:
        """What all pallets open at the end of the slow press."""
        return [
            opening
            for one in self.members
            for opening in openings_of(one.name, models[one.name], one.boxes, presses[one.name].down.states[-1])
        ]

    def _presses(self, models: Mapping[str, NoteModel]) -> dict[str, StaticPress]:
        return {one.name: press_note(models[one.name], one.strokes).press for one in self.members}

    def _scaled(self, train: Train, one: Opening, scale: float) -> Train:
        """The train with all that opens into a groove as many times as large."""
        kernel = self.models[one.note].kernel()
        for pallet in (p.pallet for p in sounders(train, kernel) if p.groove == one.groove):
            for what in AREAS:
                name = Name(pallet, what)
                if name in train.parameters:
                    train = train.with_parameter(name, scale * train.parameters[name].value, "scaled")
        return train

    def _held(self, players: Sequence[Player], supplies: Mapping[str, Supply], what: str) -> Together:
        """The chord taken down as the slow press does and held until all is still."""
        for hold in HOLDS:
            found = []
            for one, member in zip(players, self.members, strict=True):
                down = self.pressed[one.name].down
                depth = float(down.finger[-1]) - down.rest
                found.append(replace(one, drive=held(member.strokes.down, depth, hold, STIFFNESS)))
            drives = even([one.drive for one in found])
            found = [replace(one, drive=drive) for one, drive in zip(found, drives, strict=True)]
            played = sound(play_together(found, supplies), what)
            if is_still(played):
                break
        return played


def sound(played: Together, what: str) -> Together:
    """What was played, if it could be.

    Raises
    ------
    NotPlayed
    """
    if not played.status.ok:
        raise NotPlayed(f"{what}: {played.status.message}; {played.status.remedy}")
    return played


def boxes_named(train: Train, name: str) -> dict[str, str]:
    """All boxes of a train as one of the chord; of a single train there is one."""
    return {part.name: name for part in boxes_of(train)}
