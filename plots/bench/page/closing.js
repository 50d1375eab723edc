// Closing the bench: asked before, as what was moved may not be saved yet.

import { bar, unbar } from "./bars.js";
import { $, fill, h } from "./dom.js";
import { ask } from "./server.js";
import { state, unsaved } from "./state.js";
import { counted } from "./words.js";

const CLOSED = "The bench is closed. This page still shows what it last drew; you may print it, write states to files, or leave it.";
const IDLE = "main button, main input, main select, #undo, #redo, #as-read, #units, #save, #close";

/** Ask, and close it; `ended()` is called once it is closed. */
export function openClosing(ended) {
  const sheet = $("close-sheet");
  const end = async () => {
    sheet.close();
    try {
      await ask("close", {});
    } catch {
      // it is closed either way
    }
    ended();
    unbar();
    bar("closed", h("div", { class: "bar", role: "alert" }, h("p", {}, CLOSED)));
    for (const one of document.querySelectorAll(IDLE)) if (!one.closest("#kept")) one.disabled = true;
  };
  const words = `${counted(state.edits.length, "field")} that you moved ${state.edits.length === 1 ? "is" : "are"} not saved yet.`;
  fill(
    sheet,
    h("h2", { id: "close-title" }, "Close the bench?"),
    h("p", {}, unsaved() ? words : "Nothing is lost by it."),
    h(
      "p",
      { class: "acts" },
      h("button", { type: "button", class: "main", onclick: end }, "Close it"),
      h("button", { type: "button", onclick: () => sheet.close() }, "Stay"),
    ),
  );
  sheet.showModal();
}
