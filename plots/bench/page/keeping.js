// States that were kept: named, shown or not, written to a small file and read from one.

import { $, fill, h } from "./dom.js";
import { sample } from "./drawing.js";
import { refusedWords } from "./called.js";
import { seen } from "./seen.js";
import { known, Refused } from "./server.js";
import { alterKept, bare, dropKept, keep, markSaved, MOST_KEPT, question, replace, state } from "./state.js";
import { counted } from "./words.js";

const FORMAT = 1;
/** The highest note that a name can have, as the server has it. */
const HIGHEST = 127;
const LONGEST_NAME = 60;
const LARGEST = 1_000_000;
/** The server takes no more edits, and no longer values. */
const MOST_EDITS = 4000;

export function keptPanel(where, told) {
  const full = state.kept.length >= MOST_KEPT;
  const add = h("button", { type: "button", id: "keep", disabled: full, onclick: () => keepNow(told) }, "Keep this state");
  fill(
    where,
    state.kept.length
      ? h("ul", { class: "kept" }, state.kept.map((one) => row(one, told)))
      : h("p", { class: "hint" }, "Keep up to three states, and lay them side by side in the picture and in the figures."),
    h(
      "p",
      { class: "acts" },
      add,
      h("button", { type: "button", onclick: () => download(nameNow(), state.edits, told) }, "This state to a file…"),
      h("button", { type: "button", disabled: full, onclick: () => choose("kept") }, "Keep a state from a file…"),
      h("button", { type: "button", title: "In place of what is moved now; undo brings that back", onclick: () => choose("") }, "Put a file in place of this state…"),
      full ? h("span", { class: "hint" }, "Three are kept: put one away first.") : null,
    ),
  );
}

/** Ask for a file, to be kept, or to be what is moved. */
function choose(as) {
  $("open-file").dataset.as = as;
  $("open-file").click();
}

const nameNow = () => (state.edits.length ? `${counted(state.edits.length, "field")} moved` : "as read");

function keepNow(told) {
  const letters = ["A", "B", "C"];
  const taken = new Set(state.kept.map((one) => one.place));
  const letter = letters.find((_, i) => !taken.has(i + 1));
  keep(`${letter}: ${nameNow()}`);
  const place = letters.indexOf(letter) + 1;
  told(`Kept as ${letter}.`);
  document.getElementById(`kept-name-${place}`)?.select();
}

function row(one, told) {
  const id = `kept-name-${one.place}`;
  const show = h("input", { type: "checkbox", id: `kept-shown-${one.place}`, "aria-label": `Show ${one.name}` });
  show.checked = one.shown;
  show.addEventListener("change", () => alterKept(one.place, { shown: show.checked }));
  const name = h("input", { type: "text", id, class: "wide", value: one.name, "aria-label": "Name of the kept state", maxlength: "60" });
  name.addEventListener("change", () => alterKept(one.place, { name: name.value.trim() || one.name }));
  const small = (words, label, act) => h("button", { type: "button", class: "small", "aria-label": `${label} ${one.name}`, onclick: act }, words);
  return h(
    "li",
    {},
    show,
    sample(String(one.place)),
    name,
    h(
      "span",
      { class: "acts" },
      small("take up again", "Take up again:", () => replace(one.edits)),
      small("to a file", "Write to a file:", () => download(one.name, one.edits, told)),
      small("put away", "Put away:", () => {
        dropKept(one.place);
        told(`“${one.name}” is put away; undo brings it back.`);
        $("keep")?.focus();
      }),
    ),
  );
}

/** A state as a small file that another bench of the same case can open. */
function download(name, edits, told) {
  const { title, key, program, version } = state.about;
  const content = { format: FORMAT, program: `${program || "keyaction"} ${version || ""}`.trim(), case: title, key: key || "", name, edits: bare(edits) };
  const url = URL.createObjectURL(new Blob([`${JSON.stringify(content, null, 2)}\n`], { type: "application/json" }));
  const file = `${name.toLowerCase().replace(/[^a-z0-9]+/g, "-").replace(/^-|-$/g, "") || "state"}.json`;
  const link = h("a", { href: url, download: file });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(url), 10_000);
  if (edits === state.edits) markSaved();
  told(`Written to ${file}, where your browser puts its downloads.`);
}

/** Read a file of a state, in place of what is moved or to be kept; where it is none, that is told, and nothing changes. */
export async function open(file, told, kept = false) {
  let content;
  try {
    if (file.size > LARGEST) throw new Error("it is too large to be one");
    content = JSON.parse(await file.text());
    check(content);
  } catch (problem) {
    told(`${file.name} is no state of the bench: ${problem.message}.`);
    return;
  }
  const other = content.key && state.about.key && content.key !== state.about.key;
  const edits = bare(content.edits);
  const name = (typeof content.name === "string" && content.name ? content.name : file.name).slice(0, LONGEST_NAME);
  const refused = await refusal(edits);
  const from = other ? ` It was kept of another case (${content.case}), or of this one before it was changed.` : "";
  if (kept) {
    if (refused) told(`${name} is not kept. The case refuses it: ${refused}${from}`);
    else told(keep(name, edits) ? `Kept ${name}: ${counted(edits.length, "field")} moved.${from}` : "Three are kept: put one away first.");
    return;
  }
  replace(edits);
  const words = refused ? `The case refuses ${name}: ${refused} It` : `Opened ${name}: ${counted(edits.length, "field")} moved. It`;
  told(`${words} stands in place of what was moved before; undo brings that back.${from}`);
}

/** All that the case refuses of edits, in words; empty where it takes them, or cannot be asked. */
async function refusal(edits) {
  try {
    await known("feel", question(edits), { lane: "file" });
  } catch (problem) {
    if (problem instanceof Refused) return refusedWords(problem, seen.fields?.parts);
  }
  return "";
}

function check(content) {
  if (!content || typeof content !== "object" || Array.isArray(content)) throw new Error("it holds no state");
  if (content.format === undefined) throw new Error("it says no format");
  if (content.format !== FORMAT) throw new Error(`its format is ${JSON.stringify(content?.format)}, not ${FORMAT}`);
  if (!Array.isArray(content.edits)) throw new Error("it has no list of edits");
  if (content.edits.length > MOST_EDITS) throw new Error(`it has ${content.edits.length} edits, and ${MOST_EDITS} are the most`);
  const text = (one) => typeof one === "string" && one.length < 400;
  const value = (one) => one === null || text(one) || (one && typeof one === "object" && !Array.isArray(one) && Object.values(one).every(text));
  for (const one of content.edits) {
    if (one?.keep !== undefined && !Array.isArray(one.keep)) throw new Error("an edit in it keeps what is no list of notes");
    if (!text(one?.part) || !text(one?.path) || !value(one.value)) throw new Error("an edit in it has no part, path or value");
    const notes = [...(one.note === null ? [] : [one.note]), ...(one.keep || [])];
    if (!notes.every((note) => Number.isInteger(note) && note >= 0 && note <= HIGHEST)) throw new Error("an edit in it has a note that is none");
  }
}
