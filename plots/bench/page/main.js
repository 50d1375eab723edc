// The bench's page: what was moved is asked of the server and drawn, quickest first.

import { anew } from "./asked.js";
import { drawDefects } from "./defects.js";
import { $, say } from "./dom.js";
import { listenToAll } from "./reread.js";
import { keptKey, seen } from "./seen.js";
import { get, Gone } from "./server.js";
import {
  drawFeel, drawFields, drawFigures, drawKept, drawMoved, drawNote, drawWhole, layFields, layPictures, settle, tell,
} from "./shown.js";
import { shownKept, state, watch } from "./state.js";
import { wire } from "./wired.js";

async function units() {
  try {
    const about = await get(`about?units=${state.units}`);
    state.about.quantities = about.quantities;
  } catch (problem) {
    if (!(problem instanceof Gone)) throw problem;
  }
}

watch(async (why) => {
  if (why === "kept") {
    drawKept();
    drawMoved();
    drawFeel();
    drawFigures();
    if (shownKept().some((one) => !seen.kept.get(keptKey(one))?.figures)) anew();
    return;
  }
  if (why === "units") {
    seen.whole = null;
    seen.was = {};
    seen.fields = null;
    await units();
  }
  if (why === "note") {
    seen.was = {};
    drawWhole();
  }
  if (why === "moved") tell("");
  drawNote();
  if (why === "moved" && seen.fields) drawFields();
  else drawMoved();
  anew({ drop: why !== "moved" });
});

async function begin() {
  layPictures();
  listenToAll();
  wire();
  let about;
  try {
    about = await get("about");
  } catch (problem) {
    say($("title"), "The bench does not answer");
    if (!(problem instanceof Gone)) tell(problem.message);
    return;
  }
  settle(about);
  state.note = about.note;
  layFields();
  drawNote();
  drawKept();
  drawMoved();
  if (about.defects?.length) drawDefects(about.defects);
  anew();
}

begin();
