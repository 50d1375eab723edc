"""A web page printed as PDF by a Chromium that is on the machine."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from pathlib import Path

VARIABLE = "KEYACTION_BROWSER"
"""Environment variable that names the browser."""
NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
TIMEOUT = 180.0
"""s after which the browser is given up."""

_QUIET = (
    "--headless",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--no-default-browser-check",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-extensions",
    "--disable-sync",
)


class NoBrowser(RuntimeError):
    """There is no browser that could print."""


class NotPrinted(RuntimeError):
    """The browser did not make the PDF; the message says what it complained of."""


def find_browser() -> str:
    """The browser's path: what the environment names, or the first Chromium on the search path.

    Raises
    ------
    NoBrowser
        The message says what was looked for and what to do.
    """
    named = os.environ.get(VARIABLE)
    if named:
        found = shutil.which(named)
        if found is None:
            raise NoBrowser(f"{VARIABLE}={named}: no such program; name a Chromium, or unset it")
        return found
    for name in NAMES:
        if found := shutil.which(name):
            return found
    raise NoBrowser(
        f"a PDF needs a Chromium browser, and none of {', '.join(NAMES)} is here; install one, or name it in "
        f"{VARIABLE}, or leave --pdf out and print the HTML file from any browser"
    )


def command(browser: str, profile: Path, *options: str) -> list[str]:
    """A quiet call of the browser with a profile of its own.

    Chromium will not start as root inside its sandbox; only then it goes without. The page is the program's own.
    """
    root = ("--no-sandbox",) if hasattr(os, "geteuid") and os.geteuid() == 0 else ()
    return [browser, *_QUIET, *root, f"--user-data-dir={profile}", *options]


def print_pdf(page: Path, target: Path, browser: str) -> None:
    """Print a page of this machine as PDF.

    Parameters
    ----------
    page : Path
        An HTML file.
    target : Path
        The PDF file; replaced if it is there.
    browser : str
        From `find_browser`.

    Raises
    ------
    NotPrinted
        If the browser fails, hangs, or makes something else; then there is no file.
    """
    with tempfile.TemporaryDirectory(prefix="keyaction-browser-", ignore_cleanup_errors=True) as profile:
        made = Path(profile) / "page.pdf"
        call = command(
            browser,
            Path(profile) / "profile",
            "--no-pdf-header-footer",
            f"--print-to-pdf={made}",
            page.absolute().as_uri(),
        )
        try:
            done = subprocess.run(call, capture_output=True, text=True, errors="replace", timeout=TIMEOUT, check=False)
        except OSError as problem:
            raise NotPrinted(f"{browser}: cannot be started ({problem.strerror})") from None
        except subprocess.TimeoutExpired:
            raise NotPrinted(f"{browser}: did not print within {TIMEOUT:g} s") from None
        content = made.read_bytes() if made.is_file() else b""
        if done.returncode or not content.startswith(b"%PDF-"):
            said = [line for line in done.stderr.splitlines() if line.strip()]
            last = f": {said[-1][:300]}" if said else ""
            raise NotPrinted(f"{browser}: made no PDF (exit status {done.returncode}){last}")
    target.write_bytes(content)
