// A line pulled near an edge of a picture, settled on that edge to parts of a pixel: across the line the brightness is
// read at every pixel, the steepest step of it taken, and the line laid through as many of those steps as agree.

const NEAR = 0.9; // pixels: steps this near a line agree with it
const BLUR = 1.2; // pixels: standard deviation of the bell the brightness is smoothed by
const PAIRS = 48; // steps between which lines are tried

// Moves [a, b] (places [x, y] in pixels) across themselves; `light` is {data, width, height}, one number a pixel;
// `reach` how far to look [px]; `inside` a place on the tap where the line is to lie outermost, or null. Null where too
// little agrees.
function settled(light, a, b, reach, inside) {
  const long = Math.hypot(b[0] - a[0], b[1] - a[1]);
  if (long < 6) return null;
  const along = [(b[0] - a[0]) / long, (b[1] - a[1]) / long];
  let out = [-along[1], along[0]];
  if (inside && (inside[0] - a[0]) * out[0] + (inside[1] - a[1]) * out[1] > 0) out = [-out[0], -out[1]];
  const steps = stepsAcross(light, a, along, out, long, reach);
  const line = agreedLine(steps, long, inside !== null);
  if (!line) return null;
  const put = (t) => [0, 1].map((k) => a[k] + t * along[k] + (line.at + t * line.slope) * out[k]);
  return [put(0), put(long)];
}

function between({ data, width, height }, x, y) {
  const i = Math.min(Math.max(Math.floor(x - 0.5), 0), width - 2);
  const j = Math.min(Math.max(Math.floor(y - 0.5), 0), height - 2);
  const [u, v, at] = [x - 0.5 - i, y - 0.5 - j, j * width + i];
  return (1 - v) * ((1 - u) * data[at] + u * data[at + 1]) + v * ((1 - u) * data[at + width] + u * data[at + width + 1]);
}

// The steepest step across the line at every pixel along it, as {t, s, steep} [px], all of them up or all down outward.
function stepsAcross(light, a, along, out, long, reach) {
  const fine = 0.5;
  const half = Math.ceil((3 * BLUR) / fine);
  const bell = Array.from({ length: 2 * half + 1 }, (_, i) => {
    const s = (i - half) * fine;
    return -s * Math.exp(-((s / BLUR) ** 2) / 2);
  });
  const count = 2 * Math.round(reach / fine) + 1;
  const rows = [];
  for (let t = 0; t <= long; t += Math.max(1, long / 600)) {
    const seen = Array.from({ length: count + 2 * half }, (_, i) => {
      const s = (i - half) * fine - reach;
      return between(light, a[0] + t * along[0] + s * out[0], a[1] + t * along[1] + s * out[1]);
    });
    rows.push({ t, slope: Array.from({ length: count }, (_, i) => bell.reduce((sum, w, k) => sum + w * -seen[i + k], 0)) });
  }
  const best = (sign) => rows.map(({ t, slope }) => {
    let top = 1;
    for (let i = 1; i < count - 1; i++) if (sign * slope[i] > sign * slope[top]) top = i;
    const [l, m, r] = [-1, 0, 1].map((k) => sign * slope[top + k]);
    const off = l + r < 2 * m ? (l - r) / (2 * (l - 2 * m + r)) : 0;
    return { t, s: (top + off) * fine - reach, steep: m };
  });
  const [up, down] = [best(1), best(-1)];
  const total = (found) => found.reduce((sum, one) => sum + one.steep, 0);
  const found = total(up) > total(down) ? up : down;
  const usual = found.map((one) => one.steep).sort((x, y) => x - y)[Math.floor(found.length * 0.75)];
  return found.filter((one) => one.steep > 0.35 * usual);
}

// The line s = at + slope t that most steps agree with; where it is to be outermost, those beyond it speak against it.
function agreedLine(steps, long, outermost) {
  const some = steps.filter((_, i) => i % Math.ceil(steps.length / PAIRS) === 0);
  let most = { score: 0 };
  for (const p of some) {
    for (const q of some) {
      if (q.t - p.t < 0.25 * long) continue;
      const slope = (q.s - p.s) / (q.t - p.t);
      const at = p.s - slope * p.t;
      let score = 0;
      for (const one of steps) {
        const off = one.s - at - slope * one.t;
        if (Math.abs(off) < NEAR) score += 1;
        else if (outermost && off > 0) score -= 0.7;
      }
      if (score > most.score) most = { score, at, slope };
    }
  }
  if (most.score < Math.max(5, 0.08 * steps.length)) return null;
  for (let round = 0; round < 4; round++) {
    const near = steps.filter((one) => Math.abs(one.s - most.at - most.slope * one.t) < NEAR);
    const mean = (of) => near.reduce((sum, one) => sum + of(one), 0) / near.length;
    const [t, s] = [mean((one) => one.t), mean((one) => one.s)];
    const slope = mean((one) => (one.t - t) * (one.s - s)) / (mean((one) => (one.t - t) ** 2) || 1);
    most = { ...most, at: s - slope * t, slope };
  }
  return most;
}
