"""In which order the bodies of a note stand down the page: one strand, or a tree of them where trains branch."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from keyaction.plots.style.reading import MovingBody
from keyaction.plots.style.trains import joined_trains
from keyaction.sim.files.labelled import Result


@dataclass(frozen=True)
class Strand:
    """Bodies that move each other one after the other.

    Attributes
    ----------
    bodies : sequence of MovingBody
    start : MovingBody, optional
        The body of another strand that moves its first; None of the first strand.
    link : str
        The part that carries the motion over from there, where that is no body.
    """

    bodies: Sequence[MovingBody]
    start: MovingBody | None = None
    link: str = ""


def strands(result: Result, bodies: Sequence[MovingBody]) -> list[Strand]:
    """The strands of a note's chosen bodies, the played train's first.

    A coupler with a body of its own begins the strand of what it moves. Where two move the same, that is drawn behind
    the first, and the other ends by itself.
    """
    if "link_from" not in result:
        return [Strand(bodies)]
    before = _before(result, bodies)
    train = {part: i for i, one in enumerate(joined_trains(result)) for part in one.parts}

    def leads(one: MovingBody) -> int:
        """The train that a body, or what a coupler moves, is of."""
        moved = (train.get(other.part, 0) for other in bodies if before[other.row][0] == one.row)
        return min(moved, default=train.get(one.part, 0))

    found: list[Strand] = []
    waiting: list[tuple[MovingBody, MovingBody | None, str]] = [(bodies[0], None, "")]
    seen = {bodies[0].row}
    while waiting:
        body, start, link = waiting.pop(0)
        chain = [body]
        while following := [one for one in bodies if one.row not in seen and before[one.row][0] == body.row]:
            following.sort(key=lambda one: (train.get(one.part, 0) != train.get(body.part, 0), leads(one)))
            seen |= {one.row for one in following}
            first, *others = following
            own = train.get(first.part, 0) == train.get(body.part, 0) or (len(chain) == 1 and start is not None)
            branches = others if own else following
            waiting += [(one, body, before[one.row][1]) for one in branches]
            if not own:
                break
            chain.append(first)
            body = first
        found.append(Strand(chain, start, link))
    return found


def _before(result: Result, bodies: Sequence[MovingBody]) -> Mapping[int, tuple[int, str]]:
    """Of every chosen body, by its row, the chosen one that moves it, and the part between them."""
    row = {str(name): i for i, name in enumerate(result["body"])}
    ends = zip(result["link_from"], result["link_to"], result["link_part"], strict=True)
    joins = [(row.get(str(start), -1), row.get(str(end), -1), str(part)) for start, end, part in ends]
    links: dict[int, tuple[int, str]] = {}
    reached, count = {bodies[0].row}, 0
    while count < len(reached):
        count = len(reached)
        for start, end, part in joins:
            if start in reached and end >= 0 and end not in reached:
                links[end] = (start, part)
                reached.add(end)
    chosen, found = {one.row for one in bodies}, {}
    for one in bodies:
        at, part = links.get(one.row, (-1, ""))
        while at >= 0 and at not in chosen:
            at = links.get(at, (-1, ""))[0]
        found[one.row] = (at, part)
    return found
