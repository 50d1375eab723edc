"""A bench in a process of its own, and its page in the browser of this machine."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
from importlib.resources import files
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from playwright.sync_api import Browser, Locator, Page

LIMIT = 120.0
"""s: far beyond what any step takes; a page that never comes to it fails the test instead of hanging it."""
_ADDRESS = re.compile(r"http://127\.0\.0\.1:\d+/\S+/")


class Bench:
    """A bench of a case; closed with it.

    Parameters
    ----------
    case : Path
    folder : Path
        Where it is started, and where cases are saved.
    """

    def __init__(self, case: Path, folder: Path) -> None:
        told = [sys.executable, "-m", "keyaction", "bench", str(case), "--no-browser"]
        self.process = subprocess.Popen(
            told,
            cwd=folder,
            stdout=subprocess.PIPE,
            text=True,
            encoding="utf-8",
            env=os.environ | {"PYTHONUNBUFFERED": "1"},
        )
        assert self.process.stdout is not None
        lines = []
        for line in self.process.stdout:
            lines.append(line)
            if found := _ADDRESS.search(line):
                self.address = found[0]
                return
        raise AssertionError(f"the bench did not start: {''.join(lines)}")

    def kill(self) -> None:
        """End it without a word."""
        self.process.send_signal(signal.SIGKILL)
        self.process.wait(LIMIT)

    def __enter__(self) -> Bench:
        return self

    def __exit__(self, *_: object) -> None:
        if self.process.poll() is None:
            self.process.terminate()
            self.process.wait(LIMIT)
        assert self.process.stdout is not None
        self.process.stdout.close()


class Opened:
    """The page of a bench in a window."""

    def __init__(
        self, browser: Browser, bench: Bench, width: int = 1280, light: str = "light", still: bool = True
    ) -> None:
        self.context = browser.new_context(
            viewport={"width": width, "height": 900},
            color_scheme=light,
            accept_downloads=True,  # type: ignore[arg-type]
        )
        self.page: Page = self.context.new_page()
        self.errors: list[str] = []
        self.asked: set[str] = set()
        self.page.on("pageerror", lambda problem: self.errors.append(str(problem)))
        self.page.on("request", lambda one: self.asked.add(urlsplit(one.url).netloc))
        self.page.goto(bench.address)
        if still:
            self.page.eval_on_selector("#whole-idle", "box => box.click()")  # without taking the focus
        self.settled()

    def __enter__(self) -> Opened:
        return self

    def __exit__(self, kind: object, *_: object) -> None:
        self.context.close()
        if kind is None:
            assert not self.errors, self.errors

    def settled(self) -> None:
        """Wait until figures are those of the state that stands."""
        self.page.wait_for_selector("#figures:not(.waiting) table", timeout=LIMIT * 1000)

    def field(self, part: str, path: str, what: str) -> Locator:
        """A control of a field; what folds it away is opened."""
        row = self.page.locator(f'[data-part="{part}"] [data-path="{path}"]')
        fold = self.page.locator(f'[data-part="{part}"] details.more:not([open])').filter(has=row)
        if fold.count():
            fold.locator("summary").click()
        return row.locator(what)

    def slide(self, part: str, path: str, steps: int) -> str:
        """Move a slider by so many steps with the arrow keys; what its field says then."""
        slider = self.field(part, path, "input[type=range]")
        slider.focus()
        for _ in range(abs(steps)):
            self.page.keyboard.press("ArrowRight" if steps > 0 else "ArrowLeft")
        self.drawn()
        return self.field(part, path, ".exact").input_value()

    def write(self, part: str, path: str, value: str) -> None:
        """Write an exact value."""
        exact = self.field(part, path, ".exact")
        exact.fill(value)
        exact.press("Enter")

    def drawn(self) -> None:
        """Wait until a move has been seen, and what comes of it."""
        self.page.wait_for_selector("#feel:not(.waiting)", timeout=LIMIT * 1000)
        self.settled()

    def figures(self) -> dict[str, list[str]]:
        """Cells of the table of figures, by quantity."""
        rows: list[list[str]] = self.page.eval_on_selector_all(
            "#figures-table tbody tr", "rows => rows.map(row => [...row.children].map(cell => cell.textContent.trim()))"
        )
        return {name: cells for name, *cells in rows}

    def text(self, selector: str) -> str:
        """What stands there."""
        return self.page.locator(selector).inner_text()

    def sideways(self) -> int:
        """Pixels by which the page is wider than its window."""
        return int(self.page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth"))

    def findings(self, rule: str = "") -> list[str]:
        """What axe-core's rules find serious or worse; only one of them if it is named."""
        self.page.evaluate((files("axe_playwright_python") / "axe.min.js").read_text(encoding="utf-8"))
        found: list[dict[str, Any]] = self.page.evaluate(
            "rule => axe.run(rule ? { runOnly: [rule] } : {}).then(told => told.violations)", rule
        )
        return [
            f"{one['id']}: {one['nodes'][0]['html'][:200]} ({len(one['nodes'])})"
            for one in found
            if one["impact"] in ("serious", "critical")
        ]
