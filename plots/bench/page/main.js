// The bench's page: what was moved is asked of the server and drawn, quickest first.

import { bar, barred } from "./bars.js";
import { budgetPicture } from "./budgets.js";
import { openClosing } from "./closing.js";
import { beyondWords, compassPicture, gather } from "./compass.js";
import { drawDefects } from "./defects.js";
import { $, fill, h, pause, say } from "./dom.js";
import { noPicture } from "./drawing.js";
import { feelPicture } from "./feel.js";
import { figuresTable, weighTable } from "./figures.js";
import { keptPanel, open } from "./keeping.js";
import { keyboard } from "./keyboard.js";
import { partLooks } from "./looks.js";
import { fieldWords, movedList, partsPanel } from "./parts.js";
import { pathPicture } from "./path.js";
import { openPoints } from "./points.js";
import { openSaving } from "./saving.js";
import { ask, Fault, get, GaveWay, Gone, known, listen, pieces, placed, Refused } from "./server.js";
import {
  measure, noteName, question, readAgain, redo, replace, show, shownKept, state, undo, unsaved, watch, whose,
} from "./state.js";
import { editWords, speak, unspeak } from "./spoken.js";
import { steady } from "./steady.js";
import { capital, ofField, plain, valueWords } from "./words.js";

/** ms: how long nothing is moved before all figures are asked for, and before the whole compass is. */
const SETTLED = 90;
const IDLE = 1400;

/** What the server has answered of the shown note; `key` says of which edits. */
const seen = { fields: null, was: {}, feel: null, figures: null, kept: new Map(), whole: null, wholeWas: null, refused: null };

let turn = 0;
let running = false;
let slow = new AbortController();
let quick = new AbortController();
let wholeAsked = false;
let closed = false;

const draw = {};
let keys = null;
let parts = null;

// -- what is drawn -----------------------------------------------------------------------------------------------
const keptFeel = () => shownKept().map((one) => ({ ...one, feel: seen.kept.get(keptKey(one))?.feel }));
const keptFigures = () => shownKept().map((one) => ({ ...one, figures: seen.kept.get(keptKey(one))?.figures }));
const keptKey = (one) => JSON.stringify(question(one.edits));
const looks = () => partLooks(seen.fields?.parts || []);

/** Where the key meets its bottom felt, in the unit of the picture; unknown it is beyond. */
function touch() {
  const key = seen.fields?.parts.find((part) => part.role === "key");
  const dip = key?.fields.find((field) => field.path === "dip");
  return dip && dip.unit === seen.feel?.x.unit ? Number(dip.value) : Infinity;
}

function drawFeel() {
  if (!seen.feel) return;
  const none = seen.feel.down.length < 2 ? `There is no press to draw. ${seen.feel.verdict.sentence}` : "";
  draw.feel({ now: seen.feel, was: seen.was.feel, kept: keptFeel(), touch: touch(), why: none });
  const marks = seen.feel.marks.filter((mark) => mark.text);
  fill(
    $("headline"),
    marks.map((mark) => {
      const named = { lost: "lost motion", pluck: "pluck", follow: "follow-through", dip: "dip under load" }[mark.name] || mark.name;
      return h("div", {}, h("dt", {}, named), h("dd", {}, mark.text.replace(/^(lost motion|pluck|follow-through|dip) /, "")));
    }),
  );
}

function drawVerdict(verdict) {
  const words = `${noteName(state.note)}: ${verdict.sentence}`;
  sayVerdict(verdict.failed ? `${words} ${capital(verdict.failed)}.` : words, verdict.sound);
}

/** The sentence in its place, and over the picture, which stays in sight where one works. */
function sayVerdict(words, sound) {
  steady("verdict", () => {
    for (const [panel, sentence] of [["verdict", "sentence"], ["feel", "feel-sentence"]]) {
      $(panel).classList.toggle("beware", !sound);
      say($(sentence), words);
    }
  });
}

