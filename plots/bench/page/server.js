// Asks the bench's server. Newer questions of a page make older ones of their lane and kind give way.

/** The case refuses what was moved; `defects` say where and why. */
export class Refused extends Error {
  constructor(answer) {
    super(answer.said || "The case refuses this.");
    this.defects = placed(answer.defects);
    this.stamp = answer.stamp;
    this.changed = answer.changed;
    this.answer = answer;
  }
}

/** A newer question took the place of this one. */
export class GaveWay extends Error {}

/** Nobody answers: the bench was closed. */
export class Gone extends Error {}

/** The server answers what it should not. */
export class Fault extends Error {}

/** Sentences of a case with the part and field that they begin with, as far as the server has not told them. */
export function placed(said = []) {
  return said.map((one) => {
    const found = /^([a-z0-9-]+), field '?([a-z0-9_.]+)'?/.exec(one.text);
    return one.part || !found ? one : { ...one, part: found[1], path: found[2] };
  });
}

const PAGE = Array.from(crypto.getRandomValues(new Uint8Array(8)), (b) => b.toString(16).padStart(2, "0")).join("");
const LANES = { now: "1", was: "2", kept: "3", whole: "4", points: "5", file: "6" };
let turn = 0;

const heard = new Set();

/** Be told of every answer, and of silence. */
export const listen = (told) => heard.add(told);

function tell(what) {
  for (const told of heard) told(what);
}

async function sent(path, options) {
  try {
    return await fetch(path, { cache: "no-store", ...options });
  } catch (problem) {
    if (problem.name === "AbortError") throw new GaveWay();
    tell({ gone: true });
    throw new Gone();
  }
}

function posted(kind, body, lane, signal) {
  const full = { ...body, page: `${PAGE}${LANES[lane]}`, turn: ++turn };
  return sent(kind, {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify(full),
    signal,
  });
}

async function answered(reply) {
  let answer = {};
  try {
    answer = await reply.json();
  } catch (problem) {
    if (problem.name === "AbortError") throw new GaveWay();
    if (reply.ok) {
      tell({ gone: true });
      throw new Gone();
    }
  }
  if (reply.status === 409) throw new GaveWay();
  tell({ answer });
  if (reply.status === 422) throw new Refused(answer);
  if (!reply.ok) throw new Fault(answer.said || `The bench answers with an error (${reply.status}).`);
  return answer;
}

export const get = async (path) => answered(await sent(path, {}));

export async function ask(kind, body, { lane = "now", signal } = {}) {
  return answered(await posted(kind, body, lane, signal));
}

/** Answers that come piece by piece, a line each. */
export async function* pieces(kind, body, { lane = "whole", signal } = {}) {
  const reply = await posted(kind, body, lane, signal);
  if (!reply.ok) {
    await answered(reply);
    return;
  }
  const reader = reply.body.pipeThrough(new TextDecoderStream()).getReader();
  let rest = "";
  try {
    for (;;) {
      const { value, done } = await reader.read();
      rest += value || "";
      const lines = rest.split("\n");
      rest = done ? "" : lines.pop();
      for (const line of lines) {
        if (!line.trim()) continue;
        const piece = JSON.parse(line);
        if (piece.defects) throw new Refused(piece);
        if (piece.said) throw new GaveWay();
        if (piece.stamp) tell({ answer: piece });
        yield piece;
      }
      if (done) return;
    }
  } catch (problem) {
    if (problem instanceof Refused || problem instanceof GaveWay) throw problem;
    if (problem.name === "AbortError") throw new GaveWay();
    tell({ gone: true });
    throw new Gone();
  }
}

const remembered = new Map();
let readings = 0;
const MOST = 80;

/** As `ask`, but what was answered before is not asked again. */
export async function known(kind, body, options) {
  const key = JSON.stringify([kind, body]);
  if (remembered.has(key)) {
    const found = remembered.get(key);
    remembered.delete(key);
    remembered.set(key, found);
    return found;
  }
  const reading = readings;
  const answer = await ask(kind, body, options);
  if (reading !== readings) throw new GaveWay();
  remembered.set(key, answer);
  if (remembered.size > MOST) remembered.delete(remembered.keys().next().value);
  return answer;
}

/** Forget all answers: the case was read again. */
export function forget() {
  readings++;
  remembered.clear();
}
