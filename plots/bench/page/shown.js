// What stands on the page of what the server has answered.

import { budgetPicture } from "./budgets.js";
import { beyondWords, compassPicture, illOf } from "./compass.js";
import { $, fill, h, say } from "./dom.js";
import { noPicture } from "./drawing.js";
import { feelPicture } from "./feel.js";
import { figuresTable, weighTable } from "./figures.js";
import { keptPanel } from "./keeping.js";
import { keyboard } from "./keyboard.js";
import { partLooks } from "./looks.js";
import { movedList } from "./moves.js";
import { partsPanel } from "./parts.js";
import { pathPicture } from "./path.js";
import { openPoints } from "./points.js";
import { fieldsFresh, keptFeel, keptFigures, seen } from "./seen.js";
import { placed } from "./server.js";
import { editWords, speak } from "./spoken.js";
import { learnNames, noteName, show, state } from "./state.js";
import { steady } from "./steady.js";
import { plain } from "./words.js";

const draw = {};
let keys = null;
let parts = null;

/** The pictures, before anything is known of the case. */
export function layPictures() {
  draw.feel = feelPicture($("feel-picture"), $("feel-table"), $("feel-legend"));
  draw.path = pathPicture($("path-picture"), $("path-table"));
  draw.give = budgetPicture($("give-picture"), $("give-table"), "giveway", "Key travel before the pluck");
  draw.mass = budgetPicture($("mass-picture"), $("mass-table"), "masses", "Effective mass at the key");
  draw.whole = compassPicture($("whole-picture"), $("whole-table"), show);
}

/** The fields and the keyboard of a case that is known. */
export function layFields() {
  parts = partsPanel($("parts"), {
    points: (part, field, edit, old) => openPoints(part, field, edit, old).catch((problem) => tell(problem.message)),
    help: helper("parts"),
    search: $("search"),
    found: $("found"),
  });
  keys = keyboard($("keys"), () => state.about.notes, show);
}

const looks = () => partLooks(seen.fields?.parts || []);

/** Where the key meets its bottom felt, in the unit of the picture; unknown it is beyond. */
function touch() {
  const key = seen.fields?.parts.find((part) => part.role === "key");
  const dip = key?.fields.find((field) => field.path === "dip");
  return dip && dip.unit === seen.feel?.x.unit ? Number(dip.value) : Infinity;
}

