"""Who may stand on whom: a room imports only rooms below it, and no file another file's private names."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]

LAYERS = (
    "models.many models.units models.notes models.historic cases.text sim.processes sim.fitting",
    "models.materials models.algebra models.readings sim.files sim.tables sim.propagation",
    "models.formulas models.fields",
    "models.instrument models.climate",
    "models.parts models.frame cases.fields",
    "models.train models.spreads cases.layout cases.seasons cases.historic",
    "sim.code cases.action",
    "sim.motion cases.instrument cases.measured",
    "sim.statics cases.study",
    "sim.figures sim.wind cases.tuning",
    "sim.lanes sim.weighing sim.springs sim.analysis sim.chord plots.style",
    "plots.note plots.chord sim.published sim.run sim.tune plots.study sim.tightening",
    "sim.compare sim.coupling plots.compass sim.sweep sim.layout sim.sizes sim.floating sim.measuring plots.drawings",
    "plots.save plots.compare sim.spread sim.assist sim.seasons sim.diagnosis sim.calibration sim.bench",
    "sim.tolerances sim.search",
    "plots.seasons plots.tolerances sim.regulating",
    "plots.report",
    "plots.onsite",
    "plots.bench",
    "sim.commands",
    "sim.cli",
)
"""Lowest first; a room sees what stands on the lines above its own, and itself."""
HEIGHT = {room: height for height, line in enumerate(LAYERS) for room in line.split()}
FILES = sorted(path for top in ("models", "cases", "sim", "plots") for path in (ROOT / top).rglob("*.py"))


def dotted(path: Path) -> str:
    """A file's name as it is imported, without the first word."""
    return ".".join(path.relative_to(ROOT).with_suffix("").parts)


def room(name: str) -> str | None:
    """The room of a module or package (``models.units.quantity`` > ``models.units``)."""
    words = name.split(".")
    found = ".".join(words[:2])
    return found if found in HEIGHT else None


def imports(path: Path) -> list[tuple[str, str]]:
    """(module, name) of everything that a file imports from the program, wherever in it."""
    found = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("keyaction."):
            found += [(node.module.removeprefix("keyaction."), alias.name) for alias in node.names]
        elif isinstance(node, ast.Import):
            found += [(a.name.removeprefix("keyaction."), "") for a in node.names if a.name.startswith("keyaction.")]
    return found


def test_every_file_stands_in_a_room():
    outside = {dotted(path) for path in FILES if room(dotted(path)) is None and path.name != "__init__.py"}
    assert {name for name in outside if not name.startswith("sim._facade.")} == set()
    assert {name for name in HEIGHT if not (ROOT / name.replace(".", "/")).exists()} == {
        name for name in HEIGHT if (ROOT / f"{name.replace('.', '/')}.py").exists()
    }


@pytest.mark.parametrize("path", FILES, ids=dotted)
def test_a_room_stands_on_lower_rooms_only(path):
    here = room(dotted(path))
    for module, name in imports(path):
        there = room(f"{module}.{name}" if room(module) is None else module)
        if here is None or there is None or there == here:
            continue
        assert HEIGHT[there] < HEIGHT[here], f"{dotted(path)} ({here}) imports {module} ({there})"


@pytest.mark.parametrize("path", [path for path in FILES if dotted(path).startswith("sim.")], ids=dotted)
def test_what_computes_does_not_draw(path):
    if room(dotted(path)) not in ("sim.commands", "sim.cli"):
        assert [module for module, _ in imports(path) if module.startswith("plots")] == []


@pytest.mark.parametrize("path", FILES, ids=dotted)
def test_no_file_uses_anothers_private_names(path):
    private = [f"{module}.{name}" for module, name in imports(path) if name.startswith("_") and name != "__version__"]
    tree = ast.parse(path.read_text(encoding="utf-8"))
    modules = {
        alias.asname or alias.name
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("keyaction")
        for alias in node.names
        if (ROOT / (node.module or "").removeprefix("keyaction.").replace(".", "/") / f"{alias.name}.py").exists()
    }
    private += [
        f"{node.value.id}.{node.attr}"
        for node in ast.walk(tree)
        if isinstance(node, ast.Attribute)
        and isinstance(node.value, ast.Name)
        and node.value.id in modules
        and node.attr.startswith("_")
    ]
    assert private == []
