// Elements made by script: the page's Content-Security-Policy allows no markup with styles or handlers in it.

/** An element; a property beginning with "on" is a listener, `class` and `data-…`, `aria-…` are attributes. */
export function h(tag, props = {}, ...kids) {
  return dressed(document.createElement(tag), props, kids);
}

/** The same of SVG. */
export function s(tag, props = {}, ...kids) {
  return dressed(document.createElementNS("http://www.w3.org/2000/svg", tag), props, kids);
}

function dressed(made, props, kids) {
  for (const [name, value] of Object.entries(props)) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) made.addEventListener(name.slice(2), value);
    else made.setAttribute(name, value === true ? "" : value);
  }
  made.append(...kids.flat().filter((kid) => kid !== null && kid !== undefined && kid !== false));
  return made;
}

export const $ = (id) => document.getElementById(id);

/** Put children in place of what is there, unless they say the same. */
export function fill(where, ...kids) {
  where.replaceChildren(...kids.flat().filter((kid) => kid !== null && kid !== undefined && kid !== false));
}

export function say(where, text) {
  if (where.textContent !== text) where.textContent = text;
}

let last = 0;
export const newId = (stem) => `${stem}-${++last}`;

export const pause = (ms) => new Promise((done) => setTimeout(done, ms));

/** A table with a caption, from words; numbers stand right. */
export function table(caption, heads, rows, props = {}) {
  return h(
    "table",
    props,
    h("caption", {}, caption),
    h("thead", {}, h("tr", {}, heads.map((head) => h("th", { scope: "col" }, head)))),
    h(
      "tbody",
      {},
      rows.map((row) =>
        h("tr", {}, row.map((cell, i) => (i ? h("td", { class: "number" }, cell) : h("th", { scope: "row" }, cell)))),
      ),
    ),
  );
}

/** The table behind a picture, folded until it is asked for. */
export function behind(made, open = false) {
  return h("details", { class: "behind", open }, h("summary", {}, "The same as a table"), scroller(made));
}

/** What may be wider than the page is pushed sideways within a frame that the keyboard reaches. */
export function scroller(made) {
  const name = made.querySelector?.("caption")?.textContent || "Table";
  return h("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": name }, made);
}
