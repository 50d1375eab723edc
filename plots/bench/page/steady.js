// Nothing shifts between the press of a pointer and its click: what would be drawn anew waits that long.

/** ms after a pointer is lifted within which its click comes, and after which nobody still means to click. */
const CLICK = 50;
const LONG = 2000;
/** What is clicked; sliders draw while they are dragged, lists open at once, and scroll bars may never tell that they are let go. */
const CLICKED = "button, input:not([type=range]), label, summary, a, svg";

let down = false;
let late = 0;
const waiting = new Map();

/** Draw now, or once the pointer is lifted; of one name the latest is drawn. */
export function steady(name, draw) {
  if (down) waiting.set(name, draw);
  else draw();
}

function lifted() {
  down = false;
  clearTimeout(late);
  const draws = [...waiting.values()];
  waiting.clear();
  for (const draw of draws) draw();
}

document.addEventListener(
  "pointerdown",
  (event) => {
    lifted();
    down = Boolean(event.target.closest?.(CLICKED)) && !event.target.matches("input[type=range]");
    late = setTimeout(lifted, LONG);
  },
  true,
);
document.addEventListener("click", () => setTimeout(lifted));
document.addEventListener("pointerup", () => setTimeout(lifted, CLICK), true);
document.addEventListener("pointercancel", lifted, true);
window.addEventListener("blur", lifted);
