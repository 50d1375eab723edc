// What edits were and are, in the reader's unit, as the server has told it of the notes that were shown.

import { fieldWords } from "./called.js";
import { state } from "./state.js";

const spoken = new Map();
const keyOf = (edit) => JSON.stringify([edit.part, edit.path, edit.note, edit.keep, edit.value, state.units]);

/** Name of its field, and what an edit was and is, in words. */
export function editWords(edit, parts) {
  return { was: edit.was ?? "–", now: edit.value, ...spoken.get(keyOf(edit)), name: fieldWords(parts, edit.part, edit.path) };
}

/** Learn it from fields as they are and as they were read. */
export function speak(fields, before) {
  if (!fields) return;
  for (const told of fields.moved || []) {
    const edit = state.edits.find((one) => one.part === told.part && one.path === told.path && one.note === told.note);
    if (edit && edit.value !== null) learn(edit, { now: told.text });
  }
  for (const edit of state.edits) {
    if ((edit.note !== null && edit.note !== state.note) || edit.keep?.includes(state.note)) continue;
    const [was, now] = [textOf(before, edit), textOf(fields, edit)];
    learn(edit, { ...(was !== undefined && { was }), ...(now !== undefined && typeof edit.value === "string" && { now }) });
  }
}

function learn(edit, found) {
  spoken.set(keyOf(edit), { ...spoken.get(keyOf(edit)), ...found });
}

const textOf = (fields, edit) =>
  fields?.parts.find((one) => one.part === edit.part)?.fields.find((one) => one.path === edit.path)?.text;

/** Forget it: the case was read again. */
export const unspeak = () => spoken.clear();
