// Figures of the note: as read, now, and of kept states, with the change and the mark of what a finger can tell.

import { fill, h, scroller } from "./dom.js";
import { noPicture } from "./drawing.js";
import { capital, change, either, percent } from "./words.js";

/** The table in `where`; `help(title, text)` tells what a quantity is. */
export function figuresTable(where, { now, was, kept, about, help, name }) {
  if (!now?.figures?.length) {
    fill(where, noPicture(now?.why || "There are no figures of this note."));
    return;
  }
  const others = kept.filter((one) => one.figures?.figures);
  const any = was && was !== now;
  const heads = [
    h("th", { scope: "col" }, "quantity"),
    any ? h("th", { scope: "col" }, "as read") : null,
    h("th", { scope: "col" }, "now"),
    any ? h("th", { scope: "col" }, "change") : null,
    others.map((one) => h("th", { scope: "col" }, one.name)),
  ];
  const sets = [now, ...(any ? [was] : []), ...others.map((one) => one.figures)];
  const there = (one) => sets.some((set) => Number.isFinite(of(set, one.name)?.value));
  const shared = mostSaid(now.figures.filter(there));
  const rows = now.figures.filter(there).map((one) => row(one, { shared, was: any ? was : null, others, about, help }));
  const made = h(
    "table",
    { class: "figures" },
    h("caption", {}, `Figures of ${name}`),
    h("thead", {}, h("tr", {}, heads.flat().filter(Boolean))),
    h("tbody", {}, rows),
  );
  const none = now.figures.filter((one) => !there(one));
  fill(
    where,
    shared ? h("p", { class: "told warning" }, `${capital(shared)}.`) : null,
    rows.length ? scroller(made) : null,
    noneWords(none, now.verdict?.failed).map((text) => h("p", { class: "hint" }, text)),
  );
}

/** Quantities that no state has, with those of one reason together. */
function noneWords(none, failed) {
  const reasons = [...new Set(none.map((one) => one.why))];
  return reasons.map((why) => {
    const labels = either(none.filter((one) => one.why === why).map((one) => one.label));
    if (why && why === failed) return `As its stroke cannot be played, there is no figure for ${labels}.`;
    return why ? `${capital(why)}: so there is no figure for ${labels}.` : `There is no figure for ${labels}.`;
  });
}

/** The reason that more than a few figures lack for, told once. */
function mostSaid(figures) {
  const count = {};
  for (const one of figures) if (one.value === null && one.why) count[one.why] = (count[one.why] || 0) + 1;
  return Object.keys(count).find((why) => count[why] > 3) || "";
}

/** Smaller changes are given no word. */
const TOLD = 0.005;

/** The quantity that the help tells of, which it goes on telling of another note. */
let helped = "";

const of = (figures, name) => figures?.figures?.find((one) => one.name === name);

function row(one, { shared, was, others, about, help }) {
  const quantity = about.quantities[one.name] || {};
  const tell = () => {
    helped = one.name;
    help(capital(one.label), definition(one, quantity));
  };
  if (helped === one.name) tell();
  const old = of(was, one.name);
  const difference = was ? change(one.value ?? NaN, old?.value ?? NaN) : null;
  return h(
    "tr",
    {},
    h("th", { scope: "row" }, h("button", { type: "button", class: "term", onclick: tell, onfocus: tell }, one.label)),
    was ? h("td", { class: "number faint" }, shown(old)) : null,
    h("td", { class: "number now" }, shown(one), one.value === null && one.why && one.why !== shared ? h("span", { class: "why" }, one.why) : null),
    was ? h("td", { class: "number" }, marked(difference, quantity, about.even, one, old)) : null,
    others.map((other) => {
      const found = of(other.figures, one.name);
      const base = was ? old : one;
      const far = change(found?.value ?? NaN, base?.value ?? NaN);
      return h("td", { class: "number" }, shown(found), h("br"), marked(far, { ...quantity, sense: "" }, about.even, found, base));
    }),
  );
}

const shown = (one) => (one ? one.text.replace(/^-(?=\d)/, "−").replace(/^-$/, "–") : "–");

/** A change in per cent; what a finger can tell is marked, and told apart in words. */
function marked(share, quantity, even, one, old) {
  if (share === null) {
    const lost = Boolean(one && old) && (one.value === null) !== (old.value === null);
    return lost ? h("span", { class: "share" }, one.value === null ? "gone" : "new") : "";
  }
  const text = percent(share);
  if (share === 0) return h("span", { class: "share none" }, "=");
  const felt = quantity.felt && Math.abs(share) > even;
  const words = wayWords(share, quantity);
  return h(
    "span",
    { class: felt ? "share felt" : "share" },
    felt ? h("span", { class: "felt-mark", role: "img", "aria-label": "a finger can tell: " }, "▲ ") : "",
    text,
    words && Math.abs(share) >= TOLD ? h("span", { class: "sense" }, ` ${words}`) : "",
  );
}

const HEAVY = new Set(["gf", "N", "g", "kg"]);
const LONG = new Set(["ms", "s"]);

/** Which way a weight or a time goes, of quantities that have one; whether that is wanted the builder knows. */
function wayWords(share, quantity) {
  if (!quantity.sense) return "";
  // what should be more holds something shut, and is no touch
  if (HEAVY.has(quantity.unit) && quantity.sense === "more") return share < 0 ? "weaker" : "stronger";
  if (HEAVY.has(quantity.unit)) return share < 0 ? "lighter" : "heavier";
  if (LONG.has(quantity.unit)) return share < 0 ? "faster" : "slower";
  return "";
}

function definition(one, quantity) {
  const why = one.value === null && one.why ? `Here there is none: ${one.why}.` : "";
  return [quantity.definition && `${capital(quantity.definition.replace(/\.$/, ""))}.`, why].filter(Boolean).join(" ");
}

/** The weigh-off: what lies on the key as it goes down, is held and comes up; wind on and off. */
export function weighTable(where, now, was) {
  const found = now?.weigh;
  if (!found || found.none || !found.on) {
    fill(where, noPicture(capital(found?.none || "The note cannot be weighed.")));
    return;
  }
  const before = was && was !== now ? was.weigh : null;
  const cell = (one, old) =>
    h("td", { class: "number" }, shown(one), old && old.text !== one.text ? h("span", { class: "faint" }, ` (${shown(old)})`) : "");
  const rows = Object.entries(found.on).map(([name, one]) =>
    h("tr", {}, h("th", { scope: "row" }, one.label), cell(one, before?.on?.[name]), cell(found.off[name], before?.off?.[name])),
  );
  const more = (found.more || []).map((one, i) =>
    h("tr", {}, h("th", { scope: "row" }, one.label), h("td", { class: "number", colspan: "2" }, shown(one), before?.more?.[i] && before.more[i].text !== one.text ? h("span", { class: "faint" }, ` (${shown(before.more[i])})`) : "")),
  );
  const made = h(
    "table",
    {},
    h("caption", { class: "unseen" }, "Weigh-off, wind on and off"),
    h("thead", {}, h("tr", {}, ["", "wind on", "wind off"].map((head) => (head ? h("th", { scope: "col" }, head) : h("td", {}))))),
    h("tbody", {}, rows, more),
  );
  fill(
    where,
    scroller(made),
    before ? h("p", { class: "hint" }, "In brackets: as read.") : null,
    (found.why || []).map((text) => h("p", { class: "hint" }, capital(text))),
  );
}