/** When the finger lifts: what falls silent later by the release delay tells it. */
function liftOf(figures) {
  const groove = figures.path?.stations?.find((one) => one.groove && Number.isFinite(one.silent));
  const delay = figures.figures.find((one) => one.name === "release_delay");
  return groove && Number.isFinite(delay?.value) && delay.unit === figures.path.unit ? groove.silent - delay.value : NaN;
}

function drawFigures() {
  if (!seen.figures) return;
  if (seen.figures.path && seen.figures.path.lift === undefined) seen.figures.path.lift = liftOf(seen.figures);
  const data = { now: seen.figures, was: state.edits.length ? seen.was.figures : null, looks: looks() };
  figuresTable($("figures-table"), { ...data, kept: keptFigures(), about: state.about, help: helper("figures"), name: noteName(state.note) });
  say($("limit"), seen.figures.limit ? `What limits the repetition: ${plain(seen.figures.limit)}.` : "");
  say($("arrived"), seen.figures.path?.arrived ? `A stroke has arrived at a station when it has ${seen.figures.path.arrived}.` : "");
  $("budget-words").hidden = !data.was;
  draw.path(data);
  draw.give(data);
  draw.mass(data);
  weighTable($("weigh-table"), data.now, data.was);
}

function drawWhole() {
  const now = seen.whole;
  const was = state.edits.length ? seen.wholeWas : null;
  draw.whole({ now, was, about: state.about, note: state.note, edge: state.about.even });
  say($("whole-words"), now?.steps ? `${beyondWords(now, state.about, state.about.even)}${was ? " The broad grey line is the state as read." : ""}` : "");
}

const drawFields = () => steady("fields", drawFieldsNow);
const drawMoved = () => steady("moved", drawMovedNow);

const fieldsFresh = () => seen.fieldsOf === JSON.stringify(question());

function drawFieldsNow() {
  if (fieldsFresh() && !seen.refused) speak(seen.fields, seen.was.fields);
  const { fields, was, refused } = seen;
  if (!fields) return;
  const defects = refused ? refused.defects : placed(fields.defects);
  const warnings = refused ? [] : placed(fields.warnings);
  const left = parts.show({ now: fields.parts, was: was.fields?.parts, warnings, defects, fresh: fieldsFresh() });
  fill($("unplaced"), left.map((one) => h("p", { class: defects.includes(one) ? "told defect" : "told warning" }, one.text)));
  drawMovedNow();
}

function drawMovedNow() {
  movedList($("moved-list"), $("moved-h"), (edit) => {
    if (edit.note !== null) show(edit.note);
    if (!parts.reach(edit.part, edit.path)) $("search").focus();
  }, (edit) => editWords(edit, seen.fields?.parts));
  $("undo").disabled = !state.past.length;
  $("redo").disabled = !state.future.length;
  $("as-read").disabled = !state.edits.length;
  $("save").disabled = !state.edits.length;
}

function drawNote() {
  $("note").value = String(state.note);
  const notes = state.about.notes.map((one) => one.note);
  $("lower").disabled = state.note === notes[0];
  $("higher").disabled = state.note === notes.at(-1);
  const moved = new Set(state.edits.map((one) => one.note).filter((one) => one !== null));
  const shown = JSON.stringify([state.note, [...moved], notes]);
  if (shown !== seen.keys) keys.show(state.note, moved);
  seen.keys = shown;
}

function drawKept() {
  keptPanel($("kept-list"), tell);
}

/** Nothing more comes for these panels, though their pictures are old. */
function atRest(names) {
  for (const name of names) $(name).setAttribute("aria-busy", "false");
}

/** Panels whose picture is not of the state that stands. */
function waiting(names, on) {
  for (const name of names) {
    $(name).classList.toggle("waiting", on);
    $(name).setAttribute("aria-busy", String(on));
  }
}
const OF_FIGURES = ["figures", "path", "budgets", "weigh"];

function helper(name) {
  return (title, text) => {
    say($(`${name}-help-h`), title);
    say($(`${name}-help-text`), text);
  };
}

const tell = (text) => steady("told", () => say($("told"), text));

