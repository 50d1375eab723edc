// Fields that a case does not have yet, to be written in.

import { spaced } from "./called.js";
import { h, newId } from "./dom.js";
import { move, scopeWords } from "./state.js";
import { capital, pathWords, plain } from "./words.js";

/** Signs that a value may have at most, as the server has it. */
export const LONGEST = 400;

/** Fields that a refusal asks for: "a round section needs diameter". */
export function missing(text) {
  const found = /needs ([a-z_]+(?:(?:,| and) [a-z_]+)*)\b/.exec(text || "");
  return found ? found[1].split(/, | and /) : [];
}

/** A field that the case does not have yet, to be written in. */
export function mendRow(part, path, { text = "", value = "", note = null, choices = [], was = "not given" } = {}) {
  const id = newId("mend");
  const input = choices.length
    ? h("select", { id }, [...new Set([value, ...choices])].map((one) => h("option", { value: one }, plain(one))))
    : h("input", { type: "text", id, class: "exact", value, autocomplete: "off", spellcheck: "false" });
  const commit = () => {
    if (input.value.trim() && input.value.length <= LONGEST) move({ part, path, value: input.value.trim(), note, was });
  };
  input.addEventListener("change", commit);
  return h(
    "div",
    { class: "field mend", "data-mend": path, "data-words": `${part} ${spaced(path)}`.toLowerCase() },
    h("label", { for: id }, `${capital(pathWords(path))} of the ${plain(part)}`, h("span", { class: "scope" }, ` ${scopeWords(note)}`)),
    h("span", { class: "control" }, choices.length ? input : h("span", { class: "asked" }, text || "value with its unit, such as 3 mm")),
    choices.length ? null : input,
  );
}
