"""The bench's page in the browser of this machine: moved, compared, kept, saved, by keyboard alone, and left alone."""

import json
import os
import re
import shutil
from importlib.resources import files
from itertools import product

import pytest
from page_on_bench import LIMIT, Bench, Opened
from patience import wait_for
from playwright.sync_api import sync_playwright
from short_case import QUICK, write_case

from keyaction.cases.action.reader import read_case
from keyaction.models.units.quantity import format_value
from keyaction.plots.report.browser import NAMES, NoBrowser, find_browser
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.run.run import run

WIDTHS = (1280, 390, 2560)
LIGHTS = ("light", "dark")
RULES = {(1280, "light"): "", (390, "dark"): "", (1280, "dark"): "color-contrast", (390, "light"): "color-contrast"}
"""Where axe-core's rules are asked: all of them, or the one that light and dark decide."""
SPRING, FORCE = "pallet-spring", "force"
OWN = f'\n[notes.C4.{SPRING}]\n{FORCE} = "2.8 N"\n'
"""One note with a value of its own."""


def _chromium():
    try:
        return find_browser()
    except NoBrowser:
        return None


CHROMIUM = _chromium()
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason=f"no Chromium is installed (looked for {', '.join(NAMES)})")


@pytest.fixture(scope="module")
def browser():
    """The machine's own Chromium."""
    alone = ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []
    with sync_playwright() as playwright:
        made = playwright.chromium.launch(executable_path=CHROMIUM, args=alone)
        yield made
        made.close()


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """The shipped case, as somebody has it."""
    made = tmp_path_factory.mktemp("bench-page")
    for name in ("demo-wood.toml", "demo-chest.csv"):
        shutil.copy(str(files("keyaction.cases") / name), made / name)
    return made


@pytest.fixture(scope="module")
def bench(folder):
    with Bench(folder / "demo-wood.toml", folder) as made:
        yield made


@pytest.fixture
def own(tmp_path):
    """A case of its own, which a test may change on the disk, and its bench, which it may kill."""
    case = write_case(tmp_path, more=QUICK + OWN)
    with Bench(case, tmp_path) as made:
        yield case, made


def numbers(result):
    """Every figure of the only note of a result by its label, as people read it."""
    values = {one: float(result[one.name][0]) for one in QUANTITIES.values()}
    return {one.label: format_value(value, one.unit or "1") for one, value in values.items() if value == value}


def test_three_sliders_give_what_run_gives_of_the_saved_case(bench, browser, folder):
    with Opened(browser, bench) as opened:
        page = opened.page
        page.select_option("#note", label="C4")
        opened.drawn()
        before = opened.figures()
        moved = {
            (SPRING, FORCE): opened.slide(SPRING, FORCE, 9),
            ("key", "dip"): opened.slide("key", "dip", -12),
            ("box", "pressure"): opened.slide("box", "pressure", 8),
        }
        shown = opened.figures()
        assert "C4: The note speaks" in opened.text("#sentence")
        assert page.locator(".unplayed").count() == 0, "its stroke is played"
        words = page.inner_text("body")
        assert words.count("The note speaks and falls silent.") == 1, "said once where all is well"
        assert "no figure for slaps of a rod or speed of the slap" in words and "there is no slaps" not in words
        lags = page.locator("#path-picture text.lag").all_inner_texts()
        assert lags and not [one for one in lags if one in ("+0.0", "−0.0", "-0.0")], lags
        page.click("#save")
        page.fill("#save-name", "three-moved.toml")
        difference = page.locator("#save-sheet pre").inner_text(timeout=LIMIT * 1000)
        assert all(value in difference for value in moved.values())
        page.locator("#save-sheet button.main").click()
        page.locator("#save-sheet").wait_for(state="hidden", timeout=LIMIT * 1000)
        assert "three-moved.toml" in opened.text("#told")
        assert opened.asked <= {bench.address.split("/")[2], ""}

    saved = read_case(str(folder / "three-moved.toml"))
    assert saved.text.startswith(read_case(str(folder / "demo-wood.toml")).text.splitlines()[0])
    truth = numbers(run(saved, "C4"))
    assert {name: cells[1].replace("−", "-") for name, cells in shown.items()} == truth
    assert {name: cells[0] for name, cells in shown.items()} == {name: cells[0] for name, cells in before.items()}
    played = numbers(run(read_case(str(folder / "demo-wood.toml")), "C4"))
    assert shown["pluck force"][0] == played["pluck force"] != truth["pluck force"]


