// Bars over the page: what the bench has to say until it is mended.

import { $, fill } from "./dom.js";

const bars = new Map();

/** Show a bar under a name, or take it away. */
export function bar(name, made) {
  if (made) bars.set(name, made);
  else if (!bars.delete(name)) return;
  $("bars").hidden = bars.size === 0;
  fill($("bars"), [...bars.values()]);
}

export const barred = (name) => bars.has(name);

/** Take all away. */
export function unbar() {
  for (const name of [...bars.keys()]) bar(name, null);
}
