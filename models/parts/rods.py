"""Rods between the levers: tracker and pull-down (pulled), sticker (pushed)."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, ClassVar

from keyaction.models import algebra
from keyaction.models.fields.fields import Field, choice, length
from keyaction.models.fields.values import Values
from keyaction.models.formulas import sections
from keyaction.models.instrument import splay
from keyaction.models.many import maths
from keyaction.models.parts import guides, side
from keyaction.models.parts.base import Part, Shape, Shown
from keyaction.models.parts.bending import give_at, slender
from keyaction.models.parts.common import SIZED, Sizes, damped, measured_mass, on_edge, section, section_fields
from keyaction.models.parts.geometry import check_rod

if TYPE_CHECKING:
    from keyaction.models.algebra.builder import Builder, Port

_SENSE = {"down": 1.0, "level": 0.0, "up": -1.0}


def _rod_fields(end_stiffness: float, usual: Sizes) -> tuple[Field, ...]:
    return (
        length("length", "length between its ends", usual=usual.length, source=usual.source),
        *section_fields(usual),
        choice(
            "moves",
            "which way it moves when played: down, level or up (its weight helps, is carried by guides, or hinders)",
            "down",
            "level",
            "up",
            default="level",
            source="guides carry a level rod",
        ),
        choice(
            "lies",
            "how a strip lies among its neighbours: flat or on-edge, its thin side along the row",
            "flat",
            "on-edge",
        ),
        Field(
            "splay",
            "angle between the rod and the plane in which its levers turn",
            unit="rad",
            low=0.0,
            high=1.0,
            usual=(0.0, 0.35),
            usual_source="common practice",
            default=0.0,
            source="rods run in the plane of their levers",
        ),
        Field(
            "end_stiffness",
            "stiffness of each end: hook, nut, cloth",
            unit="N/m",
            positive=True,
            high=1e8,
            usual=(5e3, 1e6),
            default=end_stiffness,
            source="common practice",
        ),
        Field(
            "end_mass",
            "mass of the fittings at each end",
            unit="kg",
            low=0.0,
            high=0.1,
            usual=(0.0, 0.005),
            default=0.0005,
            source="common practice",
        ),
        Field(
            "stiffness",
            "measured stiffness with its ends, in place of section and ends",
            unit="N/m",
            positive=True,
            high=1e9,
            usual=(2e3, 1e6),
            source=SIZED,
        ),
        measured_mass("measured mass with its ends, in place of section and fittings", (3e-4, 0.15)),
        Field(
            "lost_motion",
            "play to take up before it carries load; negative: drawn up so tight that it pulls at rest",
            unit="m",
            low=-0.005,
            high=0.02,
            usual=(0.0, 0.0015),
            usual_source="common practice",
            default=0.0,
            source="regulated without play",
        ),
        Field(
            "damping",
            "rise of force per speed of stretch, T = k e (1 + damping x speed)",
            unit="s/m",
            low=0.0,
            high=50.0,
            usual=(0.1, 15.0),
            usual_source="assumed: 0.1 to 15 % of critical at 0.4 N of pull; common practice has no figure",
            default=3.0,
            source="assumed: 3 % of critical at 0.4 N of pull; common practice has no figure",
        ),
        Field(
            "pieces",
            "number of masses along the rod, where its own waves matter",
            kind="count",
            low=0,
            high=20,
            default=0,
            source="rod far lighter than what it moves",
            varies=False,
        ),
        guides.TABLE,
        *side.FIELDS,
    )


class Rod(Part):
    """What tracker, pull-down and sticker share."""

    role = "rod"
    rubs = ("F0", "mu_bend", *side.SLOW)
    pushed: ClassVar[bool] = False

    @classmethod
    def shape(cls, values: Values) -> Shape:
        plain = int(values.number("pieces")), guides.given(values)
        return (*plain, *side.shape(values))

    @classmethod
    def resolve(cls, values: Values) -> None:
        bar = section(values) if values.has("section") else None
        cls._stiffness(values, bar)
        needs = ("length", "material", "section", "end_mass")
        values.either(
            "m",
            "kg",
            "mass of the rod with its fittings",
            "mass",
            needs,
            lambda: cls._own_mass(values, bar) + 2 * values.number("end_mass"),
            "section and fittings",
        )
        values.set(
            "slack",
            values.number("lost_motion"),
            "m",
            "play before it carries load, negative when drawn up too tight",
            values.origin("lost_motion"),
        )
        damping = values.number("damping") * maths.cos(values.number("splay"))
        values.set("alpha", damping, "s/m", "damping of the ends", values.origin("damping"))
        if values.number("splay") > 0:
            share = maths.cos(values.number("splay"))
            values.fact("cos_splay", share, "", "share of its pull that moves its levers", values.origin("splay"))
        values.set(
            "down",
            _SENSE[values.text("moves")],
            "",
            "+1 when its weight helps the finger, -1 when it hinders",
            values.origin("moves"),
        )
        guides.resolve(values)
        cls._facts(values, bar)
        side.resolve(values, bar, cls.pushed)
        check_rod(values)

    @classmethod
    def _own_mass(cls, values: Values, bar: sections.Section | None) -> float:
        return values.of("material", "density") * (bar.area if bar else 1.0) * values.number("length")

    @classmethod
    def _stiffness(cls, values: Values, bar: sections.Section | None) -> None:
        pieces = int(values.number("pieces"))
        needs = ("length", "material", "section", "end_stiffness")
        slant = splay.stiffness_factor(values.number("splay"))

        def own() -> float:
            return _along(values) * (bar.area if bar else 1.0) / values.number("length")

        def together() -> float:
            return 1 / (1 / own() + 2 / values.number("end_stiffness"))

        if pieces == 0:
            values.either(
                "k",
                "N/m",
                "stiffness of the rod with its ends",
                "stiffness",
                needs,
                together,
                "EA/L and two ends in series",
            )
            rod = values.derived["k"]
            if slant < 1.0:
                values.set("k", rod.value * slant, rod.unit, rod.doc, f"{rod.origin}, x cos² splay")
            return
        if not values.has(*needs):
            values.defects.append(f"pieces: a rod in pieces needs {', '.join(n for n in needs if not values.has(n))}")
            return
        k_piece = own() * pieces * slant
        values.set("k_piece", k_piece, "N/m", "stiffness between two masses of the rod", "EA n / L")
        end = 1 / (1 / (values.number("end_stiffness") * slant) + 0.5 / k_piece)
        for name, which in (("k", "first"), ("k_far", "last")):
            values.set(name, end, "N/m", f"{which} end with half a piece", "in series")
        values.set(
            "c_piece",
            damped(cls._own_mass(values, bar) / pieces, k_piece, 0.01),
            "N*s/m",
            "loss inside the rod",
            "assumed: 1 % of critical",
        )

    @classmethod
    def join(cls, values: Values, before: Values, outlet: str, behind: Values) -> None:
        """The bending of what it hooks onto gives in series with it."""
        near, far = give_at(before, outlet), give_at(behind, "in")
        own = values.derived.pop("k")
        values.fact("k_rod", own.value, own.unit, own.doc, own.origin)
        values.derived["k"] = own
        values.fact("give_near", near, "m/N", "bending of what it leads on from, per pull")
        values.fact("give_far", far, "m/N", "bending of what it leads to, per pull")
        if "k_far" not in values.derived:
            _soften(values, "k", near + far)
            return
        _soften(values, "k", near)
        _soften(values, "k_far", far)

    @classmethod
    def _facts(cls, values: Values, bar: sections.Section | None) -> None:
        if bar is None or not values.has("material", "length"):
            return
        length = values.number("length")
        e, rho, bent = _along(values), values.of("material", "density"), slender(values, "material")
        values.fact("EI", bent * bar.weak_axis, "N*m^2", "bending stiffness about its weaker axis")
        if values.text("moves") == "level":
            origin = "default: a strip lies flat, where it sags more" if bar.shape == "rectangle" else "computed"
            origin = values.origin("lies") if values.has("lies") else origin
            second = bar.strong_axis if on_edge(values) else bar.weak_axis
            values.fact("EI_sag", bent * second, "N*m^2", "bending stiffness against its sag", origin)
        values.fact("EA", e * bar.area, "N", "stiffness of the section", "modulus along the rod x section")
        values.fact(
            "wave_time", length / sections.wave_speed(e, rho), "s", "least time for a pull to travel its length"
        )
        if cls.pushed:
            values.fact(
                "euler_load",
                sections.euler_load(bent, bar.weak_axis, length) * maths.cos(values.number("splay")),
                "N",
                "push at which it buckles, ends pivoted",
            )

    @classmethod
    def brief(cls, values: Values, shown: Shown) -> str:  # noqa: ARG003
        return f"{shown('k_rod')}, {shown('m')}"

    @classmethod
    def assemble(cls, builder: Builder, name: str, shape: Shape) -> None:
        scope = builder.scope
        pieces, guided, sideways = int(str(shape[0])), bool(shape[1]), shape[2:]

        def join(upstream: Port, downstream: Port) -> None:
            builder.scope = scope
            ends = _Ends(builder, upstream, downstream)
            if sideways:
                ends.shortens(side.assemble(builder, name, sideways), -1 if cls.pushed else 1)
            pull = ends.in_pieces(name, pieces) if pieces else ends.massless()
            if guided:
                capacity = (
                    builder.param("F0", "N", "break-away force of the guides")
                    + builder.param("mu_bend", "", "friction per pull") * pull
                )
                # Guides stand still: what rubs there goes as fast as the end that no second body and no rail moves.
                builder.dry_friction(
                    "u",
                    upstream if downstream.beside or downstream.shift else downstream,
                    capacity,
                    builder.param("reach", "m", "give of the guides"),
                    f"guides of {name}",
                )

        builder.rod = join


def _along(values: Values) -> float:
    """Modulus along a rod, Pa."""
    return values.of("material", "E") * values.material("material").axial


def _soften(values: Values, name: str, give: float) -> None:
    """Put a give (m/N) in series with a stiffness."""
    rod = values.derived[name]
    whole = 1 / (1 / rod.value + give) if give > 0 else rod.value
    how = "bending in series" if give > 0 else "nothing bends there"
    values.set(name, whole, rod.unit, f"{rod.doc}, on what it hooks onto", how)


class _Ends:
    """Joins a rod's two ends to their bodies."""

    def __init__(self, builder: Builder, upstream: Port, downstream: Port) -> None:
        self.builder, self.upstream, self.downstream = builder, upstream, downstream
        p = builder.param
        self.law = algebra.Pull(p("k", "N/m", "stiffness"), p("alpha", "s/m", "damping of the ends"))
        self.slack = p("slack", "m", "play")
        self.mass, self.down = p("m", "kg", "mass"), p("down", "", "+1 when its weight helps")
        self.g = builder.constant("g", "m/s^2", "acceleration of gravity")
        self.bowed: list[tuple[Port, int]] = []

    def shortens(self, bow: Port, sense: int) -> None:
        """Add what the rod's bow takes of its length: it stretches what pulls, and relieves what pushes."""
        self.bowed.append((bow, sense))

    def massless(self) -> Any:
        """Half of the mass rides on either body; the stretch is the difference of their travels."""
        for port in (self.upstream, self.downstream):
            self.builder.point_mass(port, self.mass / 2)
            self.builder.weight(-self.mass / 2 * self.g * self.down * port.way)
        rod = self.builder.element(
            "",
            "rod",
            [(self.upstream, 1), (self.downstream, -1), *self.bowed],
            self.law,
            f"rod {self.builder.scope}",
            slack=self.slack,
        )
        return rod.force

    def in_pieces(self, name: str, pieces: int) -> Any:
        """A row of masses with the rod's own stiffness between them; only the ends go slack."""
        b, before = self.builder, self.upstream
        stiff = algebra.Bar(
            b.param("k_piece", "N/m", "stiffness of a piece"), b.param("c_piece", "N*s/m", "loss of a piece")
        )
        for i in range(1, pieces + 1):
            body = b.coordinate("m", f"way of mass {i} of {name}", piece=str(i), number=i)
            b.inertia(body, self.mass / pieces)
            b.weight(-self.mass / pieces * self.g * self.down * body.q)
            here = algebra.Port(body.name, body, body.q)
            if i == 1:
                b.element("in", "rod", [(before, 1), (here, -1)], self.law, f"first end of {name}", slack=self.slack)
            else:
                b.element(f"piece{i}", "bar", [(before, 1), (here, -1)], stiff, f"piece {i} of {name}")
            before = here
        last = algebra.Pull(b.param("k_far", "N/m", "stiffness of the last end"), self.law.alpha)
        return b.element("out", "rod", [(before, 1), (self.downstream, -1)], last, f"last end of {name}").force


