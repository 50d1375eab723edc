// The slow press: key force against key travel, down and up, with the state as read and kept states behind.

import { behind, fill, h, s, table } from "./dom.js";
import { course, fitted, marker, noPicture, panel, sample, sheet, spread } from "./drawing.js";
import { short, tidy } from "./words.js";

const ROWS = 16;

/** The feel curve in `where`; `draw({now, was, kept, why})` shows answers of the server. */
export function feelPicture(where, table_, legend) {
  let shown = null;
  const again = fitted(where, (width) => {
    if (!shown) return;
    fill(where, shown.why ? noPicture(shown.why) : drawn(shown, width));
  });
  return (data) => {
    shown = data;
    again();
    fill(legend, data.why ? [] : key(data));
    fill(table_, data.why ? [] : behind(numbers(data), table_.querySelector("details")?.open));
  };
}

const has = (one) => one && one.down?.length > 1;

function key({ now, was, kept }) {
  const entry = (pen, words, extra) => h("li", {}, sample(pen, extra), words);
  return h(
    "ul",
    { class: "legend" },
    entry("0", "slow, down", "plain"),
    entry("0", "slow, up", "up"),
    h("li", {}, h("span", { class: "swatch lost" }), "work lost in the stroke"),
    has(was) && was !== now ? entry("was", "as read, down") : null,
    kept.filter((one) => has(one.feel)).map((one) => entry(String(one.place), one.name)),
  );
}

/** As far as the key goes, and high enough for what happens above the bottom felt, which runs out of the frame. */
function frame(all) {
  const far = Math.max(...all.flatMap((one) => one.down.map(([x]) => x)));
  const forces = all.flatMap((one) => (one.marks || []).map((mark) => mark.force).filter(Number.isFinite));
  const high = forces.length ? Math.max(...forces) * 1.18 : Math.max(...all.flatMap((one) => one.down.map(([, y]) => y)));
  return { far: far * 1.01 || 1, high: high || 1 };
}

function drawn({ now, was, kept, touch }, width) {
  const others = [...(has(was) && was !== now ? [was] : []), ...kept.map((one) => one.feel).filter(has)];
  const { far, high } = frame([now, ...others]);
  const small = width < 520;
  const height = Math.round(Math.min(460, Math.max(250, width * 0.56)));
  const top = small ? 30 : 48;
  const box = { left: 46, top, width: width - 46 - (small ? 10 : 118), height: height - top - 42 };
  const root = sheet(width, height, said(now));
  const made = panel(
    root,
    box,
    { low: 0, high: far, title: `${now.x.label} (${now.x.unit})` },
    { low: 0, high, title: `${now.y.label} (${now.y.unit})` },
  );
  const { ink, X, Y } = made;
  if (touch < far) ink.append(s("rect", { class: "felt", x: X(touch), y: box.top, width: X(far) - X(touch), height: box.height }));
  ink.append(s("path", { class: "lost", d: `${course([...now.down, ...now.up], X, Y)}Z` }));
  if (has(was) && was !== now) {
    ink.append(s("path", { class: "line pen-was up", d: course(was.up, X, Y) }));
    ink.append(s("path", { class: "line pen-was", d: course(was.down, X, Y) }));
  }
  for (const one of kept.filter((k) => has(k.feel))) {
    ink.append(s("path", { class: `line pen-${one.place}`, d: course(one.feel.down, X, Y) }));
    const pluck = one.feel.marks?.find((mark) => mark.name === "pluck");
    if (pluck) ink.append(marker(one.place, X(pluck.at), Y(pluck.force)));
  }
  ink.append(s("path", { class: "line pen-0 up", d: course(now.up, X, Y) }));
  ink.append(s("path", { class: "line pen-0", d: course(now.down, X, Y) }));
  marks(made, now, small, width, far, high, touch);
  return root;
}

