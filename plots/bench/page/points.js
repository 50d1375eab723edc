// A value over the whole compass: control points, and the law by which values between them follow.

import { $, fill, h, s, table, behind } from "./dom.js";
import { course, marker, panel, sheet } from "./drawing.js";
import { known } from "./server.js";
import { bare, editOf, move, noteName, state } from "./state.js";
import { capital, pathWords, plain, split, valueWords } from "./words.js";

const LAWS = {
  linear: "straight over the semitones",
  smooth: "a curve without overshoot",
  geometric: "the same ratio from note to note",
  steps: "held until the next point",
};

/** Opens the sheet on which a field of a note is laid over the compass. */
export async function openPoints(part, field, edit) {
  const sheet_ = $("points-sheet");
  const figures = ["quantity", "number", "count"].includes(field.kind);
  const start = typeof edit.value === "object" ? edit.value : null;
  const rows = start ? written(start) : await proposed(part, field, edit, figures);
  const label = `${capital(pathWords(field.path))} of the ${plain(part.part)}`;
  const law = h(
    "select",
    { id: "law", onchange: () => redraw() },
    Object.entries(LAWS)
      .filter(([name]) => figures || name === "steps")
      .map(([name, words]) => h("option", { value: name }, `${name}: ${words}`)),
  );
  law.value = start?.between || (figures ? "linear" : "steps");
  const list = h("div", { class: "points" });
  const picture = h("div", { class: "picture" });
  const numbers = h("div");
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
    value.addEventListener("change", () => {
      row.text = withUnit(value.value, field);
      value.value = row.text;
      redraw();
    });
    const drop = h("button", { type: "button", class: "small", "aria-label": `Take point ${i + 1} out`, onclick: () => remove(i) }, "take out");
    return h("div", { class: "point" }, notes, value, h("span", { class: "was" }, row.was ? `as read ${row.was}` : ""), rows.length > 1 ? drop : null);
  }

  function remove(i) {
    rows.splice(i, 1);
    build();
  }

  function add(left) {
    const middle = left[Math.floor(left.length / 2)];
    rows.push({ note: middle.note, text: rows.at(-1).text });
    rows.sort((a, b) => a.note - b.note);
    build();
  }

  function redraw() {
    const known_ = figures && rows.every((row) => Number.isFinite(Number(split(row.text).figure)));
    const units = new Set(rows.map((row) => split(row.text).unit));
    const ok = known_ && units.size === 1;
    fill(picture, ok ? curve(rows, law.value, [...units][0]) : h("p", { class: "hint" }, figures ? "Drawn where all points have one unit." : ""));
    fill(numbers, ok ? behind(table("Control points", ["note", "value"], rows.map((row) => [noteName(row.note), row.text]))) : []);
  }

  const apply = () => {
    const twice = rows.find((row, i) => i && row.note === rows[i - 1].note);
    if (twice) {
      told.textContent = `${noteName(twice.note)} has two points: take one out.`;
      return;
    }
    const value = rows.length === 1 ? rows[0].text : { between: law.value, ...Object.fromEntries(rows.map((row) => [noteName(row.note), row.text])) };
    move({ part: part.part, path: field.path, value, note: null, was: editOf(part.part, field.path)?.was });
    sheet_.close();
  };
  const flat = () => {
    move({ part: part.part, path: field.path, value: typeof edit.value === "string" ? edit.value : rows[0].text, note: null, was: edit.was });
    sheet_.close();
  };
  fill(
    sheet_,
    h("h2", { id: "points-title" }, `${label}, over all notes`),
    h("p", { class: "hint" }, "Points are prefilled with what the case has, and with what you moved. Beyond the first and the last the value is held. Values that notes have of their own in the case stay theirs."),
    h("p", { class: "one-line" }, h("label", { for: "law" }, "Between the points"), law),
    list,
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

function withUnit(text, field) {
  const typed = text.trim().replace(/^(-?\d+),(\d+)/, "$1.$2");
  const { figure, unit } = split(typed);
  return !unit && field.unit && Number.isFinite(Number(figure)) ? `${figure} ${field.unit}` : typed;
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

async function asRead(part, field, note) {
  const answer = await known("fields", { edits: bare([]), note, units: state.units }, { lane: "was" });
  const found = answer.parts.find((one) => one.part === part.part)?.fields.find((one) => one.path === field.path);
  return found ? found.text : String(field.text);
}

function curve(rows, law, unit) {
  const notes = state.about.notes.map((one) => one.note);
  const points = rows.map((row) => [row.note, Number(split(row.text).figure)]);
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

/** The value of a note by the law of the case files. */
function between(points, law, note) {
  const [first, last] = [points[0], points.at(-1)];
  if (note <= first[0]) return first[1];
  if (note >= last[0]) return last[1];
  const i = points.findIndex(([at]) => at > note) - 1;
  const [[a, fa], [b, fb]] = [points[i], points[i + 1]];
  const t = (note - a) / (b - a);
  if (law === "steps") return fa;
  if (law === "geometric") return fa > 0 && fb > 0 ? fa * (fb / fa) ** t : NaN;
  if (law === "smooth") return smooth(points, i, t);
  return fa + t * (fb - fa);
}

/** Monotone cubic between points, slopes as weighted harmonic means (Fritsch and Butland, SIAM J. Sci. Stat. Comput. 5, 1984). */
function smooth(points, i, t) {
  const n = points.length;
  const h_ = points.slice(1).map(([x], k) => x - points[k][0]);
  const d = points.slice(1).map(([, y], k) => (y - points[k][1]) / h_[k]);
  if (n === 2) return points[0][1] + t * h_[0] * d[0];
  const inner = (k) => {
    if (d[k - 1] * d[k] <= 0) return 0;
    const [w1, w2] = [2 * h_[k] + h_[k - 1], h_[k] + 2 * h_[k - 1]];
    return (w1 + w2) / (w1 / d[k - 1] + w2 / d[k]);
  };
  const end = (h0, h1, d0, d1) => {
    const slope = ((2 * h0 + h1) * d0 - h0 * d1) / (h0 + h1);
    if (Math.sign(slope) !== Math.sign(d0)) return 0;
    return Math.sign(d0) !== Math.sign(d1) && Math.abs(slope) > 3 * Math.abs(d0) ? 3 * d0 : slope;
  };
  const slope = (k) => (k === 0 ? end(h_[0], h_[1], d[0], d[1]) : k === n - 1 ? end(h_[n - 2], h_[n - 3], d[n - 2], d[n - 3]) : inner(k));
  const [m0, m1] = [slope(i) * h_[i], slope(i + 1) * h_[i]];
  const [y0, y1] = [points[i][1], points[i + 1][1]];
  return (2 * t ** 3 - 3 * t ** 2 + 1) * y0 + (t ** 3 - 2 * t ** 2 + t) * m0 + (3 * t ** 2 - 2 * t ** 3) * y1 + (t ** 3 - t ** 2) * m1;
}
