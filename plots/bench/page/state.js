// What was moved on this page: edits with undo and redo, kept states, the note that is shown.

import { forget } from "./server.js";

const same = (a, b) => a.part === b.part && a.path === b.path;

/** Fields moved one after another within this time are one step of undo, ms. */
const GESTURE = 900;

export const MOST_KEPT = 3;

export const state = {
  about: null,
  note: 60,
  units: "trade",
  edits: [],
  past: [],
  future: [],
  kept: [],
  saved: "[]",
};

let gesture = { key: "", at: 0, glide: false };
const watchers = new Set();

export const watch = (told) => watchers.add(told);

function changed(why) {
  for (const told of watchers) told(why);
}

/** What the server is asked: edits without what only this page wants to know. */
export const bare = (edits) => edits.map(({ part, path, value, note, keep }) => ({ part, path, value, note, ...(keep?.length && { keep }) }));

export const question = (edits = state.edits, note = state.note) => ({ edits: bare(edits), note, units: state.units });

/** The edit that a field of the shown note stands under. */
export function editOf(part, path, note = state.note) {
  const found = state.edits.filter((one) => same(one, { part, path }));
  return found.find((one) => one.note === note) || found.find((one) => one.note === null && !one.keep?.includes(note));
}

/** Lay one edit over the others; `was` is what the field has as read, in words; `glide` is the number of a drag, or true. */
export function move(edit, { glide = false } = {}) {
  step(edit, glide);
  const ofAll = edit.note === null;
  const gone = (one) => same(one, edit) && ((ofAll && !edit.keep?.includes(one.note)) || one.note === edit.note);
  const before = state.edits.find(gone);
  state.edits = [...state.edits.filter((one) => !gone(one)), { was: before?.was, units: state.units, ...edit }];
  changed("moved");
}

/** A step of undo, unless it goes on with the one before. */
function step({ part, path, note }, glide) {
  const key = JSON.stringify([part, path, note]);
  const now = Date.now();
  const goesOn = glide === true ? now - gesture.at < GESTURE : glide === gesture.glide;
  if (!(glide && key === gesture.key && goesOn && state.past.length)) remember();
  gesture = { key: glide ? key : "", at: now, glide };
  state.future = [];
}

export function takeBack(wanted, { glide = false } = {}) {
  const left = state.edits.filter((one) => !wanted(one));
  if (left.length === state.edits.length) return;
  step(state.edits.find(wanted), glide);
  state.edits = left;
  changed("moved");
}

/** Put a whole set of edits in place of that which is there. */
export function replace(edits) {
  remember();
  state.future = [];
  state.edits = edits;
  changed("moved");
}

/** A step of the past: edits as they were, and a kept state that was put away in it. */
function remember(away = null) {
  state.past = [...state.past.slice(-199), { edits: state.edits, away }];
}

/** What is undone: edits, or the name of a kept state that is back; null where there is nothing. */
export function undo() {
  if (!state.past.length) return null;
  const { edits, away } = state.past.at(-1);
  if (away && state.kept.length >= MOST_KEPT) return { full: away.name };
  state.future = [{ edits: state.edits, away }, ...state.future];
  state.past = state.past.slice(0, -1);
  return away ? { back: putBack(away) } : stepped(edits);
}

/** What is done again: edits, or the name of a kept state that is put away. */
export function redo() {
  if (!state.future.length) return null;
  const { edits, away } = state.future[0];
  state.past = [...state.past, { edits: state.edits, away }];
  state.future = state.future.slice(1);
  if (!away) return stepped(edits);
  gesture = { key: "", at: 0, glide: false };
  state.kept = state.kept.filter((one) => one.id !== away.id);
  changed("kept");
  return { gone: away.name };
}

function stepped(edits) {
  const before = state.edits;
  gesture = { key: "", at: 0, glide: false };
  state.edits = edits;
  changed("moved");
  return difference(before, edits);
}

/** A kept state back in its place, or in the first that is free. */
function putBack(away) {
  gesture = { key: "", at: 0, glide: false };
  const taken = state.kept.map((one) => one.place);
  const place = [away.place, 1, 2, 3].find((n) => !taken.includes(n));
  state.kept = [...state.kept, { ...away, place }].sort((a, b) => a.place - b.place);
  changed("kept");
  return away.name;
}

/** Edits that are in one list only, the later list's first. */
function difference(before, after) {
  const text = (one) => JSON.stringify(bare([one]));
  const had = new Set(before.map(text));
  const has = new Set(after.map(text));
  return [...after.filter((one) => !had.has(text(one))), ...before.filter((one) => !has.has(text(one)))];
}

export function show(note) {
  if (note === state.note) return;
  state.note = note;
  changed("note");
}

export function measure(units) {
  if (units === state.units) return;
  state.units = units;
  changed("units");
}

export function readAgain() {
  forget();
  changed("read");
}

const names = new Map();

/** Names of notes, which stay known when the case cannot be read any more. */
export function learnNames(notes) {
  for (const one of notes) names.set(one.note, one.name);
}

export const noteName = (note) => (note === null ? "The case" : names.get(note) || String(note));

/** For whom an edit of a note, or of none, holds. */
export const scopeWords = (note) => (note === null ? "all notes" : `${noteName(note)} only`);

const SOME = 4;

/** Names of notes; of many the first. */
export function namesOf(notes) {
  const [first, more] = [notes.slice(0, SOME).map(noteName).join(", "), notes.length - SOME];
  return more > 0 ? `${first} and ${more} more` : first;
}

/** Whose value an edit is, in words. */
export function whose({ note, keep }) {
  if (note !== null) return noteName(note);
  return keep?.length ? `all notes but ${namesOf(keep)}` : "all notes";
}

let ids = 0;

export function keep(name, edits = state.edits) {
  if (state.kept.length >= MOST_KEPT) return false;
  const taken = new Set(state.kept.map((one) => one.place));
  const place = [1, 2, 3].find((n) => !taken.has(n));
  state.kept = [...state.kept, { id: ++ids, name, place, shown: true, edits }].sort((a, b) => a.place - b.place);
  changed("kept");
  return true;
}

export function alterKept(place, with_) {
  state.kept = state.kept.map((one) => (one.place === place ? { ...one, ...with_ } : one));
  changed("kept");
}

/** Put a kept state away; undo brings it back. */
export function dropKept(place) {
  remember(state.kept.find((one) => one.place === place));
  state.future = [];
  gesture = { key: "", at: 0, glide: false };
  state.kept = state.kept.filter((one) => one.place !== place);
  changed("kept");
}

export const shownKept = () => state.kept.filter((one) => one.shown);

/** Whether something was moved that neither a case nor a file has. */
export const unsaved = () => state.edits.length > 0 && JSON.stringify(bare(state.edits)) !== state.saved;

export function markSaved() {
  state.saved = JSON.stringify(bare(state.edits));
}
