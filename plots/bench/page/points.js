// A value over the whole compass: control points, and the law by which values between them follow.

import { $, fill, h, s, say, table, behind } from "./dom.js";
import { course, marker, panel, sheet } from "./drawing.js";
import { between, LAWS } from "./laws.js";
import { Gone, known, Refused } from "./server.js";
import { editOf, move, namesOf, noteName, question, state } from "./state.js";
import { steady } from "./steady.js";
import { beside, capital, counted, pathWords, plain, split, valueWords } from "./words.js";

/** Opens the sheet on which a field of a note is laid over the compass; `old` is the field as read. */
export async function openPoints(part, field, edit, old) {
  const sheet_ = $("points-sheet");
  const figures = ["quantity", "number", "count"].includes(field.kind);
  const course_ = courseOf(old || field);
  const wide = state.edits.find((one) => one.part === part.part && one.path === field.path && one.note === null);
  const start = wide?.value && typeof wide.value === "object" ? wide.value : course_;
  const tell = figures && field.unit ? (row) => inReader(row, part, field) : async (row) => Object.assign(row, { value: Number(row.text) });
  const before = course_ && (await eachTold(written(course_), tell));
  const rows = start ? withMoved(written(start), part, field) : await proposed(part, field, edit, figures);
  await eachTold(rows, tell);
  for (const row of rows) row.was ??= before?.find((one) => one.note === row.note)?.text;
  const label = `${capital(pathWords(field.path))} of the ${plain(part.part)}`;
  const law = h(
    "select",
    { id: "law", onchange: () => redraw() },
    Object.entries(start?.between && !LAWS[start.between] ? { ...LAWS, [start.between]: "as the case has it" } : LAWS)
      .filter(([name]) => figures || name === "steps")
      .map(([name, words]) => h("option", { value: name }, `${name}: ${words}`)),
  );
  law.value = start?.between || (figures ? "linear" : "steps");
  const owners = (old || field).own || [];
  const ours = ownersPanel(owners, wide ? !wide.keep?.length : false, () => redraw());
  const list = h("div", { class: "points" });
  const picture = h("div", { class: "picture" });
  const numbers = h("div");
  const moves = h("p", { class: "hint", role: "status" });
  const told = h("p", { class: "told defect", role: "alert" });

  function build() {
    const left = state.about.notes.filter((one) => !rows.some((row) => row.note === one.note));
    fill(
      list,
      rows.map((row, i) => pointRow(row, i)),
      left.length
        ? h("button", { type: "button", class: "small", onclick: () => add(left) }, "add a point")
        : null,
    );
    redraw();
  }

  function pointRow(row, i) {
    const notes = h(
      "select",
      { "aria-label": `Note of point ${i + 1}` },
      state.about.notes.map((one) => h("option", { value: String(one.note) }, one.name)),
    );
    notes.value = String(row.note);
    notes.addEventListener("change", () => {
      row.note = Number(notes.value);
      rows.sort((a, b) => a.note - b.note);
      build();
    });
    const value = field.choices?.length
      ? h("select", { "aria-label": `Value of point ${i + 1}` }, field.choices.map((one) => h("option", { value: one }, plain(one))))
      : h("input", { type: "text", class: "exact", value: row.text, "aria-label": `Value of point ${i + 1}`, autocomplete: "off" });
    value.value = row.text;
    const was = h("span", { class: "was" });
    const beside_ = () => say(was, [row.told && `= ${row.told}`, row.was && `as read ${row.was}`].filter(Boolean).join("; "));
    value.addEventListener("change", async () => {
      const typed = withUnit(value.value, field);
      value.value = typed;
      Object.assign(row, { text: typed, exact: null, told: "", value: NaN });
      const found = await tell({ note: row.note, text: typed });
      if (row.text !== typed) return;
      Object.assign(row, { value: found.value, told: found.text === typed ? "" : found.text });
      beside_();
      redraw();
    });
    beside_();
    const drop = h("button", { type: "button", class: "small", "aria-label": `Take point ${i + 1} out`, onclick: () => remove(i) }, "take out");
    return h("div", { class: "point" }, notes, value, was, rows.length > 1 ? drop : null);
  }

  function remove(i) {
    rows.splice(i, 1);
    build();
  }

  function add(left) {
    const middle = left[Math.floor(left.length / 2)];
    const { text, exact, value } = rows.at(-1);
    rows.push({ note: middle.note, text, exact, value });
    rows.sort((a, b) => a.note - b.note);
    build();
  }

  const redraw = () => steady("points", redrawNow);

  function redrawNow() {
    const known_ = figures && rows.every((row) => Number.isFinite(row.value));
    const twice = doubled();
    const ok = known_ && !twice;
    say(moves, twice || (ok ? movesWords(rows, law.value, before, course_?.between, ours) : ""));
    fill(picture, ok ? curve(rows, law.value, field.unit) : h("p", { class: "hint" }, figures && !twice ? "Drawn once every point is a value that the field can have." : ""));
    fill(numbers, ok ? behind(table("Control points", ["note", "value"], rows.map((row) => [noteName(row.note), row.text]))) : []);
  }

  const doubled = () => {
    const twice = rows.find((row, i) => i && row.note === rows[i - 1].note);
    return twice ? `${noteName(twice.note)} has two points: take one out.` : "";
  };
  const apply = async () => {
    told.textContent = doubled();
    if (told.textContent) return;
    const asWritten = (row) => row.exact || row.text;
    const value = rows.length === 1 ? asWritten(rows[0]) : { between: law.value, ...Object.fromEntries(rows.map((row) => [noteName(row.note), asWritten(row)])) };
    await take(value, editOf(part.part, field.path)?.was);
  };
  const flat = () => take(typeof edit.value === "string" ? edit.value : rows[0].exact || rows[0].text, edit.was);

  /** Move it, unless a point is none or the case refuses it: then the sheet stays open and says why. */
  async function take(value, was) {
    const moved = { part: part.part, path: field.path, value, note: null, was, keep: ours.kept() };
    const odd = figures && rows.find((row) => typeof value === "object" && !figure(row.text, field));
    told.textContent = odd ? `${noteName(odd.note)}: “${odd.text.slice(0, 60)}” is no value${field.unit ? ` with a unit, such as ${field.text}` : ""}.` : "";
    if (odd) return;
    const refused = await refusal(moved);
    told.textContent = refused;
    if (refused || !sheet_.open) return;
    sheet_.close();
    move(moved);
  }
  fill(
    sheet_,
    h("h2", { id: "points-title" }, `${label}, over all notes`),
    h("p", { class: "hint" }, `Points are prefilled with ${start ? "those and the law that the case has" : "what some notes of the case have"}, and with what you moved. Beyond the first and the last the value is held.`),
    h("p", { class: "one-line" }, h("label", { for: "law" }, "Between the points"), law),
    list,
    ours.at,
    moves,
    picture,
    numbers,
    told,
    h(
      "p",
      { class: "acts" },
      h("button", { type: "button", class: "main", onclick: apply }, "Apply to all notes"),
      h("button", { type: "button", onclick: flat }, "One value for all"),
      h("button", { type: "button", onclick: () => sheet_.close() }, "Cancel"),
    ),
  );
  sheet_.showModal();
  build();
}

