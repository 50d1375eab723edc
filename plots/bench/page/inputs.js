// Controls of one value: slider with its exact value, box, list, text.

import { fill, h } from "./dom.js";
import { plain, split, withStep } from "./words.js";

const figureKind = (kind) => ["quantity", "number", "count"].includes(kind);

export function inputs(id, label, described, field, change) {
  if (figureKind(field.kind)) return figureInputs(id, label, described, field, change);
  if (field.kind === "flag") return flagInput(id, described, change);
  if (field.choices?.length) return listInput(id, described, change);
  return textInput(id, described, change);
}

let drags = 0;

/** Does at once what comes first in a frame, and of what follows in it only the last. */
function onFrames(act) {
  let frame = 0;
  let pending = null;
  const due = () => {
    frame = 0;
    if (pending !== null) later(pending);
  };
  const later = (value) => {
    pending = value;
    if (frame) return;
    frame = requestAnimationFrame(due);
    later.now();
  };
  later.now = () => {
    const value = pending;
    pending = null;
    if (value !== null) act(value);
  };
  return later;
}

function figureInputs(id, label, described, first, change) {
  let field = first;
  const exact = h("input", {
    type: "text", class: "exact", id, "aria-describedby": described, autocomplete: "off", spellcheck: "false",
  });
  const slider = h("input", { type: "range", class: "slider", "aria-label": `${label}, slider`, "aria-describedby": described });
  const notch = h("span", { class: "notch", "aria-hidden": "true" });
  const track = h("span", { class: "track" }, slider, notch);
  const written = (value) => `${withStep(value, field.slider.step)} ${field.unit}`.trim();
  let drag = 0;
  const later = onFrames((text) => change(text, { glide: drag || true }));
  slider.addEventListener("pointerdown", () => {
    drag = ++drags;
  });
  slider.addEventListener("input", () => {
    const text = written(Number(slider.value));
    exact.value = text;
    slider.setAttribute("aria-valuetext", text);
    later(text);
  });
  slider.addEventListener("change", () => {
    later.now();
    drag = 0;
  });
  const commit = () => {
    const typed = exact.value.trim().replace(/^(-?\d+),(\d+)/, "$1.$2");
    const { figure, unit } = split(typed);
    const whole = !unit && field.unit && /^[-+]?[\d.]+(e[-+]?\d+)?$/i.test(figure) ? `${figure} ${field.unit}` : typed;
    if (whole && whole !== field.text) change(whole);
    else exact.value = field.text;
  };
  exact.addEventListener("change", commit);
  exact.addEventListener("focus", () => exact.select());
  exact.addEventListener("keydown", (event) => {
    if (event.key === "Escape") {
      exact.value = field.text;
      delete exact.dataset.typed;
      exact.select();
      return;
    }
    const way = { ArrowUp: 1, ArrowDown: -1 }[event.key];
    if (!way || !field.slider) return;
    event.preventDefault();
    const { step, low, high } = field.slider;
    const now = Number(split(exact.value).figure);
    const from = Number.isFinite(now) ? now : Number(field.value);
    const to = Math.min(high, Math.max(low, from + way * step * (event.shiftKey ? 10 : 1)));
    exact.value = written(to);
    exact.select();
    change(exact.value, { glide: true });
  });
  return {
    control: [track],
    beside: [exact],
    show(now, { text, value, was }) {
      field = { ...now, text };
      if (exact.value !== text && (document.activeElement !== exact || !exact.dataset.typed)) exact.value = text;
      track.hidden = !now.slider;
      if (!now.slider) return;
      const { low, high, step } = now.slider;
      slider.min = low;
      slider.max = high;
      slider.step = step;
      if (document.activeElement !== slider || Math.abs(Number(slider.value) - value) > step) slider.value = value;
      slider.setAttribute("aria-valuetext", text);
      const place = was && high > low ? (was.value - low) / (high - low) : NaN;
      notch.hidden = !(place >= 0 && place <= 1);
      if (!notch.hidden) notch.style.setProperty("--at", String(place));
    },
  };
}

function flagInput(id, described, change) {
  const box = h("input", { type: "checkbox", id, "aria-describedby": described });
  box.addEventListener("change", () => change(String(box.checked)));
  return {
    control: [box],
    beside: [],
    show(_, { text }) {
      box.checked = text === "true";
    },
  };
}

function listInput(id, described, change) {
  const list = h("select", { id, "aria-describedby": described });
  list.addEventListener("change", () => change(list.value));
  return {
    control: [list],
    beside: [],
    show(now, { text: value }) {
      const choices = now.choices.includes(value) ? now.choices : [value, ...now.choices];
      if (list.dataset.choices !== choices.join()) {
        list.dataset.choices = choices.join();
        fill(list, choices.map((one) => h("option", { value: one }, plain(one))));
      }
      list.value = value;
    },
  };
}

function textInput(id, described, change) {
  const input = h("input", { type: "text", class: "wide", id, "aria-describedby": described, autocomplete: "off" });
  input.addEventListener("change", () => input.value.trim() && change(input.value.trim()));
  return {
    control: [input],
    beside: [],
    show(_, { text }) {
      if (document.activeElement !== input || !input.dataset.typed) input.value = text;
    },
  };
}
