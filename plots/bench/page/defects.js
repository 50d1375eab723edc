// Defects of a case that cannot be read without: each with a field to mend it, where one can.

import { $, fill, h } from "./dom.js";
import { mendRow } from "./lacking.js";
import { reread } from "./reread.js";
import { move, replace, state } from "./state.js";
import { capital, ofField, pathWords } from "./words.js";

let drawn = "";

/** Defects first; the focus stays where it was, or goes to the next that is to be mended. */
export function drawDefects(defects) {
  const bad = state.about.defects?.length > 0;
  const panel = $("defects");
  const held = panel.contains(document.activeElement) ? document.activeElement.closest(".mending")?.dataset.of : null;
  const text = JSON.stringify([bad, defects, state.edits]);
  if (text === drawn && !panel.hidden) return;
  drawn = text;
  panel.hidden = !bad || !defects.length;
  if (panel.hidden) {
    if (held) $("train").focus();
    return;
  }
  const half = typed();
  const rows = defects.map(row);
  fill($("defects-list"), h("p", { class: "hint" }, rows.some((one) => one.querySelector("input, select, button")) ? HERE : IN_FILE), rows,
    h("p", { class: "acts" }, h("button", { type: "button", onclick: () => reread() }, "Read the file again")));
  for (const one of rows) {
    const input = one.querySelector("input");
    if (input && half.has(one.dataset.of)) {
      input.value = half.get(one.dataset.of);
      input.dataset.typed = "1";
    }
  }
  if (held) (rows.find((one) => one.dataset.of === held) || panel).querySelector("input, select, button")?.focus();
}

const HERE = "Mend these here; the rest of the bench is drawn once the case can be read.";
const IN_FILE = "Mend the file, then read it again; the rest of the bench is drawn once the case can be read.";

/** What is half typed, by defect. */
function typed() {
  const found = [...$("defects-list").querySelectorAll(".mending")].map((one) => [one.dataset.of, one.querySelector("input")]);
  return new Map(found.filter(([, input]) => input?.dataset.typed).map(([of, input]) => [of, input.value]));
}

function row(one) {
  const edit = state.edits.find((other) => other.part === one.part && other.path === one.path);
  const value = edit ? String(edit.value) : one.field?.text ?? one.value ?? "";
  const here = one.part && one.path && (one.field || (one.value !== undefined && !one.out));
  return h(
    "div",
    { class: "mending", "data-of": `${one.part} ${one.path} ${one.note ?? ""}` },
    h("p", { class: "told defect" }, capital(ofField(one))),
    here
      ? mendRow(one.part, one.path, {
          value,
          was: String(one.field?.text || one.value || "not given"),
          note: one.note ?? null,
          choices: one.field?.choices,
          text: one.field?.usual ? `usual: ${one.field.usual}` : one.field?.doc || "",
        })
      : one.out ? null : h("p", { class: "hint" }, "This one is mended in the file."),
    one.out ? otherwise(one) : null,
  );
}

/** What stands where nothing is known can be given its right name, or be taken out. */
function otherwise({ part, path, near, was, note = null }) {
  const gone = { part, path, value: null, note, was: was || "given" };
  const rename = () => replace([...state.edits.filter((one) => one.part !== part || one.path !== path), gone, { part, path: near, value: was, note, was: "not given" }]);
  return h(
    "p",
    { class: "acts" },
    near && was ? h("button", { type: "button", onclick: rename }, `Call it ${pathWords(near)}`) : null,
    h("button", { type: "button", onclick: () => move(gone) }, "Take it out"),
  );
}
