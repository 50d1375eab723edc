// The path of a stroke: when the motion arrives at every station from the finger to the groove.

import { behind, fill, s, table } from "./dom.js";
import { course, filled, fitted, noPicture, panel, sheet } from "./drawing.js";
import { plain, short } from "./words.js";

const ROW = 46;
/** A motion is drawn so high at most, as a share of a row and more: neighbours may overlap a little. */
const HIGH = 0.78;

export function pathPicture(where, table_) {
  let shown = null;
  const again = fitted(where, (width) => {
    if (!shown) return;
    const path = shown.now?.path;
    fill(where, path?.stations ? drawn(shown, width) : noPicture(path?.none || "There is no stroke to show of this note."));
  });
  return (data) => {
    shown = data;
    again();
    const path = data.now?.path;
    fill(table_, path?.stations ? behind(numbers(path), table_.querySelector("details")?.open) : []);
  };
}

/** A time as it is read: tenths of a millisecond. */
const told = (value, unit) => (unit === "ms" ? value.toFixed(1).replace(/^-0\.0$/, "0.0") : short(value));

/** A lag with its sign, which none has that is shown as nothing. */
function signed(lag, unit) {
  const size = told(Math.abs(lag), unit);
  return Number(size) === 0 ? size : `${lag > 0 ? "+" : "−"}${size}`;
}

const last = (values) => Math.max(...values.filter(Number.isFinite));
const first = (values) => Math.min(...values.filter(Number.isFinite));

/** Windows in time: the press until all has arrived, and the release until the groove is silent. */
function windows(path) {
  const end = path.time.at(-1);
  const { stations } = path;
  const downs = stations.flatMap((one) => [one.down, one.full]);
  const ups = stations.flatMap((one) => [one.up, one.silent]);
  const found = [];
  const pressed = last(downs);
  if (Number.isFinite(pressed)) found.push({ title: "Down", key: "down", low: 0, high: Math.min(end, pressed * 1.7) });
  const done = last(ups);
  if (Number.isFinite(done)) {
    const begin = Number.isFinite(path.lift) ? path.lift : first(ups) - 10;
    found.push({ title: "Up", key: "up", low: begin, high: Math.min(end, done + 0.25 * (done - begin)), zero: Number.isFinite(path.lift) });
  }
  return found;
}

function drawn({ now, looks }, width) {
  const { path } = now;
  const shown = windows(path);
  if (!shown.length) return noPicture("The stroke arrives nowhere: there is no path to show.");
  const beside = width >= 560 && shown.length > 1;
  const names = Math.min(178, Math.max(100, width * 0.23));
  const count = path.stations.length;
  const tall = count * ROW + 14;
  const block = tall + 74;
  const height = beside || shown.length < 2 ? block : 2 * block;
  const root = sheet(width, height, said(path));
  const gap = 94;
  const room = beside ? (width - names - 2 * gap) / 2 : width - names - gap;
  shown.forEach((window_, i) => {
    const left = names + (beside ? i * (room + gap) : 0);
    const top = 34 + (beside ? 0 : i * block);
    one(root, path, looks, window_, { left, top, width: room, height: tall }, !beside || i === 0 ? names : 0);
  });
  return root;
}