def test_states_are_kept_compared_written_and_opened_again(bench, browser, tmp_path):
    with Opened(browser, bench) as opened:
        page = opened.page
        opened.write(SPRING, FORCE, "2.6 N")
        opened.drawn()
        heavy = opened.figures()["pluck force"][1]
        page.click("#keep")
        page.fill("#kept-name-1", "a strong spring")
        page.press("#kept-name-1", "Tab")
        opened.write(SPRING, FORCE, "1.5 N")
        opened.drawn()
        page.get_by_role("columnheader", name="a strong spring").wait_for()
        assert wait_for(lambda: heavy in opened.figures()["pluck force"][-1], LIMIT)
        cells = opened.figures()["pluck force"]
        assert "▲" in cells[-1] and "▲" in cells[2], "both are beyond what a finger can tell"
        assert [page.locator(f"#feel-picture .{one}.pen-1").count() for one in ("line", "marker")] == [1, 1]
        assert page.locator("#feel-picture .line.pen-was").count() == 2
        with page.expect_download() as download:
            page.get_by_role("button", name="Write to a file: a strong spring").click()
        state = tmp_path / "state.json"
        download.value.save_as(state)
        for _ in range(2):
            opened.write(SPRING, FORCE, "1.7 N")
            opened.drawn()
            page.keyboard.press("Control+z")
        page.wait_for_selector("#feel:not(.waiting)")
        assert opened.field(SPRING, FORCE, ".exact").input_value() == "1.5 N"

    assert [one["value"] for one in json.loads(state.read_text())["edits"]] == ["2.6 N"]
    with Opened(browser, bench) as opened:
        opened.page.set_input_files("#open-file", state)
        opened.page.get_by_text("Opened a strong spring").wait_for()
        opened.drawn()
        assert opened.figures()["pluck force"][1] == heavy
        (tmp_path / "other.json").write_text('{"format": 9, "edits": []}')
        opened.page.set_input_files("#open-file", tmp_path / "other.json")
        opened.page.get_by_text("other.json is no state of the bench: its format is 9").wait_for()
        assert opened.field(SPRING, FORCE, ".exact").input_value() == "265 gf", "in the units of the page"
        page, told = opened.page, "Dip of the key: out of range"
        bad = [{"part": "kex", "path": "dip", "value": "9 mm", "note": None}]
        bad.append({"part": "key", "path": "dip", "value": "90 mm", "note": None})
        (tmp_path / "bad.json").write_text(json.dumps({"format": 1, "name": "bad", "edits": bad}))
        page.set_input_files("#open-file", tmp_path / "bad.json")
        page.get_by_text("The case refuses bad: No part 'kex'.").wait_for()
        assert told in opened.text("#told") and told in opened.text("#sentence"), "every defect is named"
        page.click("#undo")
        page.eval_on_selector("#open-file", "one => { one.dataset.as = 'kept' }")
        page.set_input_files("#open-file", state)
        page.get_by_text("Kept a strong spring").wait_for()
        page.get_by_role("button", name="Put away: a strong spring").click()
        assert page.locator("#kept-name-1").count() == 0
        page.click("#undo")
        assert page.locator("#kept-name-1").input_value() == "a strong spring"
        assert opened.text("#moved-h").startswith("Moved: 1 field"), "fields are as they were"
        (tmp_path / "keep.json").write_text(json.dumps({"format": 1, "edits": [{**bad[1], "keep": "60"}]}))
        page.set_input_files("#open-file", tmp_path / "keep.json")
        page.get_by_text("keep.json is no state of the bench").wait_for()