// -- what is asked, quickest first -------------------------------------------------------------------------------
/** Something is another than what is drawn: ask anew. */
function anew({ drop = false } = {}) {
  turn++;
  slow.abort();
  slow = new AbortController();
  if (drop) {
    quick.abort();
    quick = new AbortController();
  }
  waiting(["feel", "verdict", ...OF_FIGURES], true);
  if (seen.whole) waiting(["whole"], true);
  run();
}

async function run() {
  if (running || closed || !state.about) return;
  running = true;
  try {
    for (;;) {
      const mine = turn;
      try {
        if (await stages(mine)) break;
      } catch (problem) {
        if (problem instanceof Gone) break;
        if (problem instanceof Fault) {
          if (mine !== turn) continue;
          sayVerdict(`The bench cannot take this, so nothing is drawn anew: ${problem.message}.`, false);
          waiting(["verdict"], false);
          atRest(["feel", ...OF_FIGURES, "whole"]);
          break;
        }
        if (!(problem instanceof GaveWay)) throw problem;
        if (mine === turn) await pause(60);
      }
    }
  } finally {
    running = false;
  }
}

/** Everything that is to be known of the state that stands; false when another came meanwhile. */
async function stages(mine) {
  const stale = () => mine !== turn;
  const asked = question();
  const plainly = question([]);
  try {
    const feel = await known("feel", asked, { signal: quick.signal });
    if (asked.note !== state.note || asked.units !== state.units) return false;
    if (asked.note === null) await mended(asked);
    seen.feel = feel;
    seen.refused = null;
    document.querySelector("main").classList.remove("refusing");
    steady("feel", () => {
      if (stale()) return;
      drawDefects([]);
      drawVerdict(feel.verdict);
      drawFeel();
    });
    if (stale()) return false;
    waiting(["feel", "verdict"], false);
  } catch (problem) {
    if (!(problem instanceof Refused)) throw problem;
    if (stale()) return false;
    await refuse(problem, asked, plainly);
    return !stale();
  }
  await pause(seen.fields ? SETTLED : 0);
  if (stale()) return false;
  const signal = slow.signal;
  seen.was.fields = await known("fields", plainly, { lane: "was", signal }).catch(unlessRefused);
  seen.fields = await known("fields", asked, { signal });
  seen.fieldsOf = JSON.stringify(asked);
  if (stale()) return false;
  drawFields();
  seen.was.feel = await known("feel", plainly, { lane: "was", signal }).catch(unlessRefused);
  await keptOf("feel", signal, stale);
  if (stale()) return false;
  drawFeel();
  const figures = await known("figures", asked, { signal });
  if (stale()) return false;
  seen.figures = figures;
  drawFigures();
  waiting(OF_FIGURES, false);
  seen.was.figures = await known("figures", plainly, { lane: "was", signal }).catch(unlessRefused);
  await keptOf("figures", signal, stale);
  if (stale()) return false;
  drawFigures();
  if (wholeAsked) return wholeOf(asked, plainly, signal, stale);
  if (!$("whole-idle").checked || wholeFresh()) {
    if (seen.whole) waiting(["whole"], !wholeFresh());
    return !stale();
  }
  for (let waited = 0; waited < IDLE && !wholeAsked; waited += 100) {
    await pause(100);
    if (stale()) return false;
  }
  return wholeOf(asked, plainly, signal, stale);
}

/** A case that could not be read can be: its notes are known now. */
async function mended(asked) {
  const fields = await known("fields", asked, { signal: quick.signal });
  if (fields.title) say($("title"), fields.title);
  state.about.notes = fields.notes || [{ note: fields.note, name: String(fields.note), sharp: false }];
  state.note = fields.note;
  asked.note = fields.note;
  listNotes();
  drawNote();
}

const unlessRefused = (problem) => {
  if (problem instanceof Refused) return null;
  throw problem;
};

const wholeKey = () => JSON.stringify([question().edits, state.units]);
const wholeFresh = () => seen.whole?.key === wholeKey() && Boolean(seen.whole.steps);