function one(root, path, looks, window_, box, names) {
  const { stations, time } = path;
  const count = stations.length;
  const zero = window_.zero ? window_.low : 0;
  const foot = (i) => count - i - 1 + 0.12;
  const made = panel(
    root,
    box,
    { low: window_.low - zero, high: window_.high - zero, title: `time from the ${zero ? "finger's lift" : "press"} (${path.unit})` },
    { low: 0, high: count, marks: [] },
  );
  const { ink, over, X, Y } = made;
  over.append(s("text", { class: "panel-title", x: box.left, y: box.top - 14 }, window_.title));
  const right = box.left + box.width;
  over.append(s("text", { class: "tick", x: right + 82, y: box.top - 14, "text-anchor": "end" }, `arrives (${path.unit})`));
  const ways = stations.filter((one_) => !one_.groove).flatMap((one_) => one_.way.filter(Number.isFinite));
  const most = Math.max(...ways, 1e-9);
  const points = [];
  stations.forEach((station, i) => {
    const scale = HIGH / (station.groove ? 1 : most);
    const line = time.map((t, k) => [t - zero, Number.isFinite(station.way[k]) ? foot(i) + station.way[k] * scale : null]);
    const inside = line.filter(([t, v]) => v !== null && t >= window_.low - zero && t <= window_.high - zero);
    const look = looks[station.part];
    if (inside.length > 1) {
      const area = `${course(inside, X, Y)}L${X(inside.at(-1)[0])} ${Y(foot(i))}L${X(inside[0][0])} ${Y(foot(i))}Z`;
      ink.append(s("path", { class: look ? "way" : "way none", d: area, fill: look ? filled(root, { color: look.color }) : undefined }));
    }
    ink.append(s("path", { class: "line thin pen-0 plain", d: course(line, X, Y) }));
    ink.append(s("line", { class: "grid", x1: box.left, x2: right, y1: Y(foot(i)), y2: Y(foot(i)) }));
    const at = Number.isFinite(station[window_.key]) ? station[window_.key] - zero : NaN;
    if (Number.isFinite(at)) {
      points.push([at, valueAt(line, at)]);
      const before = (stations[station.before]?.[window_.key] ?? NaN) - zero;
      const lag = Number.isFinite(before) && path.unit === "ms" ? signed(at - before, path.unit) : "";
      over.append(s("text", { class: "mark strong", x: right + 82, y: Y(foot(i)) - 4, "text-anchor": "end" }, told(at, path.unit)));
      if (lag) over.append(s("text", { class: "lag", x: right + 40, y: Y(foot(i)) - 4, "text-anchor": "end" }, lag));
    } else {
      over.append(s("text", { class: "lag", x: right + 82, y: Y(foot(i)) - 4, "text-anchor": "end" }, "never"));
    }
    if (names) station_(over, station, look, names, Y(foot(i)), i < count - 1 ? Y(foot(i + 1)) : null);
  });
  if (points.length > 1) ink.append(s("path", { class: "arrival", d: course(points, X, Y) }));
  for (const [t, v] of points) ink.append(s("circle", { class: "arrived", cx: X(t), cy: Y(v), r: 3.6 }));
}

/** The station's name on the line of the train. */
function station_(over, station, look, names, y, next) {
  const x = names - 16;
  if (next) over.append(s("line", { class: "train", x1: x, x2: x, y1: y, y2: next }));
  over.append(s("circle", { class: "stop", cx: x, cy: y - 4, r: 5, fill: look ? look.color : "currentColor" }));
  const lines = broken(plain(station.name), Math.floor((names - 28) / 7.2));
  lines.forEach((line, i) => {
    const at = y - 13 * (lines.length - 1 - i);
    over.append(s("text", { class: "bar-name strong", x: x - 11, y: at, "text-anchor": "end" }, line));
  });
}

/** A name in two lines where one is too short for it. */
function broken(name, most) {
  if (name.length <= most || !name.includes(" ")) return [name];
  const places = [...name].map((sign, i) => (sign === " " ? i : -1)).filter((i) => i > 0);
  const cut = places.reduce((a, b) => (Math.abs(b - name.length / 2) < Math.abs(a - name.length / 2) ? b : a));
  return [name.slice(0, cut), name.slice(cut + 1)];
}

function valueAt(line, at) {
  for (let i = 1; i < line.length; i++) {
    const [[a, fa], [b, fb]] = [line[i - 1], line[i]];
    if (a <= at && at <= b && fa !== null && fb !== null) return a === b ? fb : fa + ((fb - fa) * (at - a)) / (b - a);
  }
  return NaN;
}

function said(path) {
  const down = path.stations.filter((one_) => Number.isFinite(one_.down));
  const words = down.map((one_) => `${plain(one_.name)} at ${told(one_.down, path.unit)} ${path.unit}`);
  return `Path of a stroke. The press arrives at ${words.join(", ") || "no station"}.`;
}

function numbers(path) {
  const text = (value) => (Number.isFinite(value) ? short(value) : "never");
  const rows = path.stations.map((one_) => [
    plain(one_.name),
    plain(one_.link || "–"),
    text(one_.down),
    text(one_.up),
    short(Math.max(...one_.way.filter(Number.isFinite))) + (one_.groove ? " of the box pressure" : ` ${path.way_unit}`),
  ]);
  const heads = ["station", "carried there by", `press arrives (${path.unit})`, `release arrives (${path.unit})`, "goes as far as"];
  return table("When a stroke arrives at every station, from the press", heads, rows);
}
