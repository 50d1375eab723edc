// The train from finger to wind, part by part, each with the fields that can be moved.

import { fill, h, newId, say } from "./dom.js";
import { patch } from "./drawing.js";
import { kindOf, partLooks } from "./looks.js";
import { editOf, move, scopeWords, state, takeBack, whose } from "./state.js";
import { beside, capital, counted, pathWords, plain, split, valueWords, withStep } from "./words.js";

/** What a builder moves first: by role of the part, then path. */
const FIRST = [
  [/spring/, /^(force|rate|at)$/],
  [/^key$/, /^(dip|leads\.\d+\.(mass|at))$/],
  [/^rod$/, /^(lost_motion|material|section)$/],
  [/roller/, /^(width|diameter|material|length)$/],
  [/^lever$/, /^(in_arm|out_arm)$/],
  [/^pallet$/, /^(opening_length|opening_width|eye)$/],
  [/^groove$/, /^stops\.\d+\.drawn$/],
  [/^box$/, /^pressure$/],
  [/^coupler$/, /^(play|lost_motion)$/],
];
/** Parts with a colour of their own in the pictures; springs and wind have none. */
const MOVES = new Set(["key", "rod", "lever", "pallet", "coupler"]);
const NO_MOTION = { color: "var(--wash)", hatch: "" };
const CAUTION = "A pallet spring sits loaded in the chest: eye protection, the long pliers, never fingers.";
const DUST = "Carbon and glass: dust and splinters hurt lungs, skin and eyes. Extract at the tool; mask, goggles, gloves.";

/** What people call fields whose name in the case is short. */
const CALLED = { lost_motion: "play (lost motion)", at: "place where it bears (at)", force: "force when closed", rate: "rate of force" };

const isFirst = (part, path) =>
  FIRST.some(([who, what]) => (who.test(part.role) || who.test(kindOf(part)) || who.test(part.part)) && what.test(path));
const keyOf = (part, path) => `${part} ${path}`;
/** Signs that a value may have at most, as the server has it. */
const LONGEST = 400;

/** Wind and stops are those of the whole organ, whatever a case may say of single notes. */
const ofAll = (part, field) => !field.each || part.role === "box" || /^stops\./.test(field.path);

/** What a field is called, by names of parts, fields and rows. */
export function fieldWords(parts, name, path) {
  const part = parts?.find((one) => one.part === name);
  return part?.fields.some((one) => one.path === path) ? labelOf(part, path) : capital(pathWords(path));
}
const figureKind = (kind) => ["quantity", "number", "count"].includes(kind);

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
          rows.get(keyOf(part.part, field.path)).show(field, old, warnings.filter(mine), defects.filter(mine), fresh);
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

/** The kind of a part whose name does not tell it. */
function kindWords(part) {
  const kind = kindOf(part);
  return kind && !part.part.includes(kind) ? h("span", { class: "kind" }, plain(kind)) : null;
}

/** Fields that a refusal asks for: "a round section needs diameter". */
function missing(text) {
  const found = /needs ([a-z_]+(?:(?:,| and) [a-z_]+)*)\b/.exec(text || "");
  return found ? found[1].split(/, | and /) : [];
}

/** A field that the case does not have yet, to be written in. */
export function mendRow(part, path, { text = "", value = "", note = null, choices = [], was = "not given" } = {}) {
  const id = newId("mend");
  const input = choices.length
    ? h("select", { id }, [...new Set([value, ...choices])].map((one) => h("option", { value: one }, plain(one))))
    : h("input", { type: "text", id, class: "exact", value, autocomplete: "off", spellcheck: "false" });
  const commit = () => {
    if (input.value.trim() && input.value.length <= LONGEST) move({ part, path, value: input.value.trim(), note, was });
  };
  input.addEventListener("change", commit);
  return h(
    "div",
    { class: "field mend", "data-mend": path, "data-words": `${part} ${path_(path)}`.toLowerCase() },
    h("label", { for: id }, `${capital(pathWords(path))} of the ${plain(part)}`, h("span", { class: "scope" }, ` ${scopeWords(note)}`)),
    h("span", { class: "control" }, choices.length ? input : h("span", { class: "asked" }, text || "value with its unit, such as 3 mm")),
    choices.length ? null : input,
  );
}