async function wholeOf(asked, plainly, signal, stale) {
  wholeAsked = false;
  waiting(["whole"], true);
  say($("whole-said"), "All notes are played …");
  const key = wholeKey();
  try {
    if (!wholeFresh()) {
      let made = null;
      for await (const piece of pieces("whole", asked, { signal })) {
        if (stale()) return false;
        made = { ...gather(made, piece), key };
        say($("whole-said"), `${made.notes.length} of ${state.about.notes.length} notes are played`);
        if (!seen.whole) {
          draw.whole({ now: made, was: null, about: state.about, note: state.note, edge: state.about.even });
        }
      }
      seen.whole = made;
    }
    if (state.edits.length && !state.about.defects?.length && seen.wholeWas?.units !== state.units) {
      let made = null;
      for await (const piece of pieces("whole", plainly, { signal })) {
        if (stale()) return false;
        made = { ...gather(made, piece), units: state.units };
      }
      seen.wholeWas = made;
    } else if (!state.edits.length) seen.wholeWas = { ...seen.whole, units: state.units };
    waiting(["whole"], false);
    say($("whole-said"), "");
    drawWhole();
  } catch (problem) {
    if (!(problem instanceof Refused)) {
      say($("whole-said"), "");
      throw problem;
    }
    say($("whole-said"), `The case refuses this at some note: ${problem.message}`);
  }
  return !stale();
}

async function keptOf(kind, signal, stale) {
  for (const one of shownKept()) {
    if (stale()) return;
    const answer = await known(kind, question(one.edits), { lane: "kept", signal }).catch(unlessRefused);
    seen.kept.set(keptKey(one), { ...seen.kept.get(keptKey(one)), [kind]: answer });
  }
}

/** The case refuses what was moved: no picture of nonsense; the old ones stay grey. */
async function refuse(problem, asked, plainly) {
  seen.refused = problem;
  document.querySelector("main").classList.add("refusing");
  waiting(["verdict"], false);
  if (!seen.feel) nothingYet();
  const [first, ...more] = problem.defects;
  const others = more.length ? ` And ${more.length} more.` : "";
  const why = capital(first ? ofField(first, fieldWords(seen.fields?.parts, first.part, first.path)) : problem.message);
  sayVerdict(`The case refuses this, so nothing is drawn anew. ${why.replace(/[.?!]?$/, (end) => end || ".")}${others}`, false);
  atRest(["feel", ...OF_FIGURES, "whole"]);
  if (!seen.fields) {
    seen.fields = await known("fields", asked, {}).catch(unlessRefused);
    seen.fields ||= await known("fields", plainly, { lane: "was" }).catch(unlessRefused);
    seen.was.fields = seen.fields;
  } else {
    const found = await known("fields", asked, {}).catch(unlessRefused);
    if (found) {
      seen.fields = found;
      seen.fieldsOf = JSON.stringify(asked);
    }
  }
  drawMoved();
  if (seen.fields) drawFields();
  steady("defects", () => drawDefects(problem.defects));
}

/** In place of pictures that there never were. */
function nothingYet() {
  waiting(["feel", ...OF_FIGURES], false);
  for (const name of ["feel-picture", "figures-table", "path-picture", "give-picture", "mass-picture", "weigh-table", "whole-picture"]) {
    fill($(name), noPicture("Drawn once the case can be read."));
  }
}

// -- what the page is told ---------------------------------------------------------------------------------------
listen(({ answer, gone }) => {
  if (closed) return;
  if (gone) {
    bar(
      "gone",
      h(
        "div",
        { class: "bar beware", role: "alert" },
        h("p", {}, "The bench does not answer: it was closed, or is stopped. All that you moved and kept is still on this page; write it to a file before you leave."),
        h("button", { type: "button", onclick: () => again() }, "Try again"),
      ),
    );
    return;
  }
  bar("gone", null);
  if (answer.changed === true && !barred("changed")) {
    const lost = answer.lost?.length ? ` It cannot be read as it is now: ${answer.lost.join("; ")}.` : "";
    bar(
      "changed",
      h(
        "div",
        { class: "bar", role: "alert" },
        h("p", {}, `${state.about?.file || "The file"} on the disk is another than the one that was read: somebody changed it meanwhile. What you moved stays.${lost}`),
        h("button", { type: "button", onclick: () => reread() }, "Read again"),
      ),
    );
  }
  if (answer.changed === false) bar("changed", null);
  if (!rereading && answer.read && state.about?.read && answer.read !== state.about.read && !readBefore.has(answer.read)) elsewhere();
});

