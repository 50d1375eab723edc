// The row of keys by which a note is chosen: one control that arrow keys, clicks and taps move.

import { fill, s } from "./dom.js";
import { fitted } from "./drawing.js";

const cross = (x, y) =>
  s("g", { class: "ill" }, s("circle", { cx: x, cy: y, r: 5 }), s("path", { class: "cross", d: `M${x - 3} ${y - 3}l6 6m0 -6l-6 6` }));

/** Keys in `where` (a slider to those who do not see it) of all `keysOf()`; `choose(note)` is called with the note. */
export function keyboard(where, keysOf, choose) {
  const notes = () => keysOf().map((one) => one.note);
  let chosen = null;
  let moved = new Set();
  let ill = new Set();
  where.setAttribute("role", "slider");
  where.setAttribute("tabindex", "0");
  where.setAttribute("aria-label", "Note");
  where.setAttribute("aria-valuemin", "1");
  const again = fitted(where, (width) => fill(where, keysOf().length ? drawn(width, keysOf()) : []));
  where.addEventListener("keydown", (event) => {
    const far = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 12, PageDown: -12, Home: -999, End: 999 }[event.key];
    if (!far || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    const all = notes();
    choose(all[Math.min(all.length - 1, Math.max(0, all.indexOf(chosen) + far))]);
  });

  function drawn(width, all) {
    const whites = all.filter((one) => !one.sharp);
    const high = 46;
    const wide = width / whites.length;
    const root = s("svg", { class: "keys", width, height: high + 16, viewBox: `0 0 ${width} ${high + 16}`, "aria-hidden": "true" });
    const at = new Map();
    whites.forEach((one, i) => at.set(one.note, i * wide));
    const key = (one, x, w, h_, kind) => {
      const classes = ["key", kind, one.note === chosen ? "chosen" : "", moved.has(one.note) ? "moved" : ""].join(" ");
      const made = s("rect", { class: classes, x: x + 0.5, y: 0.5, width: Math.max(1, w - 1), height: h_ - 1, rx: 1.5 });
      made.addEventListener("pointerdown", () => choose(one.note));
      return made;
    };
    for (const one of whites) {
      const x = at.get(one.note);
      root.append(key(one, x, wide, high, "natural"));
      if (moved.has(one.note)) root.append(s("circle", { class: "dot-moved", cx: x + wide / 2, cy: high - 7, r: 2.4 }));
      if (ill.has(one.note)) root.append(cross(x + wide / 2, high - 16));
      if (one.note % 12 === 0) root.append(s("text", { class: "tick", x: x + 1, y: high + 13 }, one.name));
    }
    for (const one of all.filter((k) => k.sharp)) {
      const x = (at.get(one.note - 1) ?? at.get(one.note + 1) - wide) + wide * 0.68;
      root.append(key(one, x, wide * 0.64, high * 0.6, "sharp"));
      if (ill.has(one.note)) root.append(cross(x + wide * 0.32, high * 0.42));
    }
    return root;
  }

  return {
    /** The chosen note, those that were moved, and those with which something is wrong. */
    show(note, moves, wrong) {
      chosen = note;
      moved = moves;
      ill = wrong;
      const all = keysOf();
      const name = all.find((one) => one.note === note)?.name || "none";
      where.setAttribute("aria-valuemax", String(Math.max(1, all.length)));
      where.setAttribute("aria-valuenow", String(Math.max(0, notes().indexOf(note)) + 1));
      where.setAttribute("aria-valuetext", name + (moves.has(note) ? ", moved" : "") + (wrong.has(note) ? ", something is wrong with it" : ""));
      again();
    },
  };
}
