// Colours and hatchings of parts: those of the printed pictures, by kind and by place among their like.

const BLUE = "#0072B2";
const [ORANGE, SKY, GREEN, YELLOW] = ["#E69F00", "#56B4E9", "#009E73", "#F0E442"];
const [VERMILLION, PURPLE] = ["#D55E00", "#CC79A7"];
const PLAIN = ["", "///", "xxx", "---"];
const OTHER_WAY = ["\\\\\\", "|||", "+++"];
const LOOKS = {
  key: [[SKY], PLAIN],
  tracker: [[GREEN, VERMILLION], PLAIN],
  sticker: [[VERMILLION, GREEN], OTHER_WAY],
  "pull-down": [[SKY], OTHER_WAY],
  square: [[YELLOW, ORANGE], PLAIN],
  backfall: [[ORANGE, YELLOW], OTHER_WAY],
  roller: [[PURPLE], PLAIN],
  pallet: [[BLUE], PLAIN],
};
const OTHERS = [[PURPLE, BLUE, YELLOW, VERMILLION, SKY, GREEN, ORANGE], ["ooo", "***", "xx--"]];
const BY_ROLE = { key: "key", pallet: "pallet", rod: "tracker", lever: "backfall" };
const MORE = { ends: "...", bending: "||" };
const NO_PART = { color: "#b9b9b9", hatch: "" };

/** Kind of a part, which its title begins with: "square upper-square", "key". */
export function kindOf(part) {
  const title = part.title || part.part;
  return part.kind || Object.keys(LOOKS).find((kind) => title === kind || title.startsWith(`${kind} `)) || "";
}

/** Look of every part by its name; `parts` are those of the train, in order. */
export function partLooks(parts) {
  const count = {};
  const found = {};
  for (const part of parts) {
    const kind = kindOf(part);
    const group = LOOKS[kind] ? kind : BY_ROLE[part.role] || "";
    const [colors, hatches] = LOOKS[group] || OTHERS;
    const all = hatches.flatMap((hatch) => colors.map((color) => ({ color, hatch })));
    const place = (count[group] = (count[group] ?? -1) + 1);
    found[part.part] = all[place % all.length];
  }
  return found;
}

/** Look of a share of a budget: a rod's ends and a part's bending have more hatching and a paler colour. */
export function shareLook(looks, one) {
  if (one.fill) return one.fill;
  const look = looks[one.part];
  if (!look) return { ...NO_PART, hatch: one.name === "lost motion" ? "" : "xxx" };
  const more = MORE[one.name.replace(`${one.part} `, "")];
  return more ? { color: paler(look.color), hatch: look.hatch + more } : look;
}

function paler(color) {
  const half = (i) => Math.round(255 - (255 - parseInt(color.slice(i, i + 2), 16)) / 2);
  return `#${[1, 3, 5].map((i) => half(i).toString(16).padStart(2, "0")).join("")}`;
}
