// The whole compass: what every note does, and the steps between neighbours that a finger can tell.

import { behind, fill, s, table } from "./dom.js";
import { course, fitted, marker, noPicture, panel, sheet, ticks } from "./drawing.js";
import { capital, short } from "./words.js";

const PANELS = ["pluck_force", "steps", "pluck_point", "steady_lift", "speech_delay", "repetition_rate"];

/** `choose(note)` is called when a note is clicked; `draw({now, was, about, note, edge})` shows what came so far. */
export function compassPicture(where, table_, choose) {
  let shown = null;
  const again = fitted(where, (width) => {
    if (!shown) return;
    const some = shown.now && shown.now.notes.length;
    fill(where, some ? drawn(shown, width, choose) : noPicture("Not drawn yet."));
  });
  return (data) => {
    shown = data;
    again();
    const some = data.now && data.now.notes.length;
    fill(table_, some ? behind(numbers(data), table_.querySelector("details")?.open) : []);
  };
}

/** Pieces of the server put together: figures of all notes so far, by name. */
export function gather(before, piece) {
  const made = before || { notes: [], figures: {}, verdicts: [], steps: null };
  if (piece.steps) return { ...made, steps: piece.steps };
  if (!piece.notes) return made;
  const figures = { ...made.figures };
  for (const [name, values] of Object.entries(piece.figures)) figures[name] = [...(figures[name] || []), ...values];
  return {
    ...made,
    notes: [...made.notes, ...piece.notes],
    verdicts: [...made.verdicts, ...(piece.verdicts || [])],
    figures,
  };
}

/** Steps of the pluck force from the note below, as shares of their mean. */
function stepsOf(whole) {
  const values = whole.figures.pluck_force || [];
  return whole.notes.map((note, i) => {
    const [a, b] = [values[i - 1], values[i]];
    if (!i || note - whole.notes[i - 1] !== 1 || !Number.isFinite(a) || !Number.isFinite(b) || a + b <= 0) return null;
    return (b - a) / ((a + b) / 2);
  });
}

const unsound = (verdict) => verdict && !verdict.sound;

/** Notes with which something is wrong. */
export const illOf = (whole) => (whole?.notes || []).filter((_, i) => unsound(whole.verdicts[i]));

function drawn({ now, was, about, note, edge }, width, choose) {
  const names = PANELS.filter((name) => name === "steps" || now.figures[name]?.some(Number.isFinite));
  const columns = width >= 680 ? 2 : 1;
  const [left, right, high, gap] = [48, 14, 112, 44];
  const room = width / columns - left - right;
  const rows = Math.ceil(names.length / columns);
  const root = sheet(width, rows * (high + gap) + 18, said(now, about, edge));
  names.forEach((name, i) => {
    const [column, row] = [i % columns, Math.floor(i / columns)];
    const box = { left: column * (width / columns) + left, top: row * (high + gap) + 26, width: room, height: high };
    if (name === "steps") stepPanel(root, box, now, about, note, edge);
    else valuePanel(root, box, name, now, was, about, note);
    pick(root, box, about, choose);
  });
  return root;
}

function across(about) {
  const notes = about.notes.map((one) => one.note);
  const octaves = about.notes.filter((one) => one.note % 12 === 0).map((one) => [one.note, one.name]);
  return { low: notes[0] - 0.7, high: notes.at(-1) + 0.7, marks: octaves };
}

function titled(root, box, words) {
  root.append(s("text", { class: "panel-title", x: box.left, y: box.top - 9 }, words));
}

function here(made, note) {
  const { ink, X, box } = made;
  ink.append(s("rect", { class: "here", x: X(note - 0.5), y: box.top, width: X(note + 0.5) - X(note - 0.5), height: box.height }));
}

function valuePanel(root, box, name, now, was, about, note) {
  const quantity = about.quantities[name];
  const values = [...now.figures[name], ...(was?.figures[name] || [])].filter(Number.isFinite);
  const top = Math.max(...values, 0);
  const low = Math.min(...values);
  const floor = low > 0.6 * top && name !== "pluck_force" ? low - 0.2 * (top - low || top) : Math.min(0, low);
  const made = panel(root, box, across(about), { low: floor, high: top + 0.08 * (top - floor) || 1 });
  titled(root, box, `${capital(quantity.label)}${quantity.unit ? ` (${quantity.unit})` : ""}`);
  here(made, note);
  const { ink, X, Y } = made;
  if (was?.figures[name]) ink.append(s("path", { class: "line pen-was", d: course(pairs(was, name), X, Y) }));
  ink.append(s("path", { class: "line thin pen-0 plain", d: course(pairs(now, name), X, Y) }));
  now.notes.forEach((one, i) => {
    const value = now.figures[name][i];
    if (Number.isFinite(value)) ink.append(s("circle", { class: "dot-0", cx: X(one), cy: Y(value), r: 2.2 }));
    if (unsound(now.verdicts[i]) || (name === "pluck_force" && !Number.isFinite(value)))
      ink.append(s("path", { class: "cross", d: `M${X(one) - 3} ${box.top + box.height - 9}l6 6m0 -6l-6 6` }));
  });
}