class Tracker(Rod):
    """A thin rod that pulls."""

    kind = "tracker"
    title = "tracker"
    fields = _rod_fields(
        4e4,
        Sizes(
            length=(0.15, 5.0),
            diameter=(0.0008, 0.006),
            wall=(0.0002, 0.002),
            width=(0.004, 0.02),
            thickness=(0.0006, 0.004),
            source="common practice: strips of about 10 x 1 to 10 x 2 mm, consoles at most some metres away",
        ),
    )


class PullDown(Rod):
    """The wire that enters the pallet box and opens the pallet."""

    kind = "pull-down"
    title = "pull-down wire"
    fields = _rod_fields(
        6e4,
        Sizes(
            length=(0.04, 1.0),
            diameter=(0.0007, 0.003),
            wall=(0.0001, 0.001),
            width=(0.001, 0.01),
            thickness=(0.0003, 0.003),
        ),
    )


class Sticker(Rod):
    """A rod that pushes; its Euler load is checked."""

    kind = "sticker"
    title = "sticker"
    pushed = True
    fields = _rod_fields(
        4e4,
        Sizes(
            length=(0.03, 2.0),
            diameter=(0.0015, 0.015),
            wall=(0.0003, 0.004),
            width=(0.004, 0.015),
            thickness=(0.003, 0.015),
        ),
    )
