// What gives way before the pluck, and what weighs at the key, as bars.

import { behind, fill, s, table } from "./dom.js";
import { filled, fitted, noPicture, sheet } from "./drawing.js";
import { shareLook } from "./looks.js";
import { plain, short } from "./words.js";

/** Two rows of bars in `where`; `draw({now, was})` shows figures of the server. */
export function budgetPicture(where, table_, name, title) {
  let shown = null;
  const again = fitted(where, (width) => {
    if (!shown) return;
    const rows = shown.now?.[name] || [];
    fill(where, rows.length ? drawn(shown, name, title, width) : noPicture("Nothing to show of this note."));
  });
  return (data) => {
    shown = data;
    again();
    fill(table_, data.now?.[name]?.length ? behind(numbers(data, name, title), table_.querySelector("details")?.open) : []);
  };
}

const key = (one) => one.name;
const found = (list, one) => (list || []).find((other) => key(other) === key(one));

function drawn({ now, was, looks }, name, title, width) {
  const rows = now[name];
  const before = was && was !== now ? was[name] : null;
  const most = Math.max(...[...rows, ...(before || [])].map((one) => Math.abs(one.value)), 1e-12);
  const left = Math.min(164, Math.max(100, width * 0.4));
  const right = 78;
  const step = 23;
  const height = rows.length * step + 10;
  const sum = rows.reduce((all, one) => all + one.value, 0);
  const heaviest = [...rows].sort((a, b) => b.value - a.value).slice(0, 3);
  const words = `${title}: ${heaviest.map((one) => `${plain(one.name)} ${one.text}`).join(", ")}; all together ${short(sum)} ${unit(rows)}.`;
  const root = sheet(width, height, words);
  const room = Math.max(40, width - left - right);
  const low = Math.min(0, ...rows.map((one) => one.value));
  const X = (value) => left + ((value - low) / (most - low)) * room;
  rows.forEach((one, i) => {
    const y = 5 + i * step;
    const old = found(before, one);
    root.append(s("text", { class: "bar-name", x: left - 8, y: y + 13, "text-anchor": "end" }, plain(one.name)));
    const [from, to] = [X(Math.min(0, one.value)), X(Math.max(0, one.value))];
    root.append(
      s("rect", { class: "bar", x: from, y: y + 2, width: Math.max(to - from, 1), height: 14, fill: filled(root, shareLook(looks, one)) }),
    );
    if (old) root.append(s("line", { class: "was-mark", x1: X(old.value), x2: X(old.value), y1: y - 1, y2: y + 19 }));
    root.append(s("text", { class: "bar-value", x: Math.max(to, old ? X(old.value) : 0) + 6, y: y + 13 }, one.text));
  });
  root.append(s("line", { class: "axis", x1: X(0), x2: X(0), y1: 2, y2: height - 2 }));
  return root;
}

const unit = (rows) => rows[0]?.text.replace(/^\S+\s*/, "") || "";

function numbers({ now, was }, name, title) {
  const before = was && was !== now ? was[name] : null;
  const rows = now[name].map((one) => [plain(one.name), one.text, ...(before ? [found(before, one)?.text || "–"] : [])]);
  return table(title, ["share", "now", ...(before ? ["as read"] : [])], rows);
}

