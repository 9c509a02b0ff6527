// Between computed variants: the largest stress of each region of the edge, interpolated over the axis.
const through = (xs, ys, x) => ys.reduce((sum, y, i) => sum + xs.reduce((p, xj, j) => (j === i ? p : (p * (x - xj)) / (xs[i] - xj)), y), 0);
// value at x by the highest order that the points near it allow, and how far the next lower orders are from it
const smooth = (xs, ys, x) => {
  let i = 0;
  while (i < xs.length - 2 && x > xs[i + 1]) i++;
  const n = Math.min(4, xs.length), start = Math.max(0, Math.min(i - (n >> 1) + 1, xs.length - n));
  const X = xs.slice(start, start + n), Y = ys.slice(start, start + n), value = through(X, Y, x);
  let off = 0;
  for (const first of [0, 1]) {
    const a = X.slice(first, first + n - 1), b = Y.slice(first, first + n - 1);
    if (a[0] <= xs[i] && a[a.length - 1] >= xs[i + 1]) off = Math.max(off, Math.abs(through(a, b, x) - value));
  }
  return { value, off, i };
};
const axis = data.axis;
const nodes = axis && axis.smooth ? data.variants.map((v, k) => ({ k, x: Math.log(v.number) })).filter(({ k }) => data.variants[k].smooth) : [];

const betweenVariants = (found, number) => {
  const x = Math.log(number), xs = nodes.map((n) => n.x), at = nodes.map((n) => found[n.k]);
  let i = 0;
  while (i < xs.length - 2 && x > xs[i + 1]) i++;
  const ends = [i, i + 1], share = (x - xs[i]) / (xs[i + 1] - xs[i]), near = share < 0.5 ? i : i + 1;
  const relative = Math.max(...ends.map((e) => at[e].band / Math.abs(at[e].peak)));
  const all = new Set(ends.flatMap((e) => Object.keys(at[e].regions)));
  let best = null, highest = 0;
  for (const r of all) {
    const both = ends.every((e) => r in at[e].regions);
    if (!both) continue;
    const sizes = at.map((s) => (r in s.regions ? s.regions[r].size : 0)), top = Math.max(...ends.map((e) => sizes[e]));
    if (top < 0.5 * Math.max(...ends.map((e) => Math.abs(at[e].peak)))) continue;
    // where a point farther away has nothing to say here, the two ends alone decide
    const whole = sizes.every((s) => s > 0.02 * top);
    const from = whole ? smooth(xs, sizes.map(Math.log), x) : smooth(ends.map((e) => xs[e]), ends.map((e) => Math.log(sizes[e])), x);
    const size = Math.exp(from.value), off = whole ? size * Math.expm1(from.off) : 0.25 * Math.abs(sizes[i + 1] - sizes[i]);
    highest = Math.max(highest, size + off);
    if (!best || size > best.size) best = { size, off, r };
  }
  if (!best) return null;
  const tops = ends.map((e) => at[e].regions[best.r]), v = ends.map((e) => data.variants[nodes[e].k]);
  const mean = (name) => (1 - share) * v[0][name][tops[0].at] + share * v[1][name][tops[1].at];
  const kept = near === i ? 0 : 1, top = tops[kept], own = v[kept];
  const band = relative * best.size + Math.max(best.off, highest - best.size);
  return {
    peak: top.sign * best.size, band, off: best.off, computed: false,
    place: { slot: own.slot[top.at], name: own.name[top.at], x: mean("x"), y: mean("y"), depth: mean("depth") },
    outline: v[0].outline.map(([a, b], k) => [(1 - share) * a + share * v[1].outline[k][0], (1 - share) * b + share * v[1].outline[k][1]]),
    region: best.r,
  };
};
const ofVariant = (v, s) => ({
  peak: s.peak, band: s.band, off: 0, computed: true, outline: v.outline, region: String(v.region[s.at]),
  place: { slot: v.slot[s.at], name: v.name[s.at], x: v.x[s.at], y: v.y[s.at], depth: v.depth[s.at] },
});