/** One field: slider, exact value, list or box, with its sentences and what it was. */
function fieldRow(part, first, { points, help }) {
  const { path } = first;
  const own = newId("field");
  const ids = { label: `${own}-l`, doc: `${own}-d`, told: `${own}-t` };
  const label = labelOf(part, path);
  const described = `${ids.doc} ${ids.told}`;
  let field = first;
  let old = null;

  const scope = h("span", { class: "scope" });
  const name = h("label", { id: ids.label, for: own }, label, " ", scope);
  const control = h("span", { class: "control" });
  const doc = h("span", { class: "unseen", id: ids.doc });
  const told = h("div", { class: "told-of", id: ids.told });
  const moved = h("div", { class: "moved-mark" });
  const at = h("div", { class: "field", "data-words": words(part, first, label), "data-path": path });
  const note = () => (ofAll(part, field) ? null : state.note);

  const change = (value, options) => {
    const was = old ? old.text : field.text;
    const stands = editOf(part.part, path);
    if (value.length > LONGEST) {
      fill(told, h("p", { class: "told defect", role: "alert" }, `A value has ${LONGEST} signs at most; this one is longer, and is not taken.`));
      return;
    }
    if (old && value === old.text && (!stands || stands.note === note())) {
      takeBack((one) => one === stands, options);
      return;
    }
    if (stands && stands.value === value && stands.note === note()) return;
    move({ part: part.part, path, value, note: note(), was: stands?.was ?? was }, options);
  };
  const tell = () => help(`${capital(plain(part.part))}: ${label}`, helpText(field, old));
  const ask = h("button", { type: "button", class: "ask", "aria-label": `What is ${label}?`, onclick: tell }, "?");

  const parts_ = inputs(own, label, described, first, change);
  control.append(...parts_.control);
  at.append(name, control, ...parts_.beside, ask, doc, told, moved);
  if (/spring/.test(part.part) && path === "force") at.append(h("p", { class: "caution" }, CAUTION));
  at.addEventListener("focusin", (event) => {
    if (event.target !== ask && event.target.matches("input, select")) tell();
  });
  if (first.kind === "flag") at.classList.add("flag");

  return {
    at,
    path,
    focus: () => at.querySelector("input, select").focus(),
    show(now, was, warnings, defects, fresh) {
      field = now;
      old = was || null;
      say(scope, scopeWords(note()));
      const edit = editOf(part.part, path);
      parts_.show(now, standing(now, was, edit));
      say(doc, helpText(now, was));
      const sentences = [...warnings];
      if (now.odd && !warnings.length && !defects.length && edit) sentences.push({ text: `outside of what is usual: ${now.usual}` });
      fill(
        told,
        defects.map((one) => h("p", { class: "told defect" }, capital(beside(one.text)))),
        sentences.map((one) => h("p", { class: "told warning" }, capital(beside(one.text)))),
        now.kind === "material" && /carbon|glass/.test(String(now.value)) && edit ? h("p", { class: "told warning" }, DUST) : null,
      );
      at.classList.toggle("refused", defects.length > 0);
      at.classList.toggle("moved", Boolean(edit));
      at.querySelectorAll("input, select").forEach((one) => one.setAttribute("aria-invalid", String(defects.length > 0)));
      markMoved(edit, fresh);
    },
  };

  function markMoved(edit, fresh) {
    // What was written in another unit than the reader's is told in this one too.
    const other = fresh && typeof edit?.value === "string" && field.unit && split(edit.value).unit !== field.unit ? `, now ${field.text}` : "";
    const text = edit ? JSON.stringify([edit, old?.text, other]) : "";
    if (moved.dataset.text === text) return;
    moved.dataset.text = text;
    if (!edit) {
      fill(moved);
      return;
    }
    const all = edit.note === null && !ofAll(part, field) ? "; moved for all notes" : "";
    const back = () => {
      takeBack((one) => one.part === part.part && one.path === path && one.note === edit.note);
      at.querySelector("input, select").focus();
    };
    const wide = field.each && edit.note !== null;
    fill(
      moved,
      h("span", {}, `as read ${valueWords(old?.text ?? edit.was)}${other}${all}`),
      h("button", { type: "button", class: "small", "aria-label": `Take back ${label}`, onclick: back }, "take back"),
      wide || (edit.note === null && field.each)
        ? h(
            "button",
            { type: "button", class: "small", "aria-label": `Apply ${label} to all notes`, onclick: () => points(part, field, edit, old) },
            wide ? "to all notes…" : "control points…",
          )
        : null,
    );
  }
}

