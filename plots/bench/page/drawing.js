// Frames, axes and hatchings that all pictures share.

import { h, newId, s } from "./dom.js";

/** Round places of an axis from low to high, about `wanted` of them. */
export function ticks(low, high, wanted) {
  if (!(high > low)) return [low];
  const raw = (high - low) / Math.max(1, wanted);
  const power = 10 ** Math.floor(Math.log10(raw));
  const step = [1, 2, 2.5, 5, 10].find((k) => k * power >= raw * (1 - 1e-9)) * power;
  const first = Math.ceil(low / step - 1e-9);
  const found = [];
  for (let k = first; k * step <= high + step * 1e-6; k++) found.push(Number((k * step).toPrecision(10)));
  return found;
}

const label = (value) => String(value).replace("-", "−");

/**
 * A panel with axes.
 *
 * `x` and `y` are {low, high, title, marks}; `marks` are [place, words] where axes have words of their own.
 * Returns the group to draw in and the scales X and Y in pixels.
 */
export function panel(root, box, x, y) {
  const X = (value) => box.left + ((value - x.low) / (x.high - x.low || 1)) * box.width;
  const Y = (value) => box.top + box.height - ((value - y.low) / (y.high - y.low || 1)) * box.height;
  const back = s("g", { class: "axes" });
  const low = box.top + box.height;
  const xs = x.marks || ticks(x.low, x.high, Math.max(2, box.width / 80)).map((at) => [at, label(at)]);
  const ys = y.marks || ticks(y.low, y.high, Math.max(2, box.height / 48)).map((at) => [at, label(at)]);
  for (const [at, words] of xs) {
    if (!x.still) back.append(s("line", { class: "grid", x1: X(at), x2: X(at), y1: box.top, y2: low }));
    if (words) back.append(s("text", { class: "tick", x: X(at), y: low + 16, "text-anchor": "middle" }, words));
  }
  for (const [at, words] of ys) {
    back.append(s("line", { class: "grid", x1: box.left, x2: box.left + box.width, y1: Y(at), y2: Y(at) }));
    if (words) back.append(s("text", { class: "tick", x: box.left - 7, y: Y(at) + 4, "text-anchor": "end" }, words));
  }
  back.append(
    s("line", { class: "axis", x1: box.left, x2: box.left + box.width, y1: low, y2: low }),
    s("line", { class: "axis", x1: box.left, x2: box.left, y1: box.top, y2: low }),
  );
  if (x.title)
    back.append(
      s("text", { class: "axis-title", x: box.left + box.width / 2, y: low + 34, "text-anchor": "middle" }, x.title),
    );
  if (y.title) back.append(s("text", { class: "axis-title", x: y.titleAt ?? 0, y: box.top - 9 }, y.title));
  const id = newId("clip");
  const ink = s("g", { "clip-path": `url(#${id})` });
  root.append(
    s("clipPath", { id }, s("rect", { x: box.left, y: box.top, width: box.width, height: box.height })),
    back,
    ink,
  );
  return { ink, over: root, X, Y, box };
}

/** The empty picture of a width and height, with its words for those who do not see it. */
export function sheet(width, height, words) {
  return s("svg", {
    class: "drawn",
    viewBox: `0 0 ${width} ${height}`,
    width,
    height,
    role: "img",
    "aria-label": words,
  });
}

/** Points as a path, with gaps where a figure is missing. */
export function course(points, X, Y) {
  let pen = "M";
  let text = "";
  for (const [x, y] of points) {
    if (x === null || y === null || !Number.isFinite(x) || !Number.isFinite(y)) {
      pen = "M";
      continue;
    }
    text += `${pen}${X(x).toFixed(1)} ${Y(y).toFixed(1)}`;
    pen = "L";
  }
  return text;
}

/** The marker of a pen at a place: the same signs as in printed pictures. */
export function marker(pen, x, y, r = 4) {
  const at = (points) => points.map(([a, b]) => `${(x + a * r).toFixed(1)},${(y + b * r).toFixed(1)}`).join(" ");
  const shapes = {
    1: [[-0.9, -0.9], [0.9, -0.9], [0.9, 0.9], [-0.9, 0.9]],
    2: [[0, -1.1], [1, 0.8], [-1, 0.8]],
    3: [[0, -1.2], [1.1, 0], [0, 1.2], [-1.1, 0]],
  };
  if (shapes[pen]) return s("polygon", { class: `marker pen-${pen}`, points: at(shapes[pen]) });
  return s("circle", { class: `marker pen-${pen}`, cx: x, cy: y, r });
}

