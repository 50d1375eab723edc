// Buttons, lists and keys of the page.

import { askWhole, end, run } from "./asked.js";
import { fieldWords } from "./called.js";
import { openClosing } from "./closing.js";
import { $ } from "./dom.js";
import { open } from "./keeping.js";
import { openSaving } from "./saving.js";
import { seen } from "./seen.js";
import { tell } from "./shown.js";
import { measure, redo, replace, show, state, undo, unsaved, whose } from "./state.js";
import { capital, plain, valueWords } from "./words.js";

export function wire() {
  $("undo").addEventListener("click", () => told("undone", undo()));
  $("redo").addEventListener("click", () => told("done again", redo()));
  $("as-read").addEventListener("click", () => {
    replace([]);
    tell("All is as read; undo brings it back.");
  });
  $("save").addEventListener("click", () => openSaving(tell));
  $("close").addEventListener("click", () => openClosing(end));
  $("print").addEventListener("click", () => window.print());
  $("units").addEventListener("change", () => measure($("units").value));
  $("light").addEventListener("change", () => {
    if ($("light").value) document.documentElement.dataset.light = $("light").value;
    else delete document.documentElement.dataset.light;
  });
  $("note").addEventListener("change", () => show(Number($("note").value)));
  const step = (by) => {
    const notes = state.about.notes.map((one) => one.note);
    const to = notes[notes.indexOf(state.note) + by];
    if (to !== undefined) show(to);
  };
  $("lower").addEventListener("click", () => step(-1));
  $("higher").addEventListener("click", () => step(1));
  $("whole-now").addEventListener("click", askWhole);
  $("whole-idle").addEventListener("change", () => run());
  $("open-file").addEventListener("change", async () => {
    const [file] = $("open-file").files;
    if (file) await open(file, tell, $("open-file").dataset.as === "kept");
    $("open-file").value = "";
  });
  document.addEventListener("keydown", (event) => {
    if (!(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z" || event.altKey) return;
    if (document.querySelector("dialog[open]")) return;
    const at = document.activeElement;
    if (at?.matches("input[type=text], input[type=search]") && at.dataset.typed) return;
    event.preventDefault();
    if (event.shiftKey) told("done again", redo());
    else told("undone", undo());
  });
  document.addEventListener("input", (event) => {
    if (event.target.matches?.("input[type=text], input[type=search]")) event.target.dataset.typed = "1";
  });
  document.addEventListener("change", (event) => {
    if (event.target.dataset) delete event.target.dataset.typed;
  });
  let folded = false;
  window.addEventListener("beforeprint", () => {
    folded = !$("moved").open;
    $("moved").open = true;
  });
  window.addEventListener("afterprint", () => {
    if (folded) $("moved").open = false;
  });
  window.addEventListener("beforeunload", (event) => {
    if (unsaved() || state.kept.length) event.preventDefault();
  });
}

function told(what, changed) {
  if (!changed) {
    tell(`There is nothing to ${what}.`);
    return;
  }
  const { back, gone, full } = changed;
  if (full) return tell(`Three states are kept: put one away before “${full}” can come back.`);
  if (back || gone) return tell(`${capital(what)}: “${back || gone}” is ${back ? "kept again" : "put away"}.`);
  const [one] = changed;
  tell(
    one
      ? `${capital(what)}: ${fieldWords(seen.fields?.parts, one.part, one.path)} of the ${plain(one.part)}, ${whose(one)}, ${valueNow(one)}.`
      : `${capital(what)}.`,
  );
}

function valueNow(one) {
  const stands = state.edits.find((other) => other.part === one.part && other.path === one.path && other.note === one.note);
  return stands ? valueWords(stands.value) : one.was ? `as read ${valueWords(one.was)}` : "as read";
}
