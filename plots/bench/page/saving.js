// "Save as case": what would be different in the file is shown first, then it is written under a new name.

import { illOf } from "./compass.js";
import { $, fill, h } from "./dom.js";
import { seen, wholeFresh } from "./seen.js";
import { ask, Refused } from "./server.js";
import { markSaved, namesOf, question, state } from "./state.js";

export async function openSaving(told) {
  const sheet = $("save-sheet");
  const answer = h("p", { class: "told defect", role: "alert" });
  const name = h("input", { type: "text", id: "save-name", class: "wide", value: proposed(), autocomplete: "off", spellcheck: "false" });
  const text = h("div", { class: "difference", tabindex: "0", role: "region", "aria-label": "What is different in the case" });
  const save = h("button", { type: "button", class: "main", onclick: () => write() }, "Save as case");
  name.addEventListener("keydown", (event) => event.key === "Enter" && write());
  const warned = h("div", { role: "alert" });
  let unsound = false;
  save.disabled = true;

  /** What is wrong with the case as it would be saved, which may still be saved. */
  function warning(refused) {
    const ill = wholeFresh() ? illOf(seen.whole) : [];
    unsound = Boolean(refused || ill.length);
    return [
      refused && `The program refuses the case as it stands, and can play none of its notes until that is mended: ${refused}`,
      ill.length && `Something is wrong with ${namesOf(ill)}; the whole compass says what.`,
    ].filter(Boolean);
  }

  async function write() {
    if (save.disabled) return;
    answer.textContent = "";
    save.disabled = true;
    try {
      const { saved, files = [], apart } = await ask("save", { ...question(), name: name.value.trim() });
      markSaved();
      sheet.close();
      const where = apart ? `a folder of its own, ${saved.replace(/\.toml$/, "")}, as another file of a name that it needs was there` : "the folder in which the bench was started";
      told(`Saved as ${saved}, in ${where}.${unsound ? " As it stands the case is not sound: see the verdict." : ""}${files.length ? ` Beside it: ${files.join(", ")}.` : ""}`);
    } catch (problem) {
      answer.textContent = problem instanceof Refused ? problem.message : problem.message || "The bench does not answer.";
      save.disabled = false;
      name.focus();
    }
  }

  fill(
    sheet,
    h("h2", { id: "save-title" }, "Save as case"),
    h("p", { class: "hint" }, `A new file beside where the bench was started; ${state.about.file} stays as it is, and its comments come along; CSV files that it needs are written beside it. No file is written over.`),
    state.about.division ? h("p", { class: "hint" }, `It is the case of the division ${state.about.division}. What the instrument gives to it, such as keyboard and climate, is not in it: name the new file in the instrument to have the same figures.`) : null,
    h("p", { class: "one-line" }, h("label", { for: "save-name" }, "Name"), name),
    h("h3", {}, "What is different in it"),
    text,
    warned,
    answer,
    h("p", { class: "acts" }, save, h("button", { type: "button", onclick: () => sheet.close() }, "Cancel")),
  );
  sheet.showModal();
  name.select();
  try {
    const { difference, refused } = await ask("text", question());
    fill(warned, warning(refused).map((words) => h("p", { class: "told defect" }, words)));
    fill(text, difference.trim() ? lines(difference) : h("p", { class: "hint" }, "Nothing: no field was moved."));
    save.disabled = false;
  } catch (problem) {
    fill(text, h("p", { class: "told defect" }, problem.message || "The bench does not answer."));
  }
}

function proposed() {
  const stem = state.about.file.replace(/\.toml$/, "");
  return `${stem}-moved.toml`;
}

/** Lines of a difference; a sign at their beginning tells added from gone, not colour alone. */
function lines(difference) {
  const kind = (line) => {
    if (/^(---|\+\+\+|@@)/.test(line)) return "place";
    return line.startsWith("+") ? "added" : line.startsWith("-") ? "gone" : "";
  };
  return h("pre", {}, difference.split("\n").map((line) => h("span", { class: kind(line) }, `${line}\n`)));
}