export function drawFeel() {
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

/** `played` once its stroke is: a slow press alone makes no note sound. */
export function drawVerdict(verdict, played) {
  sayVerdict(`${noteName(state.note)}: ${verdict.sentence}`, verdict.sound, played);
}

/** The sentence in its place; what is wrong also over the picture, which stays in sight where one works. */
export function sayVerdict(words, sound, played = true) {
  steady("verdict", () => {
    for (const [panel, sentence] of [["verdict", "sentence"], ["feel", "feel-sentence"]]) {
      $(panel).classList.toggle("beware", !sound);
      $(panel).classList.toggle("unplayed", !played);
      say($(sentence), sound && panel === "feel" ? "" : words);
    }
  });
}

/** When the finger lifts: what falls silent later by the release delay tells it. */
function liftOf(figures) {
  const groove = figures.path?.stations?.find((one) => one.groove && Number.isFinite(one.silent));
  const delay = figures.figures.find((one) => one.name === "release_delay");
  return groove && Number.isFinite(delay?.value) && delay.unit === figures.path.unit ? groove.silent - delay.value : NaN;
}

export function drawFigures() {
  if (!seen.figures) return;
  if (seen.figures.path && seen.figures.path.lift === undefined) seen.figures.path.lift = liftOf(seen.figures);
  const data = { now: seen.figures, was: state.edits.length ? seen.was.figures : null, looks: looks() };
  figuresTable($("figures-table"), { ...data, kept: keptFigures(), about: state.about, help: helper("figures"), name: noteName(state.note) });
  say($("limit"), seen.figures.limit ? `What limits the repetition: ${plain(seen.figures.limit)}.` : "");
  say($("arrived"), seen.figures.path?.arrived ? `A stroke has arrived at a station when it has ${seen.figures.path.arrived}.` : "");
  $("budget-words").hidden = !data.was || !seen.figures.giveway?.length;
  draw.path(data);
  draw.give(data);
  draw.mass(data);
  weighTable($("weigh-table"), data.now, data.was);
}

export function drawWhole() {
  const now = seen.whole;
  const was = state.edits.length ? seen.wholeWas : null;
  draw.whole({ now, was, about: state.about, note: state.note, edge: state.about.even });
  drawNote();
  say($("whole-words"), now?.steps ? `${beyondWords(now, state.about, state.about.even)}${was ? " The broad grey line is the state as read." : ""}` : "");
}

/** The first notes of a compass, where there is no picture yet. */
export function drawPiece(made) {
  draw.whole({ now: made, was: null, about: state.about, note: state.note, edge: state.about.even });
}

export const drawFields = () => steady("fields", drawFieldsNow);
export const drawMoved = () => steady("moved", drawMovedNow);

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

export function drawNote() {
  $("note").value = String(state.note);
  const notes = state.about.notes.map((one) => one.note);
  $("lower").disabled = state.note === notes[0];
  $("higher").disabled = state.note === notes.at(-1);
  const moved = new Set(state.edits.map((one) => one.note).filter((one) => one !== null));
  const ill = illOf(seen.whole);
  const shown = JSON.stringify([state.note, [...moved], notes, ill]);
  if (shown !== seen.keys) keys.show(state.note, moved, new Set(ill));
  seen.keys = shown;
}

export function drawKept() {
  keptPanel($("kept-list"), tell);
}

/** Nothing more comes for these panels, though their pictures are old. */
export function atRest(names) {
  for (const name of names) $(name).setAttribute("aria-busy", "false");
}

/** Panels whose picture is not of the state that stands. */
export function waiting(names, on) {
  for (const name of names) {
    $(name).classList.toggle("waiting", on);
    $(name).setAttribute("aria-busy", String(on));
  }
}
export const OF_FIGURES = ["figures", "path", "budgets", "weigh"];

function helper(name) {
  return (title, text) => {
    say($(`${name}-help-h`), title);
    say($(`${name}-help-text`), text);
  };
}

export const tell = (text) => steady("told", () => say($("told"), text));

/** In place of pictures that there never were. */
export function nothingYet() {
  waiting(["feel", ...OF_FIGURES], false);
  for (const name of ["feel-picture", "figures-table", "path-picture", "give-picture", "mass-picture", "weigh-table", "whole-picture"]) {
    fill($(name), noPicture("Drawn once the case can be read."));
  }
}

export function listNotes() {
  const { notes } = state.about;
  $("choose").hidden = notes.length === 0;
  fill($("note"), notes.map((one) => h("option", { value: String(one.note) }, one.name)));
}

/** The case's title, of a division with its name. */
export function sayTitle(title) {
  const { division } = state.about;
  say($("title"), division && division !== title ? `${title}: ${division}` : title);
}

export function settle(about) {
  state.about = about;
  learnNames(about.notes);
  sayTitle(about.title);
  say($("file"), about.file);
  document.title = `The bench: ${about.title}`;
  say($("made"), `keyaction ${about.version}, ${about.file}`);
  say(
    $("even-words"),
    `▲ marks ${about.felt.map((name) => about.quantities[name].label).join(" or ")}, felt at the finger in a slow press, where it differs from that as read by more than ${(100 * about.even).toFixed(0)} %: a finger can tell it (Pang, Tan and Durlach, Perception & Psychophysics 49, 1991). Their finding is of steady forces: the peak of a quick stroke, friction and forces at the pallet have no mark, however much they differ.`,
  );
  listNotes();
}