@pytest.mark.long
def test_what_the_case_refuses_stands_beside_its_field_and_nothing_is_drawn(bench, browser):
    with Opened(browser, bench) as opened:
        page = opened.page
        drawn = page.locator("#feel-picture svg").get_attribute("aria-label")
        opened.write("key", "dip", "40 mm")
        page.wait_for_selector('[data-path="dip"].refused')
        assert "allowed" in opened.field("key", "dip", ".told").inner_text()
        assert "Dip of the key" in opened.text("#sentence")
        assert page.locator("#feel.waiting").count() == 1, "the old picture is grey"
        assert page.locator("#feel-picture svg").get_attribute("aria-label") == drawn
        page.get_by_role("button", name="Take back Dip").click()
        opened.drawn()
        assert page.locator(".refused").count() == 0 and "speaks" in opened.text("#sentence")

        page.locator('[data-part="drop"] [data-path="section"] select').select_option("round")
        lacking = page.locator('[data-part="drop"] .mend input')
        lacking.wait_for()
        lacking.fill("3 mm")
        assert page.locator("#feel").get_attribute("aria-busy") == "false", "nothing more comes"
        assert "needs diameter" in opened.text("#feel-sentence")
        assert "all notes" in page.locator('[data-part="drop"] .mend label').inner_text(), "as its section"
        lacking.press("Enter")
        page.wait_for_selector('[data-part="drop"] [data-path="diameter"]', state="attached")
        opened.drawn()
        assert page.evaluate("document.activeElement.closest('.field').dataset.path") == "diameter"
        assert "Moved: 2 fields" in opened.text("#moved-h")

        opened.write(SPRING, FORCE, "0.05 N")
        page.wait_for_selector("#verdict.beware")
        page.wait_for_selector("#feel:not(.waiting) .no-picture")
        assert "hangs" in opened.text("#sentence")


@pytest.mark.long
def test_a_drag_draws_on_while_every_answer_comes_late(bench, browser):
    slow = """async () => {
      const asked = window.fetch;
      window.fetch = async (...all) => {
        const answer = await asked(...all);
        if (all[0] === "feel") await new Promise((done) => setTimeout(done, 150));
        return answer;
      };
      let drawn = 0;
      new MutationObserver(() => drawn++).observe(document.querySelector("#feel-picture"), { childList: true });
      const slider = document.querySelector('[data-path="force"] input[type=range]');
      for (let i = 0; i < 20; i++) {
        slider.value = Number(slider.value) + Number(slider.step);
        slider.dispatchEvent(new Event("input", { bubbles: true }));
        await new Promise((done) => setTimeout(done, 80));
      }
      return drawn;
    }"""
    with Opened(browser, bench) as opened:
        assert opened.page.evaluate(slow) >= 3
        opened.drawn()


@pytest.mark.long
def test_all_notes_take_control_points_and_the_whole_compass_is_drawn(own, browser):
    _, bench = own
    with Opened(browser, bench, still=False) as opened:
        page = opened.page
        notes = page.locator("#note option").all_inner_texts()
        page.wait_for_selector("#whole:not(.waiting) svg", timeout=LIMIT * 1000)
        spring = page.locator('[data-path="force"] input[type=range]')
        spring.focus()
        page.keyboard.press("ArrowLeft")
        opened.drawn()
        page.get_by_role("button", name=re.compile("Apply .* to all notes")).click()
        points = page.locator("#points-sheet .point input")
        points.last.wait_for()
        values = [points.nth(i).input_value() for i in range(points.count())]
        assert len(values) >= 3 and page.locator("#points-sheet svg").count() == 1
        assert "1 note with a value of its own" in opened.text(".owners") and "C4 286 gf" in opened.text(".owners")
        points.last.fill("nonsense")
        page.locator("#points-sheet button.main").click()
        page.get_by_text("“nonsense” is no value").wait_for()
        points.last.fill(f"{float(values[-1].split()[0]) * 1.3:.1f} {values[-1].split()[1]}")
        page.locator("#points-sheet button.main").click()
        page.locator("#points-sheet").wait_for(state="hidden")
        opened.drawn()
        assert "all notes but C4" in page.locator("#moved-list").text_content()
        page.wait_for_selector("#whole:not(.waiting) svg", timeout=LIMIT * 1000)
        page.locator("#whole-table summary").click()
        rows = page.locator("#whole-table tbody tr")
        assert rows.count() == len(notes)
        assert page.locator("#whole-table tbody").inner_text().count("▲") >= 1
        assert "which a finger can tell" in opened.text("#whole-words")


