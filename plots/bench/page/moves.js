// All that was moved, as a list.

import { fill, h, say } from "./dom.js";
import { state, takeBack, whose } from "./state.js";
import { capital, counted, pathWords, plain, valueWords } from "./words.js";

/** All that was moved, each with what it was, a way to it and a way back; `words(edit)` are its name, before and now. */
export function movedList(where, summary, reach, words_) {
  const rows = state.edits.map((edit) =>
    h(
      "li",
      {},
      h(
        "button",
        { type: "button", class: "plain", onclick: () => reach(edit) },
        `${capital(plain(edit.part))}: ${words_(edit).name}`,
      ),
      h("span", { class: "of" }, ` of ${whose(edit)}: `),
      h("span", { class: "from-to" }, `${valueWords(words_(edit).was)} → ${valueWords(words_(edit).now)}`),
      h(
        "button",
        {
          type: "button",
          class: "small",
          "aria-label": `Take back ${pathWords(edit.path)} of the ${plain(edit.part)}, ${whose(edit)}`,
          onclick: () => takeBack((one) => one === edit),
        },
        "take back",
      ),
    ),
  );
  const of = [...new Set(state.edits.map((edit) => edit.note))].map((note) => [note, state.edits.filter((edit) => edit.note === note).length]);
  const scopes = of.map(([note, count]) => (of.length > 1 ? `${count} of ${whose({ note })}` : whose({ note }))).join(", ");
  say(summary, rows.length ? `Moved: ${counted(rows.length, "field")} (${scopes})` : "Nothing is moved yet");
  fill(where, rows.length ? h("ul", { class: "moves" }, rows) : h("p", { class: "hint" }, "Move a slider, or write a value: the picture follows."));
}
