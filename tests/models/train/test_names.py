"""What a part is called changes nothing: no two quantities ever share a symbol, whatever the names (property)."""

import numpy as np
import pytest
from demo_train import DEMO, LIBRARY, given, train_of
from hypothesis import example, settings
from hypothesis import given as over
from hypothesis import strategies as st

from keyaction.models.algebra.names import Name
from keyaction.models.algebra.register import Symbols
from keyaction.models.train.equations import derive
from keyaction.models.train.train import build_train
from keyaction.sim.code.chain import chain_text
from keyaction.sim.code.lanes import LaneModule
from keyaction.sim.code.printer import needed
from keyaction.sim.code.scalar import generate

SMALL = ("key", "pull-down", "pallet", "spring", "groove", "box")
PARTS = [(kind, name, fields) for kind, name, fields in DEMO if kind in SMALL]
WITH_A_ROLLER = [(kind, name, fields) for kind, name, fields in DEMO if name not in ("t1", "sq1", "t2", "sq2")]
# Names that look like what the equations, the generated code and the drive are spelled with.
NASTY = (
    "in", "out", "pin", "key", "finger", "rider", "slip", "floor", "box", "air", "atm", "smooth", "groove", "roller-in",
    "roller-out", "in-roller", "piece-riser", "seat-pallet", "bottom-key", "rest-key", "twist", "1", "2", "c0", "w1",
    "h", "t", "s", "work", "energy", "open", "open-pallet", "touch", "lift", "a", "-", "--", "key-2", "run-1",
    "friction",
)  # fmt: skip
LEGAL = st.one_of(st.sampled_from(NASTY), st.text("abcdefghijklmnopqrstuvwxyz0123456789-", min_size=1, max_size=12))


def named(parts, names, pieces):
    """The train with its parts renamed, and its rods in so many pieces."""
    made = []
    for (kind, _, fields), name in zip(parts, names, strict=True):
        own = {**fields, "pieces": pieces} if kind in ("tracker", "pull-down") and pieces else fields
        made.append((kind, name, given(kind, own)))
    return build_train(made, LIBRARY)


def spellings(system):
    """Everything in the equations that has a symbol, and the symbol."""
    rows = [(row.of, row.symbol) for row in system.states]
    rows += [(one.name, one.symbol) for one in (*system.params, *system.inputs, *system.definitions)]
    return rows


@over(st.data(), st.sampled_from([0, 1, 3]))
@settings(max_examples=25)
def test_no_two_quantities_share_a_symbol_or_a_title(data, pieces):
    names = data.draw(st.lists(LEGAL, min_size=len(PARTS), max_size=len(PARTS), unique=True))
    system = derive(named(PARTS, names, pieces).structure)
    rows = spellings(system)
    assert len({symbol for _, symbol in rows}) == len(rows)
    assert len({symbol.name for _, symbol in rows}) == len(rows)
    assert len({name for name, _ in rows}) == len(rows)
    titles = [o.name for o in system.observables]
    assert len(set(titles)) == len(titles)
    assert len({c.name for c in system.coordinates}) == len(system.coordinates)
    # Each definition is one expression: none has been written over, and none rests on itself.
    assert len({d.symbol for d in system.definitions}) == len(system.definitions)
    assert len(needed(system.definitions, system.rates)) <= len(system.definitions)


@pytest.mark.parametrize("names", [("roller-in", "piece-riser"), ("in-roller", "c0"), ("key-bottom", "seat-pallet")])
def test_names_do_not_change_the_physics(names):
    """Rates and lanes of the renamed train are those of the plain one, to the rounding of a sum in another order."""
    plain = train_of(WITH_A_ROLLER)
    called = [name for _, name, _ in WITH_A_ROLLER]
    called[called.index("t3")], called[called.index("sq2") if "sq2" in called else called.index("pd")] = names
    other = named(WITH_A_ROLLER, called, 0)
    ours, theirs = (_rates(train) for train in (plain, other))
    np.testing.assert_allclose(theirs, ours, rtol=1e-9, atol=1e-12 * np.max(np.abs(ours)))


def _rates(train):
    """Rates at a state that moves and touches everything, from the generated text alone."""
    system = train.system()
    space: dict[str, object] = {}
    exec(compile(generate(system), "generated", "exec"), space)
    n = len(system.states)
    y = np.random.default_rng(7).uniform(1e-4, 2e-3, n)
    out = [0.0] * n
    p = train.vector([one.name for one in system.params])
    space["rates"](0.01, y.tolist(), p, [0.0, *np.linspace(1e-3, 2e-3, 12).tolist(), 3e3, 2.0, 0.1], out)
    return np.array(out)


@pytest.mark.long
@over(st.lists(LEGAL, min_size=len(PARTS), max_size=len(PARTS), unique=True))
@example(["finger", "x", "v", "f", "alpha", "box"])
@example(["t", "s", "y", "p", "d", "out"])
@settings(max_examples=8)
def test_the_generated_code_is_sound_under_any_names(names):
    system = named(PARTS, names, 1).system()
    lanes = LaneModule(system)
    for text in (generate(system), chain_text(system), lanes.text()):
        compile(text, "generated", "exec")
    assert len(set(lanes.names)) == len(lanes.names)
    assert not set(lanes.names) & {one.symbol.name for one in (*system.params, *system.definitions)}


def test_a_name_can_be_registered_once_only():
    symbols = Symbols()
    symbols.new(Name("roller", "q", "in"))
    with pytest.raises(ValueError, match=r"'q' of in of roller is defined twice"):
        symbols.new(Name("roller", "q", "in"))


def test_like_spellings_are_told_apart():
    symbols = Symbols()
    alike = (Name("roller", "q", "in"), Name("roller-in", "q"), Name("in", "q_roller"))
    assert [symbols.new(name).name for name in alike] == ["q_roller_in", "q_roller_in_2", "q_roller_in_3"]
    assert symbols.new(Name("", "t")).name != "t"  # a word of the generated code