@pytest.mark.long
def test_nothing_runs_off_sideways_and_no_rule_of_axe_is_broken(bench, browser):
    with Opened(browser, bench) as opened:
        page = opened.page
        opened.write(SPRING, FORCE, "2.6 N")
        page.click("#keep")
        opened.drawn()
        page.locator("#moved summary").click()
        for one in page.locator("details.behind > summary").all():
            one.click()
        pictures = page.locator(".picture svg").evaluate_all("all => all.map(one => one.getAttribute('aria-label'))")
        assert len(pictures) >= 4 and all(pictures)
        assert page.locator("details.behind[open] table").count() >= 4, "a table stands behind every picture"
        for width, light in product(WIDTHS, LIGHTS):
            page.set_viewport_size({"width": width, "height": 900})
            page.emulate_media(color_scheme=light)
            page.wait_for_timeout(300)  # the pictures are drawn for their new width
            ground = page.evaluate("getComputedStyle(document.documentElement).backgroundColor")
            assert (ground == "rgb(255, 255, 255)") == (light == "light")
            assert (width, light, opened.sideways()) == (width, light, 0)
            if (width, light) in RULES:
                assert (width, light, opened.findings(RULES[width, light])) == (width, light, [])
        for light in ("", "dark"):
            page.emulate_media(color_scheme="dark", media="print")
            page.eval_on_selector("html", "(page, light) => light && (page.dataset.light = light)", light)
            ground = page.evaluate("getComputedStyle(document.documentElement).backgroundColor")
            assert ground == "rgb(255, 255, 255)", "paper is white"
        page.emulate_media(media="screen")
        page.click("#save")
        page.wait_for_selector("#save-sheet pre")
        assert opened.findings() == [] and opened.sideways() == 0


def test_no_click_is_lost_and_a_drag_is_one_step(bench, browser):
    with Opened(browser, bench) as opened:
        page, mouse = opened.page, opened.page.mouse
        stop = page.locator('[data-path$=".drawn"] input').last
        assert "all notes" in page.locator('[data-path$=".drawn"] .scope').last.inner_text()
        assert "only" in opened.field(SPRING, FORCE, ".scope").inner_text()
        drawn = stop.is_checked()
        opened.field(SPRING, FORCE, ".exact").fill("2.2 N")
        stop.scroll_into_view_if_needed()
        at = stop.bounding_box()
        mouse.move(at["x"] + 8, at["y"] + 8)
        mouse.down()
        page.wait_for_timeout(80)
        mouse.up()
        opened.drawn()
        assert stop.is_checked() != drawn
        assert opened.text("#moved-h").startswith("Moved: 2 fields (1 of ")

        slider = opened.field(SPRING, FORCE, "input[type=range]")
        slider.scroll_into_view_if_needed()
        at = slider.bounding_box()
        mouse.move(at["x"] + at["width"] / 2, at["y"] + at["height"] / 2)
        mouse.down()
        for share in (0.3, 0.7, 0.4):
            mouse.move(at["x"] + at["width"] * share, at["y"] + at["height"] / 2, steps=5)
            page.wait_for_timeout(1000)  # longer than a gesture lasts that is none
        mouse.up()
        page.click("#undo")
        assert opened.field(SPRING, FORCE, ".exact").input_value() == "2.2 N"