const pairs = (whole, name) => whole.notes.map((note, i) => [note, whole.figures[name]?.[i] ?? null]);

function stepPanel(root, box, now, about, note, edge) {
  const steps = stepsOf(now).map((one) => (one === null ? null : 100 * one));
  const limit = 100 * edge;
  const most = Math.max(limit * 1.3, ...steps.filter((one) => one !== null).map(Math.abs)) * 1.06;
  const made = panel(root, box, across(about), {
    low: -most,
    high: most,
    marks: ticks(-most, most, 4).map((at) => [at, String(at).replace("-", "−")]),
  });
  titled(root, box, "Step of the pluck from the note below (%)");
  here(made, note);
  const { ink, X, Y } = made;
  for (const at of [limit, -limit]) ink.append(s("line", { class: "edge-line", x1: box.left, x2: box.left + box.width, y1: Y(at), y2: Y(at) }));
  const wide = Math.max(1.5, (X(1) - X(0)) * 0.55);
  now.notes.forEach((one, i) => {
    const step = steps[i];
    if (step === null) return;
    const beyond = Math.abs(step) > limit;
    const [a, b] = [Y(Math.max(0, step)), Y(Math.min(0, step))];
    ink.append(s("rect", { class: beyond ? "step beyond" : "step", x: X(one) - wide / 2, y: a, width: wide, height: Math.max(0.8, b - a) }));
    if (beyond) ink.append(marker(2, X(one), step > 0 ? a - 5 : b + 6, 3.4));
  });
  ink.append(s("line", { class: "axis", x1: box.left, x2: box.left + box.width, y1: Y(0), y2: Y(0) }));
}

/** A click in a panel chooses the note there; the keyboard has the row of keys above for that. */
function pick(root, box, about, choose) {
  const { low, high } = across(about);
  const area = s("rect", { class: "pick", x: box.left, y: box.top, width: box.width, height: box.height });
  area.addEventListener("click", (event) => {
    const seen = area.getBoundingClientRect();
    const wanted = low + ((event.clientX - seen.left) / seen.width) * (high - low);
    const notes = about.notes.map((one) => one.note);
    choose(notes.reduce((a, b) => (Math.abs(b - wanted) < Math.abs(a - wanted) ? b : a)));
  });
  root.append(area);
}

export function beyondWords(now, about, edge) {
  const steps = stepsOf(now);
  const name = (note) => about.notes.find((one) => one.note === note)?.name || note;
  const far = now.notes.filter((_, i) => steps[i] !== null && Math.abs(steps[i]) > edge);
  const played = (i) => !now.verdicts[i]?.failed;
  const failed = now.notes.filter((_, i) => !played(i));
  const ill = now.notes.filter((_, i) => unsound(now.verdicts[i]) && played(i));
  const untold = now.notes.filter((_, i) => !unsound(now.verdicts[i]) && !Number.isFinite(now.figures.pluck_force?.[i]));
  const told = far.length
    ? `Steps of the pluck beyond ${(100 * edge).toFixed(0)} %, which a finger can tell: at ${far.map(name).join(", ")}.`
    : `No step of the pluck from note to note is beyond ${(100 * edge).toFixed(0)} %.`;
  const [one, more] = [failed.length === 1, failed.length > 1];
  return [
    one && `${name(failed[0])} cannot be played: its stroke fails; what its slow press tells is shown.`,
    more && `${failed.map(name).join(", ")} cannot be played: their strokes fail; what their slow presses tell is shown.`,
    ill.length && `Something is wrong with ${ill.map(name).join(", ")}.`,
    told,
    untold.length && `No pluck is told of ${untold.map(name).join(", ")}, and no step.`,
  ].filter(Boolean).join(" ");
}

function said(now, about, edge) {
  const values = (now.figures.pluck_force || []).filter(Number.isFinite);
  const range = values.length
    ? `Pluck force from ${short(Math.max(...values))} to ${short(Math.min(...values))} ${about.quantities.pluck_force.unit}. `
    : "";
  return `Figures of all notes over the compass. ${range}${beyondWords(now, about, edge)}`;
}

function numbers({ now, about, edge }) {
  const names = PANELS.filter((name) => name !== "steps" && now.figures[name]);
  const steps = stepsOf(now);
  const heads = ["note", ...names.map((name) => `${about.quantities[name].label} (${about.quantities[name].unit || "–"})`), "step of the pluck", "verdict"];
  const rows = now.notes.map((note, i) => [
    about.notes.find((one) => one.note === note)?.name || String(note),
    ...names.map((name) => (Number.isFinite(now.figures[name][i]) ? short(now.figures[name][i]) : "–")),
    steps[i] === null ? "–" : `${(100 * steps[i]).toFixed(1)} %${Math.abs(steps[i]) > edge ? " ▲" : ""}`,
    now.verdicts[i]?.sentence || "",
  ]);
  return table("Figures of all notes", heads, rows, { class: "wide" });
}