/** Whether this page has asked that the file be read again; and what it knows that was read before: late answers have it. */
let rereading = false;
const readBefore = new Set();

/** Another page had the file read again: what this one remembers is of the old one. */
async function elsewhere() {
  readBefore.add(state.about.read);
  state.about.read = "";
  try {
    taken(await get(`about?units=${state.units}`), "The file was read again on another page; what you moved is laid over it.");
  } catch (problem) {
    if (!(problem instanceof Gone)) tell(problem.message);
  }
}

/** A case that was read again, in place of the old one. */
function taken(about, words) {
  bar("changed", null);
  if (state.about.read && state.about.read !== about.read) readBefore.add(state.about.read);
  readBefore.delete(about.read);
  unspeak();
  seen.whole = null;
  seen.wholeWas = null;
  seen.was = {};
  settle(about);
  if (about.defects?.length) drawDefects(about.defects);
  const there = about.notes.some((one) => one.note === state.note);
  if (!there) state.note = about.note;
  readAgain();
  tell(words);
}

function again() {
  tell("Asking again …");
  anew({ drop: true });
}

async function reread() {
  rereading = true;
  try {
    const about = await ask("reread", { edits: [], note: state.note, units: state.units });
    taken(about, "The file was read again; what you moved is laid over it.");
  } catch (problem) {
    if (problem instanceof Refused) {
      tell(`The file cannot be read as it is now: ${problem.message}`);
      drawDefects(problem.defects);
    } else if (!(problem instanceof Gone)) tell(problem.message);
  } finally {
    rereading = false;
  }
}

function closing() {
  openClosing(() => {
    closed = true;
    slow.abort();
  });
}

// -- wired -------------------------------------------------------------------------------------------------------
function settle(about) {
  state.about = about;
  say($("title"), about.division ? `${about.title}: ${about.division}` : about.title);
  say($("file"), about.file);
  document.title = `The bench: ${about.title}`;
  say($("made"), `keyaction ${about.version}, ${about.file}`);
  say(
    $("even-words"),
    `▲ marks a force at the key that differs from that as read by more than ${(100 * about.even).toFixed(0)} %: a finger can tell it (Pang, Tan and Durlach, Perception & Psychophysics 49, 1991).`,
  );
  listNotes();
}

function listNotes() {
  const { notes } = state.about;
  $("choose").hidden = notes.length === 0;
  fill($("note"), notes.map((one) => h("option", { value: String(one.note) }, one.name)));
}

function told(what, changed) {
  if (!changed) {
    tell(`There is nothing to ${what}.`);
    return;
  }
  const [one] = changed;
  tell(
    one
      ? `${capital(what)}: ${fieldWords(seen.fields?.parts, one.part, one.path)} of the ${plain(one.part)}, ${whose(one)}, ${valueNow(one)}.`
      : `${capital(what)}.`,
  );
}

function valueNow(one) {
  const stands = state.edits.find((other) => other.part === one.part && other.path === one.path && other.note === one.note);
  return stands ? valueWords(stands.value) : `as read ${valueWords(one.was ?? "")}`;
}

