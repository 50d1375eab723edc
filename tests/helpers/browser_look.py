"""Looks at a page with the browser of this machine: does its text overlap, does anything run off the page?"""

from __future__ import annotations

import html
import json
import re
import subprocess
import zlib
from collections.abc import Iterator
from pathlib import Path

from patience import HANG

from keyaction.plots.report.browser import NoBrowser, command, find_browser

A4 = round((210 - 2 * 13) / 25.4 * 96)
"""CSS pixels between the margins of the printed page."""

_LOOK = """
<script>
addEventListener("load", () => {
  const told = { sideways: document.documentElement.scrollWidth - document.documentElement.clientWidth,
                 wide: [], pushed: [], inner: innerWidth,
                 overlaps: [], pictures: 0, drawn: 0, tallest: 0, background: "", summary: 0, texts: 0 };
  const right = document.querySelector("main").getBoundingClientRect().right + 0.5;
  for (const one of document.querySelectorAll("table, img, p, h1, h2, h3, dl, li")) {
    const frame = one.closest(".scroll");
    const scrolls = frame && getComputedStyle(frame).overflowX === "auto";
    if (!scrolls && one.getBoundingClientRect().right > right)
      told.wide.push(one.tagName + " " + (one.id || one.textContent.slice(0, 40)));
  }
  for (const one of document.querySelectorAll(".scroll"))
    if (one.scrollWidth > one.clientWidth) told.pushed.push(one.querySelector("table")?.className ?? "picture");
  told.pictures = [...document.images].filter(one => one.naturalWidth > 100).length;
  told.drawn = Math.min(...[...document.images].map(one => one.getBoundingClientRect().width));
  told.tallest = Math.max(...[...document.querySelectorAll("table.notes tbody tr")].map(one => one.offsetHeight));
  told.background = getComputedStyle(document.documentElement).backgroundColor;
  told.summary = document.querySelector("#summary, #answer").scrollHeight;
  const boxes = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    if (!walk.currentNode.textContent.trim() || walk.currentNode.parentElement.closest("script, style")) continue;
    const range = document.createRange();
    range.selectNodeContents(walk.currentNode);
    const words = walk.currentNode.textContent.trim().slice(0, 30);
    for (const box of range.getClientRects())
      if (box.width > 1 && box.height > 1) boxes.push([box, words]);
  }
  told.texts = boxes.length;
  boxes.sort((a, b) => a[0].top - b[0].top);
  for (let i = 0; i < boxes.length; i++) {
    const a = boxes[i][0];
    for (let j = i + 1; j < boxes.length && boxes[j][0].top < a.bottom - 2; j++) {
      const b = boxes[j][0];
      const beside = Math.min(a.right, b.right) - Math.max(a.left, b.left);
      const deep = Math.min(a.bottom, b.bottom) - b.top;
      if (beside > 1 && deep > 0.4 * Math.min(a.height, b.height))
        told.overlaps.push(boxes[i][1] + " | " + boxes[j][1]);
    }
  }
  if (parent !== window) parent.postMessage(JSON.stringify(told), "*");
  document.documentElement.innerHTML = "<body><pre id=told></pre></body>";
  document.getElementById("told").textContent = JSON.stringify(told);
});
</script>
"""

_WAIT = "--virtual-time-budget=20000"
_NARROWEST = 500
"""CSS pixels below which the browser makes no window; a frame in a page may be narrower."""
_FRAME = """<!DOCTYPE html><pre id="told"></pre>
<script>addEventListener("message", (one) => {{ document.getElementById("told").textContent = one.data; }});</script>
<iframe src="{name}" style="border: 0; width: {width}px; height: 1200px"></iframe>
"""


def browser() -> str | None:
    """The browser, if there is one."""
    try:
        return find_browser()
    except NoBrowser:
        return None


def look(page: str, folder: Path, width: int, dark: bool = False, printed: bool = False) -> dict:
    """What the browser makes of a page in a window of `width` CSS pixels; `printed` applies the rules for paper."""
    text = page.replace("@media print", "@media all") if printed else page
    copy = folder / f"look-{width}-{dark}-{printed}.html"
    copy.write_text(text.replace("</body>", _LOOK + "</body>"), encoding="utf-8")
    if width < _NARROWEST:
        framed = folder / f"framed-{width}.html"
        framed.write_text(_FRAME.format(name=copy.name, width=width), encoding="utf-8")
        copy = framed
    scheme = [f"--blink-settings=preferredColorScheme={0 if dark else 1}"]
    found = browser()
    assert found
    call = command(
        found, folder / "profile", f"--window-size={width},1200", *scheme, _WAIT, "--dump-dom", copy.as_uri()
    )
    done = subprocess.run(call, capture_output=True, text=True, timeout=HANG, check=True)
    told = re.search(r'<pre id="told">(.*?)</pre>', done.stdout, re.DOTALL)
    assert told, done.stderr[-500:]
    return json.loads(html.unescape(told[1]))


_TOP, _BOTTOM, _HIGH = (mm / 25.4 * 72 for mm in (14, 16, 297))
"""Points of a printed page: its margins and its height."""


def filled(pdf: bytes) -> list[float]:
    """How far down each page of a PDF of Chromium's is filled, as a share of what lies between its margins."""
    parts = {int(one[1]): one[2] for one in re.finditer(rb"(?<!\d)(\d+) 0 obj\b(.*?)endobj", pdf, re.DOTALL)}
    found = []
    for part in parts.values():
        if re.search(rb"/Type\s*/Page\b", part):
            number = re.search(rb"/Contents\s+(\d+)", part)
            stream = number and re.search(rb"stream\r?\n(.*)endstream", parts[int(number[1])], re.DOTALL)
            assert stream, "a page without its content"
            inside = [y for y in _heights(zlib.decompressobj().decompress(stream[1])) if y > _BOTTOM]
            found.append((_HIGH - _TOP - min(inside, default=_HIGH - _TOP)) / (_HIGH - _TOP - _BOTTOM))
    return found


def _heights(content: bytes) -> Iterator[float]:
    """Heights over a page's lower edge (points) at which its texts stand and its pictures end."""
    at, kept = (1.0, 0.0), list[tuple[float, float]]()
    for line in content.decode("latin-1").splitlines():
        *numbers, operator = line.split() or [""]
        if operator == "q":
            kept.append(at)
        elif operator == "Q":
            at = kept.pop()
        elif operator == "cm":
            at = (at[0] * float(numbers[3]), at[0] * float(numbers[5]) + at[1])
        elif operator == "Tm":
            yield at[0] * float(numbers[5]) + at[1]
        elif operator == "Do":
            yield min(at[1], at[0] + at[1])


def pages(pdf: bytes) -> int:
    """Pages of a PDF as Chromium writes it, its page objects uncompressed."""
    return len(re.findall(rb"/Type\s*/Page\b", pdf))