/** What a field says: what was moved as it was written, else what was read; control points as the server has them. */
function standing(now, was, edit) {
  if (!edit) return { text: (was || now).text, value: (was || now).value, was };
  if (typeof edit.value !== "string") return { text: now.text, value: now.value, was };
  const { figure, unit } = split(edit.value);
  const value = unit === now.unit && Number.isFinite(Number(figure)) ? Number(figure) : now.value;
  return { text: edit.value, value, was };
}

/** Names of rows, as of stops, stand in place of their numbers. */
function labelOf(part, path) {
  const row = /^(.*\.\d+)\.([^.]+)$/.exec(path);
  const named = row && part.fields.find((one) => one.path === `${row[1]}.name`);
  if (named) return row[2] === "drawn" ? String(named.value) : `${named.value}: ${row[2].replace(/_/g, " ")}`;
  return capital(CALLED[path] || pathWords(path));
}

const words = (part, field, label) =>
  [part.part, part.title, part.role, part.kind, path_(field.path), label, field.doc].join(" ").toLowerCase();
const path_ = (path) => path.replace(/[_.]/g, " ");

function helpText(field, old) {
  const from = field.default ? `left to the program: ${field.origin.replace(/^default: /, "")}` : `from ${field.origin}`;
  return [
    `${capital(field.doc)}.`,
    field.usual && `Usual: ${field.usual}.`,
    field.allowed && `${capital(field.allowed)}.`,
    old ? `As read: ${valueWords(old.text)}, ${from}.` : `${capital(from)}.`,
    field.each ? "It may differ from note to note." : "It is the same for all notes.",
  ]
    .filter(Boolean)
    .join(" ");
}

function inputs(id, label, described, field, change) {
  if (figureKind(field.kind)) return figureInputs(id, label, described, field, change);
  if (field.kind === "flag") return flagInput(id, described, change);
  if (field.choices?.length) return listInput(id, described, change);
  return textInput(id, described, change);
}

let drags = 0;

/** Does at once what comes first in a frame, and of what follows in it only the last. */
function onFrames(act) {
  let frame = 0;
  let pending = null;
  const due = () => {
    frame = 0;
    if (pending !== null) later(pending);
  };
  const later = (value) => {
    pending = value;
    if (frame) return;
    frame = requestAnimationFrame(due);
    later.now();
  };
  later.now = () => {
    const value = pending;
    pending = null;
    if (value !== null) act(value);
  };
  return later;
}

