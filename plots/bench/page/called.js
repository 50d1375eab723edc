// What people call parts and fields, and which of them they move first.

import { h } from "./dom.js";
import { kindOf } from "./looks.js";
import { capital, ofField, pathWords, plain } from "./words.js";

/** What a builder moves first: by role of the part, then path. */
const FIRST = [
  [/spring/, /^(force|rate|at)$/],
  [/^key$/, /^(dip|leads\.\d+\.(mass|at))$/],
  [/^rod$/, /^(lost_motion|material|section)$/],
  [/roller/, /^(width|diameter|material|length)$/],
  [/^lever$/, /^(in_arm|out_arm)$/],
  [/^pallet$/, /^(opening_length|opening_width|eye)$/],
  [/^groove$/, /^stops\.\d+\.drawn$/],
  [/^box$/, /^pressure$/],
  [/^coupler$/, /^(play|lost_motion)$/],
];

/** What people call fields whose name in the case is short. */
const CALLED = { lost_motion: "play (lost motion)", at: "place where it bears (at)", force: "force when closed", rate: "rate of force" };

export const isFirst = (part, path) =>
  FIRST.some(([who, what]) => (who.test(part.role) || who.test(kindOf(part)) || who.test(part.part)) && what.test(path));

/** Wind and stops are those of the whole organ, whatever a case may say of single notes. */
export const ofAll = (part, field) => !field.each || part.role === "box" || /^stops\./.test(field.path);

/** So many defects are told in one sentence. */
const MANY = 8;

/** All that a case refuses, each with its field in words. */
export function refusedWords(problem, parts) {
  const ended = (text) => text.replace(/[.?!]?$/, (end) => end || ".");
  const said = problem.defects.slice(0, MANY).map((one) => ended(capital(ofField(one, fieldWords(parts, one.part, one.path)))));
  const more = problem.defects.length - said.length;
  return said.length ? `${said.join(" ")}${more > 0 ? ` And ${more} more.` : ""}` : ended(capital(problem.message));
}

/** What a field is called, by names of parts, fields and rows. */
export function fieldWords(parts, name, path) {
  const part = parts?.find((one) => one.part === name);
  return part?.fields.some((one) => one.path === path) ? labelOf(part, path) : capital(pathWords(path));
}

/** Names of rows, as of stops, stand in place of their numbers. */
export function labelOf(part, path) {
  const row = /^(.*\.\d+)\.([^.]+)$/.exec(path);
  const named = row && part.fields.find((one) => one.path === `${row[1]}.name`);
  if (named) return row[2] === "drawn" ? String(named.value) : `${named.value}: ${row[2].replace(/_/g, " ")}`;
  return capital(CALLED[path] || pathWords(path));
}

export const spaced = (path) => path.replace(/[_.]/g, " ");

export const searched = (part, field, label) =>
  [part.part, part.title, part.role, part.kind, spaced(field.path), label, field.doc].join(" ").toLowerCase();

/** The kind of a part whose name does not tell it. */
export function kindWords(part) {
  const kind = kindOf(part);
  return kind && !part.part.includes(kind) ? h("span", { class: "kind" }, plain(kind)) : null;
}