/** Notes with values of their own in the file, and the choice whether they keep them; nothing where there are none. */
function ownersPanel(owners, replaced, told) {
  if (!owners.length) return { at: null, kept: () => [], replaced: () => [] };
  const choice = (id, words, checked) => {
    const box = h("input", { type: "radio", name: "owners", id, onchange: told });
    box.checked = checked;
    return [box, h("label", { class: "check" }, box, ` ${words}`)];
  };
  const many = owners.length > 1;
  const [keep, keepAt] = choice("owners-keep", many ? "they keep them" : "it keeps it", !replaced);
  const [, replaceAt] = choice("owners-replace", many ? "replace them too" : "replace it too", replaced);
  const listed = owners.map((one) => `${noteName(one.note)} ${valueWords(one.text)}`).join(", ");
  const at = h(
    "fieldset",
    { class: "owners" },
    h("legend", {}, `${counted(owners.length, "note")} with ${many ? "values" : "a value"} of ${many ? "their" : "its"} own in the case`),
    h("p", {}, listed),
    h("p", { class: "acts" }, keepAt, replaceAt),
  );
  const notes = owners.map((one) => one.note);
  return { at, kept: () => (keep.checked ? notes : []), replaced: () => (keep.checked ? [] : notes) };
}

function withUnit(text, field) {
  const typed = text.trim().replace(/^(-?\d+),(\d+)/, "$1.$2");
  const { figure, unit } = split(typed);
  return !unit && field.unit && Number.isFinite(Number(figure)) ? `${figure} ${field.unit}` : typed;
}