/** How a pen looks, for legends. */
export function sample(pen, extra = "") {
  const made = s("svg", { class: "sample", width: 34, height: 12, viewBox: "0 0 34 12", "aria-hidden": "true" });
  made.append(s("line", { class: `line pen-${pen} ${extra}`, x1: 1, x2: 33, y1: 6, y2: 6 }));
  if (!extra && pen !== "was") made.append(marker(pen, 17, 6, 3));
  return made;
}

const STEP = 9;

/** The strokes of one sign of a hatching within a square of STEP. */
function strokes(sign, many) {
  const n = Math.min(3, many);
  const lines = [];
  for (let i = 0; i < n; i++) {
    const o = (i * STEP) / n;
    if (sign === "/" || sign === "x") lines.push(slant(o, 1));
    if (sign === "\\" || sign === "x") lines.push(slant(o, -1));
    if (sign === "-" || sign === "+") lines.push(`M0 ${o + STEP / (2 * n)}H${STEP}`);
    if (sign === "|" || sign === "+") lines.push(`M${o + STEP / (2 * n)} 0V${STEP}`);
  }
  return lines.join("");
}

function slant(o, way) {
  return way > 0
    ? `M${o - STEP} ${STEP}L${o} 0M${o} ${STEP}L${o + STEP} 0`
    : `M${o - STEP} 0L${o} ${STEP}M${o} 0L${o + STEP} ${STEP}`;
}

/** The fill of an area in a part's colour and hatching; the pattern goes into `root`. */
export function filled(root, look) {
  const { color = "#b9b9b9", hatch = "" } = look || {};
  if (!hatch) return color;
  const id = newId("hatch");
  const made = s("pattern", { id, width: STEP, height: STEP, patternUnits: "userSpaceOnUse" });
  made.append(s("rect", { width: STEP, height: STEP, fill: color }));
  for (const sign of new Set(hatch)) {
    const many = [...hatch].filter((one) => one === sign).length;
    const text = strokes(sign, Math.ceil(many / 2));
    if (text) made.append(s("path", { d: text, class: "stroke" }));
    else made.append(s("circle", { cx: STEP / 2, cy: STEP / 2, r: sign === "." ? 1.1 : 2.2, class: "dot" }));
  }
  root.append(made);
  return `url(#${id})`;
}

/** A small patch of a part's colour and hatching. */
export function patch(look, size = 14) {
  const made = s("svg", {
    class: "patch",
    width: size,
    height: size,
    viewBox: `0 0 ${size} ${size}`,
    "aria-hidden": "true",
  });
  made.append(
    s("rect", { x: 0.5, y: 0.5, width: size - 1, height: size - 1, rx: 2, fill: filled(made, look), class: "edge" }),
  );
  return made;
}

/** Draws anew whenever the room that a picture has becomes another one. */
export function fitted(where, draw) {
  let width = 0;
  const again = () => {
    const now = Math.floor(where.clientWidth);
    if (now > 0) draw((width = now));
  };
  new ResizeObserver(() => {
    if (Math.abs(Math.floor(where.clientWidth) - width) > 1) again();
  }).observe(where);
  return again;
}

/** Places along a row that do not overlap, each as near as may be to where it is wanted; `wanted` rises. */
export function spread(wanted, size, low, high) {
  const pools = [];
  wanted.forEach((value, i) => {
    let [mean, count] = [value - i * size, 1];
    while (pools.length && pools.at(-1)[0] > mean) {
      const [before, held] = pools.pop();
      mean = (before * held + mean * count) / (held + count);
      count += held;
    }
    pools.push([mean, count]);
  });
  const free = pools.flatMap(([mean, count]) => Array(count).fill(mean));
  const top = Math.max(high - (wanted.length - 1) * size, low);
  return free.map((mean, i) => Math.min(Math.max(mean, low), top) + i * size);
}

/** In place of a picture: why there is none. */
export const noPicture = (why) => h("p", { class: "no-picture" }, why);
