// What the server has answered of the state that is shown, and of those that it is compared with.

import { question, shownKept, state } from "./state.js";

/** What the server has answered of the shown note; `key` says of which edits. */
export const seen = { fields: null, was: {}, feel: null, figures: null, kept: new Map(), whole: null, wholeWas: null, refused: null };

export const keptKey = (one) => JSON.stringify(question(one.edits));

export const keptFeel = () => shownKept().map((one) => ({ ...one, feel: seen.kept.get(keptKey(one))?.feel }));

export const keptFigures = () => shownKept().map((one) => ({ ...one, figures: seen.kept.get(keptKey(one))?.figures }));

export const fieldsFresh = () => seen.fieldsOf === JSON.stringify(question());

export const wholeKey = () => JSON.stringify([question().edits, state.units]);

export const wholeFresh = () => seen.whole?.key === wholeKey() && Boolean(seen.whole.steps);
