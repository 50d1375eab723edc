// Words and figures as a builder reads them.

/** A name of the case as people say it: "pallet-spring" is "pallet spring". */
export const plain = (name) => String(name).replace(/[-_]/g, " ");

/** With a capital letter, unless a file's name begins it. */
export const capital = (text) => (text && !/^\S+\.toml\b/.test(text) ? text[0].toUpperCase() + text.slice(1) : text);

/** The path of a field in words: rows are counted from one, "leads.0.mass" is "leads 1: mass". */
export function pathWords(path) {
  return path
    .split(".")
    .map((step) => (/^\d+$/.test(step) ? String(Number(step) + 1) : step.replace(/_/g, " ")))
    .join(" ");
}

/** A figure with so many places that one step of it shows. */
export function withStep(value, step) {
  const places = step > 0 ? Math.max(0, Math.min(6, -Math.floor(Math.log10(step) + 1e-9))) : 3;
  return trimmed(value.toFixed(places));
}

const trimmed = (text) => (text.includes(".") ? text.replace(/\.?0+$/, "") : text);

/** A figure in three significant digits, without powers of ten where people have none. */
export function short(value, digits = 3) {
  if (!Number.isFinite(value)) return "–";
  if (value === 0) return "0";
  const places = Math.max(0, digits - 1 - Math.floor(Math.log10(Math.abs(value))));
  return value.toFixed(Math.min(places, 6)).replace("-", "−");
}

/** A change against another value in per cent, with its sign. */
export function change(now, was) {
  if (!Number.isFinite(now) || !Number.isFinite(was)) return null;
  if (now === was) return 0;
  if (was === 0 || Math.sign(now) !== Math.sign(was)) return null;
  return now / was - 1;
}

export function percent(share) {
  if (share === null) return "";
  const value = 100 * share;
  if (Math.abs(value) < 0.05) return "0 %";
  const text = Math.abs(value) < 10 ? Math.abs(value).toFixed(1) : Math.abs(value).toFixed(0);
  return `${value > 0 ? "+" : "−"}${text} %`;
}

/** How many of something, in words: counted(1, "field") is "1 field". */
export const counted = (n, one, many = `${one}s`) => `${n} ${n === 1 ? one : many}`;

/** Names in a row: "one, two or three". */
export const either = (names) => [names.slice(0, -1).join(", "), ...names.slice(-1)].filter(Boolean).join(" or ");

/** A value as a case file has it, split into figure and unit. */
export function split(text) {
  const found = /^\s*([-+−]?[\d.]+(?:e[-+]?\d+)?)\s*(.*)$/i.exec(String(text));
  return found ? { figure: found[1].replace("−", "-"), unit: found[2] } : { figure: String(text), unit: "" };
}

/** What control points say: "C2 2.7 N, C4 1.9 N, G6 1.2 N, linear between". */
export function valueWords(value) {
  if (value === null) return "taken out";
  if (typeof value !== "object") return value === "true" ? "yes" : value === "false" ? "no" : String(value);
  const { between, ...points } = value;
  const words = Object.entries(points).map(([note, one]) => `${note} ${one}`);
  return `${words.join(", ")}${between ? `, ${plain(between)} between` : ""}`;
}

/** What a sentence of the case says of a field, without the name of the field that it stands beside. */
export const beside = (text) => text.replace(/^(?:[^:,"]+: )?(?:\[\[?[^\]]+\]\]?[^,:]*, )?(?:[a-z0-9-]+, )?field '?[A-Za-z0-9_.#-]+'?(?: = [^:]+)?: /, "");

/** A sentence of the case with its field in words. */
export function ofField({ part, path, text }, name = pathWords(path || "")) {
  return part && path ? `${name} of the ${plain(part)}: ${beside(text)}` : text;
}

/** A figure as a mark has it: no zeros at its end. */
export const tidy = (value) => trimmed(short(value));