/** Whether a point is a number, with a unit where the field has one. */
function figure(text, field) {
  const found = split(text);
  return /\d/.test(found.figure) && Number.isFinite(Number(found.figure)) && (!field.unit || Boolean(found.unit));
}

/** What the case says against it at the shown note; empty where it takes it. */
async function refusal(moved) {
  const others = state.edits.filter((one) => one.part !== moved.part || one.path !== moved.path);
  try {
    await known("feel", question([...others, moved]), { lane: "points" });
  } catch (problem) {
    if (!(problem instanceof Refused)) return "";
    const mine = problem.defects.filter((one) => one.part === moved.part && one.path?.startsWith(moved.path));
    if (!mine.length && problem.defects.length) return "";
    return mine.length ? mine.map((one) => capital(beside(one.text))).join(" ") : problem.message;
  }
  return "";
}

/** Law and points that the case has, as an edit has them; none where it has one value for all. */
function courseOf(field) {
  const { between: law, points, unit = "", ...flat } = field.course || {};
  const named = Object.entries(points || flat).map(([name, text]) => [name, /[\d.]$/.test(text) ? `${text} ${unit}`.trim() : text]);
  const there = named.filter(([name]) => state.about.notes.some((one) => one.name === name));
  return there.length > 1 ? { between: law || "linear", ...Object.fromEntries(there) } : null;
}

/** Points with those of notes that were moved in place of theirs, or added. */
function withMoved(rows, part, field) {
  const own = state.edits.filter((one) => one.part === part.part && one.path === field.path && one.note !== null);
  for (const { note, value } of own) {
    const text = String(value);
    const row = rows.find((one) => one.note === note);
    if (row) row.text = text;
    else rows.push({ note, text });
  }
  return rows.sort((a, b) => a.note - b.note);
}

/** Each told, one after another: a newer question takes the place of an older one. */
async function eachTold(rows, tell) {
  for (const row of rows) await tell(row);
  return rows;
}

/** A point in the reader's unit, its text as it was `exact`; without a value where the case refuses it. */
async function inReader(row, part, field) {
  const { figure: typed, unit } = split(row.text);
  if (unit === field.unit && Number.isFinite(Number(typed))) return Object.assign(row, { value: Number(typed) });
  const one = { part: part.part, path: field.path, value: row.text, note: row.note };
  try {
    const found = await fieldOf(part, field, question([one], row.note));
    return Object.assign(row, { exact: row.text, text: found.text, value: Number(found.value) });
  } catch (problem) {
    if (problem instanceof Gone) throw problem;
    return Object.assign(row, { value: NaN });
  }
}

