// What the page is told with every answer: the file is another now, or nobody answers.

import { anew, ended } from "./asked.js";
import { bar, barred } from "./bars.js";
import { drawDefects } from "./defects.js";
import { h } from "./dom.js";
import { seen } from "./seen.js";
import { ask, get, Gone, listen, Refused } from "./server.js";
import { settle, tell } from "./shown.js";
import { unspeak } from "./spoken.js";
import { readAgain, state } from "./state.js";
import { counted } from "./words.js";

/** Show it from now on. */
export function listenToAll() {
  listen(({ answer, gone }) => {
    if (ended()) return;
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
    const now = JSON.stringify([answer.stamp, answer.lost]);
    if (answer.changed === true && (!barred("changed") || now !== changedTo)) {
      changedTo = now;
      const lost = answer.lost?.length ? ` It cannot be read as it is now: ${answer.lost.join("; ")}.` : "";
      bar(
        "changed",
        h(
          "div",
          { class: "bar", role: "alert" },
          h("p", {}, `${state.about?.file || "The file"}, or a file that it needs, is another than the one that was read: somebody changed it on the disk. What you moved stays.${lost}`),
          h("button", { type: "button", onclick: () => reread() }, "Read again"),
        ),
      );
    }
    if (answer.changed === false) bar("changed", null);
    if (!rereading && answer.read && state.about?.read && answer.read !== state.about.read && !readBefore.has(answer.read)) elsewhere();
  });
}

/** What the file was when the bar was written. */
let changedTo = "";

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
  const bad = about.defects?.length;
  tell(bad ? `The file was read again, and has ${counted(bad, "defect")}; what you moved waits until it can be read.` : words);
}

function again() {
  tell("Asking again …");
  anew({ drop: true });
}

/** Have the file read again. */
export async function reread() {
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
