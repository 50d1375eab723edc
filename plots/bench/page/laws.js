// The laws by which values between control points follow.

export const LAWS = {
  linear: "straight over the semitones",
  smooth: "a curve without overshoot",
  geometric: "the same ratio from note to note",
  steps: "held until the next point",
};

/** The value of a note by the law of the case files. */
export function between(points, law, note) {
  const [first, last] = [points[0], points.at(-1)];
  if (note <= first[0]) return first[1];
  if (note >= last[0]) return last[1];
  const i = points.findIndex(([at]) => at > note) - 1;
  const [[a, fa], [b, fb]] = [points[i], points[i + 1]];
  const t = (note - a) / (b - a);
  if (law === "steps") return fa;
  if (law === "geometric") return fa > 0 && fb > 0 ? fa * (fb / fa) ** t : NaN;
  if (law === "smooth") return smooth(points, i, t);
  return fa + t * (fb - fa);
}

/** Monotone cubic between points, slopes as weighted harmonic means (Fritsch and Butland, SIAM J. Sci. Stat. Comput. 5, 1984). */
function smooth(points, i, t) {
  const n = points.length;
  const h_ = points.slice(1).map(([x], k) => x - points[k][0]);
  const d = points.slice(1).map(([, y], k) => (y - points[k][1]) / h_[k]);
  if (n === 2) return points[0][1] + t * h_[0] * d[0];
  const inner = (k) => {
    if (d[k - 1] * d[k] <= 0) return 0;
    const [w1, w2] = [2 * h_[k] + h_[k - 1], h_[k] + 2 * h_[k - 1]];
    return (w1 + w2) / (w1 / d[k - 1] + w2 / d[k]);
  };
  const end = (h0, h1, d0, d1) => {
    const slope = ((2 * h0 + h1) * d0 - h0 * d1) / (h0 + h1);
    if (Math.sign(slope) !== Math.sign(d0)) return 0;
    return Math.sign(d0) !== Math.sign(d1) && Math.abs(slope) > 3 * Math.abs(d0) ? 3 * d0 : slope;
  };
  const slope = (k) => (k === 0 ? end(h_[0], h_[1], d[0], d[1]) : k === n - 1 ? end(h_[n - 2], h_[n - 3], d[n - 2], d[n - 3]) : inner(k));
  const [m0, m1] = [slope(i) * h_[i], slope(i + 1) * h_[i]];
  const [y0, y1] = [points[i][1], points[i + 1][1]];
  return (2 * t ** 3 - 3 * t ** 2 + 1) * y0 + (t ** 3 - 2 * t ** 2 + t) * m0 + (3 * t ** 2 - 2 * t ** 3) * y1 + (t ** 3 - t ** 2) * m1;
}
