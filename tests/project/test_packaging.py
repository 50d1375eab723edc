"""What is installed is what is in the folders: packages, data, one version."""

import ast
import re
import shutil
import subprocess
import sys
import tomllib
import zipfile
from importlib.metadata import version
from importlib.resources import files
from importlib.util import find_spec
from pathlib import Path

import pytest

import keyaction

ROOT = Path(__file__).resolve().parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
SETUPTOOLS = PROJECT["tool"]["setuptools"]
ROOMS = ("sim", "models", "cases", "plots")


def folders() -> dict[str, str]:
    """Import name to folder of everything that holds Python."""
    found = {}
    for room in ROOMS:
        for init in sorted((ROOT / room).rglob("__init__.py")):
            folder = init.parent.relative_to(ROOT)
            name = "keyaction" if folder.name == "_facade" else f"keyaction.{'.'.join(folder.parts)}"
            found[name] = folder.as_posix()
    return found


def test_the_packages_are_the_folders():
    assert set(SETUPTOOLS["packages"]) == set(folders())
    assert SETUPTOOLS["package-dir"] == folders()


def test_no_python_file_lies_outside_a_package():
    lost = [
        path.relative_to(ROOT).as_posix()
        for room in ROOMS
        for path in (ROOT / room).rglob("*.py")
        if not (path.parent / "__init__.py").exists()
    ]
    assert lost == []


def data() -> list[tuple[str, str]]:
    """Package and path within it of every file that is no Python."""
    found = []
    for name, folder in folders().items():
        for path in sorted((ROOT / folder).rglob("*")):
            if path.is_file() and path.suffix in (".toml", ".csv", ".typed"):
                nearest = next(parent for parent in path.parents if (parent / "__init__.py").exists())
                if nearest == ROOT / folder:
                    found.append((name, path.relative_to(ROOT / folder).as_posix()))
    return found


def test_the_data_are_found_by_the_program():
    listed = data()
    assert {("keyaction.cases", "templates/start.toml"), ("keyaction.models.materials", "materials.toml")} < set(listed)
    assert {("keyaction.cases", "demo-wood.toml"), ("keyaction.cases", "demo-carbon.toml")} < set(listed)
    assert {("keyaction.cases", "demo-chest.csv"), ("keyaction", "py.typed")} < set(listed)
    for name, path in listed:
        assert files(name).joinpath(path).is_file(), f"{name}: {path}"


def test_the_data_are_named_for_the_build():
    patterns = SETUPTOOLS["package-data"]["*"]
    for name, path in data():
        folder = ROOT / folders()[name]
        assert any(folder / path in folder.glob(pattern) for pattern in patterns), f"{name}: {path}"


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    """The names in a wheel built from a copy of the sources."""
    if find_spec("setuptools") is None or find_spec("pip") is None:
        pytest.skip("no setuptools or pip to build with")
    if int(version("setuptools").split(".")[0]) < 77:
        pytest.skip("setuptools older than the build needs")
    copy = tmp_path_factory.mktemp("source") / "keyaction"
    kept = [*ROOMS, "pyproject.toml", "README.md", "LICENSE"]
    copy.mkdir()
    for name in kept:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, copy / name, ignore=shutil.ignore_patterns("__pycache__", ".*"))
        else:
            shutil.copy(source, copy / name)
    out = tmp_path_factory.mktemp("wheel")
    pip = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--no-build-isolation"]
    done = subprocess.run([*pip, "-w", str(out), "."], cwd=copy, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    (made,) = out.glob("*.whl")
    with zipfile.ZipFile(made) as archive:
        return (
            made.name,
            set(archive.namelist()),
            archive.read(next(name for name in archive.namelist() if name.endswith("METADATA"))).decode(),
        )


def test_a_wheel_holds_every_module_and_every_data_file(wheel):
    _, names, _ = wheel
    for name, folder in folders().items():
        place = name.replace(".", "/")
        for path in (ROOT / folder).glob("*.py"):
            assert f"{place}/{path.name}" in names
    for name, path in data():
        assert f"{name.replace('.', '/')}/{path}" in names
    assert not [name for name in names if name.startswith(("sim/", "models/", "cases/", "plots/", "tests/"))]
    assert any(name.endswith("licenses/LICENSE") for name in names)


def test_a_wheel_has_the_version_and_the_command(wheel):
    name, names, metadata = wheel
    assert name.startswith(f"keyaction-{keyaction.__version__}-py3-none-any")
    assert f"\nVersion: {keyaction.__version__}\n" in metadata
    assert any(one.endswith("entry_points.txt") for one in names)


def test_the_version_stands_in_one_place():
    assert version("keyaction") == keyaction.__version__
    assert PROJECT["project"]["dynamic"] == ["version"]
    assert "version" not in PROJECT["project"]
    places = [
        path.relative_to(ROOT).as_posix()
        for room in ROOMS
        for path in (ROOT / room).rglob("*.py")
        if re.search(rf"[\"']{re.escape(keyaction.__version__)}[\"']", path.read_text(encoding="utf-8"))
    ]
    assert places == ["sim/_facade/_version.py"]


def test_the_command_is_the_program():
    module, _, function = PROJECT["project"]["scripts"]["keyaction"].partition(":")
    assert callable(getattr(__import__(module, fromlist=[function]), function))


def imports(tree: ast.AST) -> set[str]:
    found = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "imports are by absolute name"
            found.add(str(node.module).split(".")[0])
    return found


def names(requirements: list[str]) -> set[str]:
    return {re.split(r"[<>=\[]", one)[0] for one in requirements}


COMES_ALONG = {"mpl_toolkits"}
"""Part of a library that is declared."""


def test_what_the_program_imports_is_declared():
    declared = names(PROJECT["project"]["dependencies"]) | {"keyaction"} | COMES_ALONG | sys.stdlib_module_names
    optional = set().union(*map(names, PROJECT["project"]["optional-dependencies"].values()))
    for room in ROOMS:
        for path in (ROOT / room).rglob("*.py"):
            tree = ast.parse(path.read_text(encoding="utf-8"))
            top = [node for node in tree.body if isinstance(node, ast.Import | ast.ImportFrom)]
            # At the start of a module only what a plain installation brings; in functions what an extra brings too.
            at_start = set().union(*map(imports, top))
            assert at_start <= declared, path
            assert imports(tree) <= declared | optional, path