function wire() {
  $("undo").addEventListener("click", () => told("undone", undo()));
  $("redo").addEventListener("click", () => told("done again", redo()));
  $("as-read").addEventListener("click", () => {
    replace([]);
    tell("All is as read; undo brings it back.");
  });
  $("save").addEventListener("click", () => openSaving(tell));
  $("close").addEventListener("click", closing);
  $("print").addEventListener("click", () => window.print());
  $("units").addEventListener("change", () => measure($("units").value));
  $("light").addEventListener("change", () => {
    if ($("light").value) document.documentElement.dataset.light = $("light").value;
    else delete document.documentElement.dataset.light;
  });
  $("note").addEventListener("change", () => show(Number($("note").value)));
  const step = (by) => {
    const notes = state.about.notes.map((one) => one.note);
    const to = notes[notes.indexOf(state.note) + by];
    if (to !== undefined) show(to);
  };
  $("lower").addEventListener("click", () => step(-1));
  $("higher").addEventListener("click", () => step(1));
  $("whole-now").addEventListener("click", () => {
    wholeAsked = true;
    seen.whole = seen.whole && { ...seen.whole, key: "" };
    run();
  });
  $("whole-idle").addEventListener("change", () => run());
  $("open-file").addEventListener("change", async () => {
    const [file] = $("open-file").files;
    if (file) await open(file, tell);
    $("open-file").value = "";
  });
  document.addEventListener("keydown", (event) => {
    if (!(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z" || event.altKey) return;
    if (document.querySelector("dialog[open]")) return;
    const at = document.activeElement;
    if (at?.matches("input[type=text], input[type=search]") && at.dataset.typed) return;
    event.preventDefault();
    if (event.shiftKey) told("done again", redo());
    else told("undone", undo());
  });
  document.addEventListener("input", (event) => {
    if (event.target.matches?.("input[type=text], input[type=search]")) event.target.dataset.typed = "1";
  });
  document.addEventListener("change", (event) => {
    if (event.target.dataset) delete event.target.dataset.typed;
  });
  let folded = false;
  window.addEventListener("beforeprint", () => {
    folded = !$("moved").open;
    $("moved").open = true;
  });
  window.addEventListener("afterprint", () => {
    if (folded) $("moved").open = false;
  });
  window.addEventListener("beforeunload", (event) => {
    if (unsaved() || state.kept.length) event.preventDefault();
  });
}

async function units() {
  try {
    const about = await get(`about?units=${state.units}`);
    state.about.quantities = about.quantities;
  } catch (problem) {
    if (!(problem instanceof Gone)) throw problem;
  }
}

watch(async (why) => {
  if (why === "kept") {
    drawKept();
    drawFeel();
    drawFigures();
    if (shownKept().some((one) => !seen.kept.get(keptKey(one))?.figures)) anew();
    return;
  }
  if (why === "units") {
    seen.whole = null;
    seen.was = {};
    seen.fields = null;
    await units();
  }
  if (why === "note") {
    seen.was = {};
    drawWhole();
  }
  if (why === "moved") tell("");
  drawNote();
  if (why === "moved" && seen.fields) drawFields();
  else drawMoved();
  anew({ drop: why !== "moved" });
});

async function begin() {
  draw.feel = feelPicture($("feel-picture"), $("feel-table"), $("feel-legend"));
  draw.path = pathPicture($("path-picture"), $("path-table"));
  draw.give = budgetPicture($("give-picture"), $("give-table"), "giveway", "Key travel before the pluck");
  draw.mass = budgetPicture($("mass-picture"), $("mass-table"), "masses", "Effective mass at the key");
  draw.whole = compassPicture($("whole-picture"), $("whole-table"), show);
  wire();
  let about;
  try {
    about = await get("about");
  } catch (problem) {
    say($("title"), "The bench does not answer");
    if (!(problem instanceof Gone)) tell(problem.message);
    return;
  }
  settle(about);
  state.note = about.note;
  parts = partsPanel($("parts"), {
    points: (part, field, edit, old) => openPoints(part, field, edit, old).catch((problem) => tell(problem.message)),
    help: helper("parts"),
    search: $("search"),
    found: $("found"),
  });
  keys = keyboard($("keys"), () => state.about.notes, show);
  drawNote();
  drawKept();
  drawMoved();
  if (about.defects?.length) drawDefects(about.defects);
  anew();
}

begin();
