"""The reference pages build without a warning and show the public names, and nothing else."""

import re
import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path

import pytest

import keyaction
from keyaction import drives

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    if find_spec("pdoc") is None:
        pytest.skip("pdoc is not installed")
    out = tmp_path_factory.mktemp("pages")
    built = subprocess.run([sys.executable, ROOT / ".ci" / "reference.py", out], capture_output=True, text=True)
    assert (built.returncode, built.stderr) == (0, "")
    return out


def sections(page: Path) -> list[str]:
    return re.findall(r'<section id="(\w+)">', page.read_text(encoding="utf-8"))


def test_the_pages_are_those_of_the_public_modules(pages):
    found = {path.relative_to(pages).as_posix() for path in pages.rglob("*.html")}
    assert found == {"index.html", "keyaction.html", "keyaction/drives.html"}


def test_a_page_shows_the_public_names(pages):
    assert set(sections(pages / "keyaction.html")) == set(keyaction.__all__) - {"drives"}
    assert set(sections(pages / "keyaction" / "drives.html")) == set(drives.__all__)


def test_parameters_are_read_as_such(pages):
    text = (pages / "keyaction.html").read_text(encoding="utf-8")
    assert '<h6 id="parameters' in text and "<strong>path_or_name</strong>" in text
