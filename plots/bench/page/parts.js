// The train from finger to wind, part by part, each with the fields that can be moved.

import { isFirst, kindWords, labelOf } from "./called.js";
import { fill, h, newId, say } from "./dom.js";
import { patch } from "./drawing.js";
import { fieldRow } from "./fields.js";
import { mendRow, missing } from "./lacking.js";
import { partLooks } from "./looks.js";
import { state } from "./state.js";
import { beside, capital, counted, plain } from "./words.js";

/** Parts with a colour of their own in the pictures; springs and wind have none. */
const MOVES = new Set(["key", "rod", "lever", "pallet", "coupler"]);

const NO_MOTION = { color: "var(--wash)", hatch: "" };

const keyOf = (part, path) => `${part} ${path}`;

/** The panel in `where`; `points(field)` opens control points, `help(title, text)` tells what a field is. */
export function partsPanel(where, { points, help, search, found }) {
  let parts = [];
  let rows = new Map();
  let shape = "";
  const folds = new Map();

  function build() {
    rows = new Map();
    const looks = partLooks(parts);
    fill(where, parts.map((part) => section(part, looks[part.part])));
  }

  function section(part, look) {
    const made = part.fields.map((field) => {
      const row = fieldRow(part, field, { points, help });
      rows.set(keyOf(part.part, field.path), row);
      return row;
    });
    const first = made.filter((row) => isFirst(part, row.path));
    const more = made.filter((row) => !isFirst(part, row.path));
    const chosen = first.length ? first : more.slice(0, 3);
    const rest = made.filter((row) => !chosen.includes(row));
    const title = newId("part");
    const fold = h(
      "details",
      { class: "more", open: folds.get(part.part) },
      h("summary", {}, h("span", { class: "more-words" }, `${counted(rest.length, "more field")} of the ${plain(part.part)}`)),
      rest.map((row) => row.at),
    );
    fold.addEventListener("toggle", () => {
      if (!search.value) folds.set(part.part, fold.open);
    });
    return h(
      "section",
      { class: "part", "aria-labelledby": title, "data-part": part.part },
      h("h3", { id: title }, h("span", { class: "stop" }, patch(MOVES.has(part.role) ? look : NO_MOTION, 16)), capital(plain(part.part)), kindWords(part)),
      h("div", { class: "told-of-part" }),
      chosen.map((row) => row.at),
      h("div", { class: "needed" }),
      rest.length ? fold : null,
    );
  }

  /** Show only fields with all the words that were typed. */
  function sift() {
    const words = search.value.trim().toLowerCase().split(/\s+/).filter(Boolean);
    let count = 0;
    for (const one of where.querySelectorAll(".part")) {
      let any = false;
      for (const at of one.querySelectorAll(".field")) {
        const hit = words.every((word) => at.dataset.words.includes(word));
        at.hidden = !hit;
        any ||= hit;
        if (hit) count++;
      }
      one.hidden = !any;
      const fold = one.querySelector("details.more");
      if (!fold) continue;
      const inside = [...fold.querySelectorAll(".field")].some((at) => !at.hidden);
      fold.hidden = words.length > 0 && !inside;
      fold.open = words.length ? inside : folds.get(one.dataset.part) || false;
    }
    say(found, words.length ? `${counted(count, "field")} found` : "");
  }
  search.addEventListener("input", sift);

  return {
    /** Fields as they stand and as they were read; sentences of the case beside those that they are about. */
    show({ now, was, warnings = [], defects = [], fresh = false }) {
      const text = JSON.stringify(now.map((part) => [part.part, part.fields.map((field) => [field.path, field.kind])]));
      parts = now;
      const held = heldField();
      if (text !== shape) {
        shape = text;
        build();
        sift();
      }
      for (const part of now) {
        const before = was?.find((one) => one.part === part.part);
        for (const field of part.fields) {
          const old = before?.fields.find((one) => one.path === field.path);
          const mine = (one) => one.part === part.part && one.path === field.path;
          rows.get(keyOf(part.part, field.path)).show(field, old, warnings.filter((one) => mine(one) && !one.elsewhere), defects.filter(mine), fresh);
        }
        tellPart(part, warnings, defects);
      }
      if (held) hold(held);
      return unplaced([...defects, ...warnings]);
    },
    /** Bring a field into sight and give it the focus. */
    reach(part, path) {
      const row = rows.get(keyOf(part, path));
      if (!row) return false;
      search.value = "";
      sift();
      const fold = row.at.closest("details");
      if (fold) fold.open = true;
      row.focus();
      row.at.scrollIntoView({ block: "center" });
      return true;
    },
    parts: () => parts,
  };

  /** The field that has the focus, and which of its controls. */
  function heldField() {
    const at = document.activeElement?.closest?.("#parts .field");
    if (!at) return null;
    const kind = ["input[type=range]", ".exact", "select", "input", "button"].find((one) => document.activeElement.matches(one));
    return { key: keyOf(at.closest(".part").dataset.part, at.dataset.path || at.dataset.mend), kind, part: at.closest(".part").dataset.part, path: at.dataset.path || at.dataset.mend };
  }

  /** Give the focus back to a field that was made anew; nobody who works by keyboard is thrown to the top. */
  function hold({ key, kind, part, path }) {
    if (document.activeElement && document.activeElement !== document.body) return;
    const section_ = [...where.querySelectorAll(".part")].find((one) => one.dataset.part === part);
    const at = rows.get(key)?.at || [...(section_?.querySelectorAll(".field.mend") || [])].find((one) => one.dataset.mend === path);
    if (!at) {
      section_?.querySelector("input, select")?.focus();
      return;
    }
    const fold = at.closest("details");
    if (fold) fold.open = true;
    (at.querySelector(kind || "input") || at.querySelector("input, select"))?.focus({ preventScroll: false });
  }

  /** What is said of a part and of no field that it has; fields that it asks for can be given here. */
  function tellPart(part, warnings, defects) {
    const at = [...where.querySelectorAll(".part")].find((one) => one.dataset.part === part.part);
    const other = (one) => one.part === part.part && !rows.has(keyOf(one.part, one.path));
    fill(
      at.querySelector(".told-of-part"),
      defects.filter(other).map((one) => h("p", { class: "told defect" }, one.text)),
      warnings.filter(other).map((one) => h("p", { class: "told warning" }, one.text)),
      warnings
        .filter((one) => one.part === part.part && one.elsewhere && !other(one))
        .map((one) => h("p", { class: "told warning" }, `At ${one.at}: ${labelOf(part, one.path)} ${one.value}, ${beside(one.text)}`)),
    );
    const wanted = new Set(defects.filter((one) => one.part === part.part).flatMap((one) => missing(one.text)));
    const pending = state.edits.filter((one) => one.part === part.part && !rows.has(keyOf(one.part, one.path)));
    for (const one of pending) wanted.add(one.path);
    const needed = at.querySelector(".needed");
    const list = [...wanted].filter((path) => !rows.has(keyOf(part.part, path))).map((path) => [path, askedFor(part, path, defects)]);
    if (needed.dataset.wanted === JSON.stringify(list)) return;
    needed.dataset.wanted = JSON.stringify(list);
    fill(needed, list.map(([path, note]) => mendRow(part.part, path, { note, value: pending.find((one) => one.path === path)?.value })));
  }

  /** For whom a lacking field is given: for the notes of what asks for it. */
  function askedFor(part, path, defects) {
    const mine = state.edits.filter((one) => one.part === part.part);
    const given = mine.find((one) => one.path === path);
    const asks = defects.find((one) => one.part === part.part && missing(one.text).includes(path));
    const asking = mine.filter((one) => one.path === asks?.path).at(-1) || mine.at(-1);
    return (given || asking)?.note ?? null;
  }

  function unplaced(said) {
    return said.filter((one) => !parts.some((part) => part.part === one.part));
  }
}