/** Which notes get another value than the case has, in words. */
function movesWords(rows, law, before, lawBefore, ours) {
  const [kept, replaced] = [ours.kept(), ours.replaced()];
  const all = state.about.notes.map((one) => one.note);
  const notes = all.filter((note) => !kept.includes(note));
  const but = kept.length ? ` but ${namesOf(kept)}` : "";
  if (!before) return `All notes${but} get the value of this law, also those that you did not touch.`;
  const points = before.map((row) => [row.note, row.value]);
  const after = rows.map((row) => [row.note, row.value]);
  const other = notes.filter((note) => {
    if (replaced.includes(note)) return true;
    const [a, b] = [between(points, lawBefore, note), between(after, law, note)];
    return !(Math.abs(a - b) <= 1e-6 * Math.max(Math.abs(a), Math.abs(b)));
  });
  if (!other.length) return "No note is moved.";
  const ends = [];
  for (const note of other) {
    if (ends.length && all.indexOf(note) === all.indexOf(ends.at(-1)[1]) + 1) ends.at(-1)[1] = note;
    else ends.push([note, note]);
  }
  const words = ends.map(([a, b]) => (a === b ? noteName(a) : `${noteName(a)} to ${noteName(b)}`)).join(", ");
  return `Moved: ${counted(other.length, "note")} (${words})${other.length < all.length ? "; the others stay as read" : ""}.`;
}

/** Points as an edit has them. */
function written(value) {
  return Object.entries(value)
    .filter(([name]) => name !== "between")
    .map(([name, text]) => ({ note: state.about.notes.find((one) => one.name === name)?.note, text }))
    .filter((row) => row.note !== undefined)
    .sort((a, b) => a.note - b.note);
}

/** The lowest, middle and highest note as they were read, and the note that was moved. */
async function proposed(part, field, edit, figures) {
  const notes = state.about.notes.map((one) => one.note);
  if (!figures) return [{ note: notes[0], text: String(edit.value) }];
  const middle = notes.find((note) => noteName(note) === "C4") ?? notes[Math.floor(notes.length / 2)];
  const wanted = [...new Set([notes[0], middle, edit.note ?? state.note, notes.at(-1)])].sort((a, b) => a - b);
  const moved = edit.note === state.note ? field.text : String(edit.value);
  const found = [];
  for (const note of wanted) {
    const text = await asRead(part, field, note);
    found.push({ note, text: note === (edit.note ?? state.note) ? moved : text, was: text });
  }
  return found;
}

const asRead = (part, field, note) => textOf(part, field, question([], note));

const textOf = async (part, field, asked) => (await fieldOf(part, field, asked)).text;

/** The field as the server tells it of what is asked. */
async function fieldOf(part, field, asked) {
  const answer = await known("fields", asked, { lane: "points" });
  return answer.parts.find((one) => one.part === part.part)?.fields.find((one) => one.path === field.path) || field;
}

function curve(rows, law, unit) {
  const notes = state.about.notes.map((one) => one.note);
  const points = rows.map((row) => [row.note, row.value]);
  const values = notes.map((note) => [note, between(points, law, note)]);
  const all = values.map(([, y]) => y).filter(Number.isFinite);
  const [low, high] = [Math.min(0, ...all), Math.max(...all) * 1.1 || 1];
  const width = Math.min(640, document.documentElement.clientWidth - 76);
  const root = sheet(width, 190, `Over the compass: ${valueWords({ between: law, ...Object.fromEntries(rows.map((row) => [noteName(row.note), row.text])) })}.`);
  const octaves = state.about.notes.filter((one) => one.note % 12 === 0).map((one) => [one.note, one.name]);
  const box = { left: 52, top: 22, width: width - 64, height: 136 };
  const { ink, X, Y } = panel(root, box, { low: notes[0] - 0.5, high: notes.at(-1) + 0.5, marks: octaves }, { low, high, title: unit });
  ink.append(s("path", { class: "line pen-0 plain", d: course(values, X, Y) }));
  for (const [note, y] of points) ink.append(marker("0", X(note), Y(y), 4));
  return root;
}
