// One field of a part: its control, its sentences, what it was, and what it is.

import { labelOf, ofAll, searched } from "./called.js";
import { fill, h, newId, say } from "./dom.js";
import { inputs } from "./inputs.js";
import { LONGEST } from "./lacking.js";
import { editOf, move, noteName, scopeWords, state, takeBack, whose } from "./state.js";
import { beside, capital, plain, split, valueWords } from "./words.js";

const CAUTION = "A pallet spring sits loaded in the chest: eye protection, the long pliers, never fingers.";

const DUST = "Carbon and glass: dust and splinters hurt lungs, skin and eyes. Extract at the tool; mask, goggles, gloves.";

/** The field that the help tells of, which it goes on telling of another note. */
let helped = "";

/** One field: slider, exact value, list or box, with its sentences and what it was. */
export function fieldRow(part, first, { points, help }) {
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
  const at = h("div", { class: "field", "data-words": searched(part, first, label), "data-path": path });
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
  const tell = () => {
    helped = `${part.part} ${path}`;
    help(`${capital(plain(part.part))}: ${label}`, helpText(field, old));
  };
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
      parts_.show(now, standing(now, was, edit, fresh));
      say(doc, helpText(now, was));
      if (helped === `${part.part} ${path}`) tell();
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
    const other = fresh && typeof edit?.value === "string" && field.unit && split(edit.value).unit !== field.unit && edit.units === state.units ? `, now ${field.text}` : "";
    const text = edit ? JSON.stringify([edit, old?.text, other]) : "";
    if (moved.dataset.text === text) return;
    moved.dataset.text = text;
    if (!edit) {
      fill(moved);
      return;
    }
    const all = edit.note === null && !ofAll(part, field) ? `; moved for ${whose(edit)}` : "";
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
function standing(now, was, edit, fresh) {
  if (!edit) return { text: (was || now).text, value: (was || now).value, was };
  if (typeof edit.value !== "string") return { text: now.text, value: now.value, was };
  const { figure, unit } = split(edit.value);
  const value = unit === now.unit && Number.isFinite(Number(figure)) ? Number(figure) : now.value;
  // written under other units it is told in these, once the server has
  const other = fresh && edit.units !== state.units && now.unit && unit !== now.unit;
  return { text: other ? now.text : edit.value, value, was };
}

/** The notes that have a value of their own, and which; of many the first. */
function ownWords(own) {
  const first = own.slice(0, 4).map((one) => `${noteName(one.note)} ${valueWords(one.text)}`).join(", ");
  return own.length > 4 ? `${first} and ${own.length - 4} more notes` : first;
}

function helpText(field, old) {
  const { default: left, origin } = old || field;
  const from = left ? `left to the program: ${origin.replace(/^default: /, "")}` : `from ${origin}`;
  return [
    `${capital(field.doc)}.`,
    field.usual && `Usual: ${field.usual}.`,
    field.allowed && `${capital(field.allowed)}.`,
    old ? `As read: ${valueWords(old.text)}, ${from}.` : `${capital(from)}.`,
    field.each ? "It may differ from note to note." : "It is the same for all notes.",
    (old || field).own?.length && `Of their own in the case: ${ownWords((old || field).own)}.`,
  ]
    .filter(Boolean)
    .join(" ");
}