function figureInputs(id, label, described, first, change) {
  let field = first;
  const exact = h("input", {
    type: "text", class: "exact", id, "aria-describedby": described, autocomplete: "off", spellcheck: "false",
  });
  const slider = h("input", { type: "range", class: "slider", "aria-label": `${label}, slider`, "aria-describedby": described });
  const notch = h("span", { class: "notch", "aria-hidden": "true" });
  const track = h("span", { class: "track" }, slider, notch);
  const written = (value) => `${withStep(value, field.slider.step)} ${field.unit}`.trim();
  let drag = 0;
  const later = onFrames((text) => change(text, { glide: drag || true }));
  slider.addEventListener("pointerdown", () => {
    drag = ++drags;
  });
  slider.addEventListener("input", () => {
    const text = written(Number(slider.value));
    exact.value = text;
    slider.setAttribute("aria-valuetext", text);
    later(text);
  });
  slider.addEventListener("change", () => {
    later.now();
    drag = 0;
  });
  const commit = () => {
    const typed = exact.value.trim().replace(/^(-?\d+),(\d+)/, "$1.$2");
    const { figure, unit } = split(typed);
    const whole = !unit && field.unit && /^[-+]?[\d.]+(e[-+]?\d+)?$/i.test(figure) ? `${figure} ${field.unit}` : typed;
    if (whole && whole !== field.text) change(whole);
    else exact.value = field.text;
  };
  exact.addEventListener("change", commit);
  exact.addEventListener("focus", () => exact.select());
  exact.addEventListener("keydown", (event) => {
    if (event.key === "Escape") {
      exact.value = field.text;
      delete exact.dataset.typed;
      exact.select();
      return;
    }
    const way = { ArrowUp: 1, ArrowDown: -1 }[event.key];
    if (!way || !field.slider) return;
    event.preventDefault();
    const { step, low, high } = field.slider;
    const now = Number(split(exact.value).figure);
    const from = Number.isFinite(now) ? now : Number(field.value);
    const to = Math.min(high, Math.max(low, from + way * step * (event.shiftKey ? 10 : 1)));
    exact.value = written(to);
    exact.select();
    change(exact.value, { glide: true });
  });
  return {
    control: [track],
    beside: [exact],
    show(now, { text, value, was }) {
      field = { ...now, text };
      if (exact.value !== text && (document.activeElement !== exact || !exact.dataset.typed)) exact.value = text;
      track.hidden = !now.slider;
      if (!now.slider) return;
      const { low, high, step } = now.slider;
      slider.min = low;
      slider.max = high;
      slider.step = step;
      if (document.activeElement !== slider || Math.abs(Number(slider.value) - value) > step) slider.value = value;
      slider.setAttribute("aria-valuetext", text);
      const place = was && high > low ? (was.value - low) / (high - low) : NaN;
      notch.hidden = !(place >= 0 && place <= 1);
      if (!notch.hidden) notch.style.setProperty("--at", String(place));
    },
  };
}

function flagInput(id, described, change) {
  const box = h("input", { type: "checkbox", id, "aria-describedby": described });
  box.addEventListener("change", () => change(String(box.checked)));
  return {
    control: [box],
    beside: [],
    show(_, { text }) {
      box.checked = text === "true";
    },
  };
}

function listInput(id, described, change) {
  const list = h("select", { id, "aria-describedby": described });
  list.addEventListener("change", () => change(list.value));
  return {
    control: [list],
    beside: [],
    show(now, { text: value }) {
      const choices = now.choices.includes(value) ? now.choices : [value, ...now.choices];
      if (list.dataset.choices !== choices.join()) {
        list.dataset.choices = choices.join();
        fill(list, choices.map((one) => h("option", { value: one }, plain(one))));
      }
      list.value = value;
    },
  };
}

function textInput(id, described, change) {
  const input = h("input", { type: "text", class: "wide", id, "aria-describedby": described, autocomplete: "off" });
  input.addEventListener("change", () => input.value.trim() && change(input.value.trim()));
  return {
    control: [input],
    beside: [],
    show(_, { text }) {
      if (document.activeElement !== input || !input.dataset.typed) input.value = text;
    },
  };
}

/** All that was moved, each with what it was, a way to it and a way back; `words(edit)` are its name, before and now. */
export function movedList(where, summary, reach, words_) {
  const rows = state.edits.map((edit) =>
    h(
      "li",
      {},
      h(
        "button",
        { type: "button", class: "plain", onclick: () => reach(edit) },
        `${capital(plain(edit.part))}: ${words_(edit).name}`,
      ),
      h("span", { class: "of" }, ` of ${whose(edit)}: `),
      h("span", { class: "from-to" }, `${valueWords(words_(edit).was)} → ${valueWords(words_(edit).now)}`),
      h(
        "button",
        {
          type: "button",
          class: "small",
          "aria-label": `Take back ${pathWords(edit.path)} of the ${plain(edit.part)}, ${whose(edit)}`,
          onclick: () => takeBack((one) => one === edit),
        },
        "take back",
      ),
    ),
  );
  const of = [...new Set(state.edits.map((edit) => edit.note))].map((note) => [note, state.edits.filter((edit) => edit.note === note).length]);
  const scopes = of.map(([note, count]) => (of.length > 1 ? `${count} of ${whose({ note })}` : whose({ note }))).join(", ");
  say(summary, rows.length ? `Moved: ${counted(rows.length, "field")} (${scopes})` : "Nothing is moved yet");
  fill(where, rows.length ? h("ul", { class: "moves" }, rows) : h("p", { class: "hint" }, "Move a slider, or write a value: the picture follows."));
}
