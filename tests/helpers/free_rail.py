"""One note and its rail as a single train: the rail is a body of the equations, by a part class of the tests' own."""

from dataclasses import replace

from keyaction.models import algebra
from keyaction.models.algebra.builder import Port
from keyaction.models.algebra.laws import Pull, dry_friction, slip_rate
from keyaction.models.algebra.names import Name
from keyaction.models.fields.values import Derived
from keyaction.models.parts.levers import Square
from keyaction.models.parts.rail_levers import SHARE_IN, SHARE_OUT
from keyaction.sim.floating.places import LAG, REACH

FIGURES = {
    "M": ("kg", "mass"),
    "L": ("N", "load"),
    "C": ("N/m", "rate"),
    "F": ("N", "friction"),
    "D": ("N*s/m", "damping"),
    "S": ("N/m", "stop"),
    "reach": ("m", "give"),
    "lag": ("s", "lag"),
    "a": ("m", "ahead"),
    "b": ("m", "behind"),
    "zero": ("s/m", "nothing"),
}


class FreeSquare(Square):
    """A square that brings its rail along."""

    kind = "free-square"

    @classmethod
    def mounted(cls, builder, port):
        def p(what):
            return builder.param(f"rail_{what}", *FIGURES[what])

        known = [one for one in builder.coordinates if one.piece == "rail"]
        if known:
            body = known[0]
        else:
            body = builder.coordinate("m", "place of the rail", piece="rail")
            builder.inertia(body, p("M"))
            builder.load(body, p("L") - p("C") * body.q, "rail")
            builder.load(body, -p("D") * body.v, "guides")
            here = Port("rail", body, body.q)
            slip = builder.state("u_rail", "", "slip of the rail's guides", "slip")
            builder.rate(slip, slip_rate(slip, body.v, p("reach")))
            builder.load(body, -dry_friction(p("F"), slip, body.v, p("reach"), p("lag")), "guides")
            stop = Pull(p("S"), p("zero"))
            builder.element("ahead", "stop", [(here, 1)], stop, "stop ahead", offset=-p("a"))
            builder.element("behind", "stop", [(here, -1)], stop, "stop behind", offset=-p("b"))
        name = {"in": SHARE_IN, "out": SHARE_OUT}[port.name.rpartition(".")[2]]
        share = builder.param(name, "", "share of the rail's way")
        return replace(port, beside=algebra.Port("rail", body, share * body.q))


def as_one(train, holds, rail):
    """The note's train with its rail in it.

    A train's own equations let the rail feel the weight of rods; on a rail of `strike` that is in its load.
    """
    lever = holds[0].lever
    weight = sum(one.share * train.value(one.rod, "m") / 2 * 9.80665 * train.value(one.rod, "down") for one in holds)
    figures = {
        "M": rail.mass, "L": rail.load - weight, "C": rail.rate, "F": rail.friction, "D": rail.damping,
        "S": rail.stop_stiffness, "reach": REACH, "lag": LAG, "a": rail.ahead, "b": rail.behind, "zero": 0.0,
    }  # fmt: skip
    more = {f"rail_{what}": value for what, value in figures.items()}
    more |= {SHARE_IN: 0.0, SHARE_OUT: 0.0}
    more |= {{"in": SHARE_IN, "out": SHARE_OUT}[one.end]: one.share for one in holds}
    parts = tuple(replace(part, part=FreeSquare) if part.name == lever else part for part in train.parts)
    structure = tuple(replace(one, part=FreeSquare) if one.name == lever else one for one in train.structure)
    made = {Name(lever, what): Derived(what, value, "", what, "test") for what, value in more.items()}
    return replace(train, parts=parts, structure=structure, parameters={**train.parameters, **made})
