// What is asked of the server of the state that stands, quickest first; what is moved meanwhile goes before.

import { refusedWords } from "./called.js";
import { gather } from "./compass.js";
import { drawDefects } from "./defects.js";
import { $, pause, say } from "./dom.js";
import { keptKey, seen, wholeFresh, wholeKey } from "./seen.js";
import { Fault, GaveWay, Gone, known, pieces, Refused } from "./server.js";
import {
  atRest, drawFeel, drawFields, drawFigures, drawMoved, drawNote, drawPiece, drawVerdict, drawWhole, listNotes, nothingYet,
  OF_FIGURES, sayTitle, sayVerdict, waiting,
} from "./shown.js";
import { learnNames, question, shownKept, state } from "./state.js";
import { steady } from "./steady.js";

/** ms: how long nothing is moved before all figures are asked for, and before the whole compass is. */
const SETTLED = 90;
const IDLE = 1400;

let turn = 0;
let drawnTurn = 0;
let running = false;
let slow = new AbortController();
let quick = new AbortController();
let wholeAsked = false;
let closed = false;

/** Something is another than what is drawn: ask anew. */
export function anew({ drop = false } = {}) {
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

/** The whole compass is wanted now, whatever is known of it. */
export function askWhole() {
  wholeAsked = true;
  seen.whole = seen.whole && { ...seen.whole, key: "" };
  run();
}

/** Nothing is asked any more: the bench is closed. */
export function end() {
  closed = true;
  slow.abort();
}

export const ended = () => closed;

export async function run() {
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
      // under a drag each answer comes when the next move is made: it is drawn all the same, never an older one
      if (mine < drawnTurn || asked.note !== state.note || asked.units !== state.units) return;
      drawnTurn = mine;
      drawDefects([]);
      drawVerdict(feel.verdict, false);
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
  drawVerdict(figures.verdict, true);
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
  if (fields.title) sayTitle(fields.title);
  state.about.notes = fields.notes || [{ note: fields.note, name: String(fields.note), sharp: false }];
  learnNames(state.about.notes);
  state.note = fields.note;
  asked.note = fields.note;
  listNotes();
  drawNote();
}

const unlessRefused = (problem) => {
  if (problem instanceof Refused) return null;
  throw problem;
};

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
        if (!seen.whole) drawPiece(made);
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
  sayVerdict(`The case refuses this, so nothing is drawn anew. ${refusedWords(problem, seen.fields?.parts)}`, false);
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
