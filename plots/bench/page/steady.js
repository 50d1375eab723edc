// Nothing shifts between the press of a pointer and its click: what would be drawn anew waits that long.

/** ms after a pointer is lifted within which its click comes. */
const CLICK = 50;

let down = false;
const waiting = new Map();

/** Draw now, or once the pointer is lifted; of one name the latest is drawn. */
export function steady(name, draw) {
  if (down) waiting.set(name, draw);
  else draw();
}

function lifted() {
  down = false;
  const draws = [...waiting.values()];
  waiting.clear();
  for (const draw of draws) draw();
}

document.addEventListener(
  "pointerdown",
  // A slider keeps hold of the pointer: what it moves is drawn while it is dragged.
  (event) => {
    down = !event.target.matches?.("input[type=range]");
  },
  true,
);
document.addEventListener("click", () => setTimeout(lifted));
document.addEventListener("pointerup", () => setTimeout(lifted, CLICK), true);
document.addEventListener("pointercancel", lifted, true);
window.addEventListener("blur", lifted);
