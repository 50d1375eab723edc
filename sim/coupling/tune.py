"""The couplers of an instrument set note by note, one after the other in the order of regulation."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from keyaction.cases.instrument.coupled import joined_note
from keyaction.cases.instrument.coupler import Coupler
from keyaction.cases.instrument.drawn import drawn_couplers
from keyaction.cases.instrument.followed import nothing_told
from keyaction.cases.instrument.instrument import Instrument
from keyaction.models.train.train import TrainProblem
from keyaction.sim.coupling.opening import Look, Opening, opening
from keyaction.sim.coupling.order import regulation_order, stated_play, with_plays
from keyaction.sim.coupling.regulate import SetCoupler, Task, regulate
from keyaction.sim.coupling.split import Wishes
from keyaction.sim.coupling.trees import couplers_of, driven_note, own_notes, part_of
from keyaction.sim.motion.note import with_couplers_set
from keyaction.sim.processes.count import workers
from keyaction.sim.processes.tasks import TWICE, in_processes
from keyaction.sim.run.coupling import Coupling
from keyaction.sim.run.wanted import Choice, wanted

Progress = Callable[[SetCoupler], None]


@dataclass(frozen=True)
class Regulated:
    """Couplers that were set.

    Attributes
    ----------
    instrument : Instrument
        As it was read.
    wishes : Wishes
        What was to be kept.
    order : tuple of str
        The couplers in the order in which they are set.
    found : tuple of SetCoupler
        In that order, the notes of each rising.
    openings : tuple of Opening
        What every driven pallet lifts in the end, all these couplers drawn.
    nothing : tuple of str
        A sentence for each coupler that reaches no key from some notes, or of which no note was asked for.

    Examples
    --------
    >>> import keyaction as ka
    >>> instrument = ka.read_instrument("demo-instrument")
    >>> regulated = ka.tune_couplers(instrument, "II/I", "C4", jobs=1)
    >>> regulated.plays
    {'II/I': {60: 0.00051}}
    >>> train = ka.coupled_train(regulated.regulated, "behind", "C4", "II/I")
    >>> train.value("coupler-ii-i", "play")
    0.00051
    """

    instrument: Instrument
    wishes: Wishes
    order: tuple[str, ...]
    found: tuple[SetCoupler, ...]
    openings: tuple[Opening, ...]
    nothing: tuple[str, ...]

    @property
    def plays(self) -> dict[str, dict[int, float]]:
        """The play (m) of each coupler at the notes that were set, or left as they are."""
        kept: dict[str, dict[int, float]] = {name: {} for name in self.order}
        for one in self.found:
            play = one.chosen.play if one.chosen else stated_play(self.instrument.couplers[one.name], one.note)
            kept[one.name][one.note] = play
        return kept

    @property
    def regulated(self) -> Instrument:
        """The instrument with these plays."""
        return with_plays(self.instrument, self.plays)

    @property
    def by_division(self) -> dict[str, list[SetCoupler]]:
        """What was found, by the division that is played."""
        names = dict.fromkeys(one.division for one in self.found)
        return {name: [one for one in self.found if one.division == name] for name in names}


def together(rounds: Sequence[Regulated]) -> Regulated:
    """Couplers of one instrument that were regulated in several rounds, as one."""
    return replace(
        rounds[0],
        order=tuple(name for one in rounds for name in one.order),
        found=tuple(each for one in rounds for each in one.found),
        openings=tuple(each for one in rounds for each in one.openings),
        nothing=tuple(line for one in rounds for line in one.nothing),
    )


def tune_couplers(
    instrument: Instrument,
    drawn: str | Sequence[str] = "all-on",
    notes: Choice = None,
    wishes: Wishes | None = None,
    stagger: float = float("nan"),
    jobs: int = 0,
    progress: Progress | None = None,
) -> Regulated:
    """Set the play of couplers, note by note: the smallest that keeps the peaks apart while the pallets open.

    Parameters
    ----------
    instrument : Instrument
    drawn : str or sequence of str
        The couplers, as `drawn_couplers` takes them.
    notes : str, mapping or None
        Of the divisions that are played, as of `run`; all by default.
    wishes : Wishes, optional
        Least lift, least play, and how near to the lowest peak is near enough.
    stagger : float
        Key travel (m) by which plucks are to be apart in a setting that is laid beside; none by default.
    jobs : int
        Processes; 0 means one per core.
    progress : callable, optional
        Told of every coupler and note that is done.

    Returns
    -------
    Regulated
        With `plays`, and the `regulated` instrument. A note that is left as it is says why in its `reason`.

    Raises
    ------
    keyaction.CouplerProblem
        When couplers are named that there are not, or they go round in a loop.
    keyaction.NoteProblem
        When notes or divisions are named that there are not.
    keyaction.TrainProblem
        With every missing field, naming part and field.
    TypeError
        When it is no instrument.

    Examples
    --------
    >>> import keyaction as ka
    >>> set_ = ka.tune_couplers(ka.read_instrument("demo-instrument"), "II/I", "C4", jobs=1)
    >>> (one,) = set_.found
    >>> one.name, one.split.why, one.chosen.peak < one.free.peak
    ('II/I', 'peak', True)
    """
    if not isinstance(instrument, Instrument):
        raise TypeError(f"{type(instrument).__name__} has no couplers; an Instrument is needed, as of read_instrument")
    names = drawn_couplers(instrument, drawn)
    coupling = Coupling(instrument, names)
    chosen = {one.division: sorted(one.notes) for one in wanted(instrument, notes, coupling)}
    order = regulation_order(instrument, names)
    found, done, now = list[SetCoupler](), list[str](), instrument
    nothing, kept = list[str](), wishes or Wishes()
    for name in order:
        done.append(name)
        coupler = instrument.couplers[name]
        asked = chosen.get(coupler.played, [])
        reach = [note for note in asked if _reaches(now, coupler, note)]
        if lacking := [note for note in asked if note not in reach]:
            nothing.append(nothing_told(instrument, coupler, lacking))
        if not asked:
            nothing.append(f"{name} is left as it is: no note of {coupler.played} was asked for")
        tasks = _tasks(now, coupler, reach, [one for one in names if one in done], kept, stagger)
        made = sorted(_done(tasks, jobs, progress), key=lambda one: one.note)
        found += made
        now = with_plays(now, {name: {one.note: one.chosen.play for one in made if one.chosen}})
    openings = _openings(instrument, now, names, chosen, found, jobs)
    return Regulated(instrument, kept, order, tuple(found), openings, tuple(nothing))


def _reaches(instrument: Instrument, coupler: Coupler, note: int) -> bool:
    return note + coupler.shift in instrument.divisions[coupler.driven].compass


def _tasks(
    instrument: Instrument, coupler: Coupler, notes: Sequence[int], drawn: Sequence[str], wishes: Wishes, stagger: float
) -> list[Task]:
    """What is to be set of a coupler; defects of all trains are gathered."""
    tasks, defects = list[Task](), list[str]()
    strokes = instrument.divisions[coupler.played].strokes
    for note in notes:
        coupled = joined_note(instrument, coupler.played, note, drawn)
        try:
            train = with_couplers_set(coupled.train())  # once, and not with every play
        except TrainProblem as problem:
            defects += problem.defects
            continue
        part = part_of(drawn, coupled, coupler)
        driven = driven_note(instrument, [one for one in drawn if one != coupler.name], coupled, coupler)
        tasks.append(Task(coupler.name, coupler.played, note, train, part, strokes, driven, wishes, stagger))
    if defects:
        raise TrainProblem(list(dict.fromkeys(defects)))
    return tasks


def _done(tasks: Sequence[Task], jobs: int, progress: Progress | None) -> Iterator[SetCoupler]:
    for one in in_processes(regulate, tasks, min(workers(jobs), max(len(tasks), 1)), _given_up):
        if progress:
            progress(one)
        yield one


def _given_up(task: Task) -> SetCoupler:
    return SetCoupler(task.name, task.division, task.note, "", "", reason=f"the process that set it {TWICE}")


def _openings(
    instrument: Instrument,
    regulated: Instrument,
    drawn: Sequence[str],
    chosen: Mapping[str, Sequence[int]],
    found: Sequence[SetCoupler],
    jobs: int,
) -> tuple[Opening, ...]:
    """Every played note at which something was looked at, with all couplers drawn."""
    places = {(one.division, one.note) for one in found}
    looks = []
    for division in instrument.divisions:
        for note in (note for note in chosen.get(division, ()) if (division, note) in places):
            coupled = joined_note(regulated, division, note, drawn)
            train = with_couplers_set(coupled.train())
            stated = with_couplers_set(joined_note(instrument, division, note, drawn).train())
            names = couplers_of(drawn, train)
            strokes = instrument.divisions[division].strokes
            looks.append(Look(division, note, stated, train, names, strokes, own_notes(instrument, coupled)))
    made = in_processes(opening, looks, min(workers(jobs), max(len(looks), 1)), _unseen)
    order = {(one.division, one.note): i for i, one in enumerate(looks)}
    return tuple(each for of in sorted(made, key=lambda of: order[of[0].division, of[0].note]) for each in of)


def _unseen(look: Look) -> tuple[Opening, ...]:
    reason = f"the process that looked at it {TWICE}"
    names = [name for one in look.driven for name in one.names.values()]
    return tuple(Opening(look.division, look.note, name, reason=reason) for name in names)