/** Places along the key above the frame, forces beside it; on narrow pages forces stand within. */
function marks({ ink, over, X, Y, box }, now, small, width, far, high, touch) {
  const named = now.marks || [];
  const above = named.filter((mark) => Number.isFinite(mark.at) && mark.at <= far).sort((a, b) => a.at - b.at);
  const beside = named.filter((mark) => Number.isFinite(mark.force) && mark.force <= high).sort((a, b) => b.force - a.force);
  const pluck = above.find((mark) => mark.name === "pluck");
  const [right, low] = [box.left + box.width, box.top + box.height];
  for (const mark of above) ink.append(s("line", { class: "guide", x1: X(mark.at), x2: X(mark.at), y1: box.top, y2: low }));
  for (const mark of beside) {
    const from = X(mark.at ?? pluck?.at ?? 0);
    ink.append(s("line", { class: "guide", x1: from, x2: right, y1: Y(mark.force), y2: Y(mark.force) }));
  }
  if (pluck) over.append(s("circle", { class: "pluck", cx: X(pluck.at), cy: Y(pluck.force), r: 5 }));
  forces(over, beside, now, small, { Y, right, inner: X(Math.min(touch, far)) - 6, top: box.top, low });
  if (!small) places(over, above, now, { X, box, width });
}

function forces(over, beside, now, small, { Y, right, inner, top, low }) {
  const at = spread(beside.map((mark) => Y(mark.force)), 34, top + 8, low - 20);
  beside.forEach((mark, i) => {
    const [name, figure] = worded(mark, now.y.unit);
    const y = Y(mark.force);
    if (small) {
      over.append(s("text", { class: "mark halo", x: inner, y: y - 6, "text-anchor": "end" }, `${name} ${figure}`));
      return;
    }
    over.append(s("path", { class: "leader", d: `M${right} ${y}L${right + 6} ${y}L${right + 16} ${at[i]}` }));
    over.append(s("text", { class: "mark", x: right + 20, y: at[i] - 2 }, name));
    over.append(s("text", { class: "mark strong", x: right + 20, y: at[i] + 13 }, figure));
  });
}

const CALLED = { lost: "lost motion", pluck: "pluck point", dip: "dip under load" };
/** Pixels that a place's words take. */
const WORDS = 92;

function places(over, above, now, { X, box, width }) {
  const at = spread(above.map((mark) => X(mark.at)), WORDS, box.left + 128, width - WORDS / 2);
  above.forEach((mark, i) => {
    const [x, y] = [X(mark.at), box.top];
    over.append(s("path", { class: "leader", d: `M${x} ${y}L${x} ${y - 3}L${at[i]} ${y - 12}` }));
    over.append(s("text", { class: "mark", x: at[i], y: y - 30, "text-anchor": "middle" }, CALLED[mark.name] || mark.name));
    over.append(s("text", { class: "mark strong", x: at[i], y: y - 15, "text-anchor": "middle" }, `${tidy(mark.at)} ${now.x.unit}`));
  });
}

function worded(mark, unit) {
  const names = { pluck: "pluck", follow: "follow-through" };
  return [names[mark.name] || mark.name, `${tidy(mark.force)} ${unit}`];
}

/** The picture in words. */
function said(now) {
  const words = (now.marks || []).map((mark) => mark.text).filter(Boolean);
  return `Feel curve: ${now.y.label} against ${now.x.label}, pressed slowly, down and up. ${words.join("; ")}.`;
}

/** Force at a travel of a course that goes along the key; none where it does not reach. */
function forceAt(points, x) {
  for (let i = 1; i < points.length; i++) {
    const [[a, fa], [b, fb]] = [points[i - 1], points[i]];
    if ((a <= x && x <= b) || (b <= x && x <= a)) return a === b ? fb : fa + ((fb - fa) * (x - a)) / (b - a);
  }
  return NaN;
}

function numbers({ now, was, kept }) {
  const end = Math.max(...now.down.map(([x]) => x));
  const others = [
    ...(has(was) && was !== now ? [["as read, down", was.down]] : []),
    ...kept.filter((one) => has(one.feel)).map((one) => [`${one.name}, down`, one.feel.down]),
  ];
  const rows = Array.from({ length: ROWS + 1 }, (_, i) => {
    const x = (end * i) / ROWS;
    return [short(x), ...[now.down, now.up, ...others.map((one) => one[1])].map((line) => short(forceAt(line, x)))];
  });
  const heads = [`${now.x.label} (${now.x.unit})`, "down", "up", ...others.map((one) => one[0])];
  return table(`Key force in ${now.y.unit} of a slow press`, heads, rows);
}
