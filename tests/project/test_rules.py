"""Rules that every committed file keeps."""

import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
ITSELF = Path(__file__).resolve()


def committed() -> list[Path]:
    """Files under version control, or what would be: those that are not ignored."""
    try:
        listed = subprocess.run(
            ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"],
            cwd=ROOT,
            capture_output=True,
            check=True,
        ).stdout
    except (OSError, subprocess.CalledProcessError):
        pytest.skip("no version control here")
    return [ROOT / name for name in listed.decode().split("\0") if name and (ROOT / name).is_file()]


def texts() -> dict[str, str]:
    found = {}
    for path in committed():
        content = path.read_bytes()
        if b"\0" not in content and path != ITSELF:
            found[path.relative_to(ROOT).as_posix()] = content.decode("utf-8")
    return found


TEXTS = texts() if (ROOT / ".git").exists() else {}
FORBIDDEN = {
    "a path of somebody's machine": r"(?<![\w.])/(?:work|root|tmp/ka|home/\w+|Users/\w+)(?:/|\b)",
    "a package index by address": r"pypi\.org/simple|--index-url|--extra-index-url|proxy\.golang\.org",
    "a folder of notes that is not part of it": r"shared/(?:physics|design|sources|trade|practices|packaging)\.md",
    "something left to do": r"\b(?:TODO|FIXME|XXX)\b",
    "a leftover of a merge": r"^(?:<{7}|>{7}|={7})(?: |$)",
}


@pytest.fixture(autouse=True)
def under_version_control():
    if not TEXTS:
        pytest.skip("no version control here")


def test_there_is_something_to_look_at():
    assert {"README.md", "LICENSE", "pyproject.toml", "sim/cli.py", "models/materials/materials.toml"} <= set(TEXTS)


@pytest.mark.parametrize("what", FORBIDDEN)
def test_no_file_holds(what):
    pattern = re.compile(FORBIDDEN[what], re.MULTILINE)
    found = [f"{name}: {match[0]}" for name, text in TEXTS.items() for match in pattern.finditer(text)]
    assert found == []


def test_the_patterns_would_find_it():
    for what, sample in {
        "a path of somebody's machine": "see /work/main/x and /root/.cache",
        "a package index by address": "pip install --index-url https://some.host/simple",
        "a folder of notes that is not part of it": "as in shared/physics.md",
        "something left to do": "# TODO: later",
        "a leftover of a merge": "<<<<<<< HEAD",
    }.items():
        assert re.search(FORBIDDEN[what], sample, re.MULTILINE), what
    assert not re.search(FORBIDDEN["a path of somebody's machine"], "work/main and sim/rooted and a/work/b")


def test_no_bare_import_of_a_room():
    bare = re.compile(r"^\s*(?:from|import) (?:sim|models|cases|plots)\b", re.MULTILINE)
    assert [name for name, text in TEXTS.items() if name.endswith(".py") and bare.search(text)] == []


def test_python_files_are_of_a_readable_length():
    long = {
        name: lines
        for name, text in TEXTS.items()
        if name.endswith(".py") and not name.startswith("tests/") and (lines := text.count("\n")) > 500
    }
    assert long == {}


def test_no_large_file_and_nothing_generated():
    large = {path.name: path.stat().st_size for path in committed() if path.stat().st_size > 2_000_000}
    assert large == {}
    generated = [path.name for path in committed() if path.suffix in (".h5", ".npz", ".pyc", ".nbi", ".nbc", ".part")]
    assert generated == []


def test_text_files_end_with_a_line_and_have_no_stray_blanks():
    wrong = [name for name, text in TEXTS.items() if text and not text.endswith("\n")]
    code = {name: text for name, text in TEXTS.items() if name.endswith((".py", ".toml"))}
    wrong += [name for name, text in code.items() if re.search(r"[ \t]+$", text, re.MULTILINE)]
    assert wrong == []