@pytest.mark.long
def test_by_keyboard_alone(bench, browser):
    with Opened(browser, bench) as opened:
        page, press = opened.page, opened.page.keyboard.press
        focused = lambda: page.evaluate("document.activeElement.id || document.activeElement.className")  # noqa: E731

        def tab_to(wanted, most=60):
            for _ in range(most):
                press("Tab")
                if page.evaluate(f"document.activeElement.matches({wanted!r})"):
                    return
            raise AssertionError(f"Tab does not come to {wanted}, but to {focused()}")

        press("Tab")
        assert focused() == "skip"
        tab_to("#keys")
        note = page.locator("#keys").get_attribute("aria-valuetext")
        press("ArrowRight")
        press("PageDown")
        opened.drawn()
        assert page.locator("#keys").get_attribute("aria-valuetext") != note
        tab_to("#search")
        page.keyboard.type("spring when closed")
        assert "1 field found" in opened.text("#found")
        tab_to('[data-path="force"] input[type=range]')
        assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") == "solid", "the focus is seen"
        assert "Usual" in opened.text("#parts-help-text")
        for _ in range(3):
            press("ArrowRight")
        opened.drawn()
        tab_to('[data-path="force"] .exact')
        moved = opened.field(SPRING, FORCE, ".exact").input_value()
        press("ArrowUp")
        page.keyboard.type("2.4 N")
        press("Enter")
        opened.drawn()
        assert opened.field(SPRING, FORCE, ".exact").input_value() == "2.4 N" != moved
        press("Control+z")
        press("Control+Shift+z")
        assert "2.4 N" in opened.text("#told")
        for _ in range(60):
            press("Shift+Tab")
            if focused() == "save":
                break
        press("Enter")
        page.wait_for_selector("#save-sheet pre")
        assert focused() == "save-name"
        press("Escape")
        assert focused() == "save", "the focus comes back to where it was"


@pytest.mark.long
def test_a_bench_that_is_killed_is_told_and_nothing_is_lost(own, browser, tmp_path):
    case, bench = own
    with Opened(browser, bench) as opened:
        page = opened.page
        part = page.locator(".part").filter(has=page.locator('[data-path="force"]')).get_attribute("data-part")
        opened.write(part, "force", "2.2 N")
        opened.drawn()
        page.click("#keep")

        case.write_text(f"{case.read_text(encoding='utf-8')}\n# changed by somebody\n", encoding="utf-8")
        opened.write(part, "force", "2.3 N")
        page.get_by_text("is another than the one that was read").wait_for()
        page.get_by_role("button", name="Read again").click()
        page.get_by_text("The file was read again;").wait_for()
        assert page.locator("#bars").is_hidden()
        opened.drawn()
        assert "another page" not in opened.text("#told")
        assert opened.field(part, "force", ".exact").input_value() == "2.3 N"

        bench.kill()
        opened.write(part, "force", "2.4 N")
        page.get_by_text("The bench does not answer").wait_for()
        assert opened.field(part, "force", ".exact").input_value() == "2.4 N"
        with page.expect_download() as download:
            page.get_by_role("button", name="This state to a file").click()
        download.value.save_as(tmp_path / "rescued.json")
        assert [one["value"] for one in json.loads((tmp_path / "rescued.json").read_text())["edits"]] == ["2.4 N"]
        page.click("#undo")
        assert opened.field(part, "force", ".exact").input_value() == "2.3 N"
        assert page.locator("#kept-name-1").count() == 1


@pytest.mark.long
def test_the_page_closes_the_bench(own, browser):
    _, bench = own
    with Opened(browser, bench) as opened:
        opened.page.click("#close")
        opened.page.get_by_role("button", name="Close it").click()
        opened.page.get_by_text("The bench is closed.").wait_for()
        assert wait_for(lambda: bench.process.poll() is not None, LIMIT)
        assert bench.process.returncode == 0
