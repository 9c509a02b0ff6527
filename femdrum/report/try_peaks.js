// One computed variant: components added, then principal stresses, peak and band, and the worst angle of a turning drum.
const add = (v, what, factors) => {
  const size = 3 * v.n, out = new Float64Array(size);
  factors.forEach((f, c) => {
    if (f) for (let i = 0; i < size; i++) out[i] += f * what[c * size + i];
  });
  return out;
};
const addPressure = (v, what, factors) => {
  const out = new Float64Array(v.n);
  v.pressed.forEach((c, k) => {
    if (factors[c]) for (let i = 0; i < v.n; i++) out[i] += factors[c] * what[k * v.n + i];
  });
  return out;
};
const principal = (n, stress) => {
  const high = new Float64Array(n), low = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const a = stress[3 * i], b = stress[3 * i + 1], mean = 0.5 * (a + b), half = Math.hypot(0.5 * (a - b), stress[3 * i + 2]);
    high[i] = mean + half;
    low[i] = mean - half;
  }
  return [high, low];
};
const minus = (a, b) => a.map((x, i) => x - b[i]);
const meanSquare = (values, weights) => {
  let sum = 0, all = 0;
  values.forEach((x, i) => { sum += weights[i] * x * x; all += weights[i]; });
  return Math.sqrt(sum / all);
};

// how far the top of the parabola through three points lies above the middle one; nothing where that is not the highest, as on the
// border of a region
const rise = (fallLeft, fallRight, left, right) => {
  if (fallLeft < 0 || fallRight < 0) return 0;
  const bend = (fallLeft / left + fallRight / right) / (left + right);
  const slope = ((fallLeft / left) * right - (fallRight / right) * left) / (left + right);
  return bend > 0 ? (0.25 * slope * slope) / bend : 0;
};
const between = (v, line, i) => {
  const l = v.left[i], r = v.right[i], a = v.above[i], b = v.below[i];
  const along = l < 0 || r < 0 ? 0 : rise(line[i] - line[l], line[i] - line[r], v.gapLeft[i], v.gapRight[i]);
  const deep = a < 0 || b < 0 ? 0 : rise(line[i] - line[a], line[i] - line[b], v.gapAbove[i], v.gapBelow[i]);
  return line[i] + along + deep;
};
const argmax = (line) => {
  let best = 0;
  for (let i = 1; i < line.length; i++) if (line[i] > line[best]) best = i;
  return best;
};
// of the unit cases, by how much they put in
const doubt = (v, factors) => {
  let all = 0, sum = 0;
  factors.forEach((f, c) => { const w = Math.abs(f) * v.caseSize[c]; all += w; sum += w * v.caseDoubt[c]; });
  return all > 0 ? sum / all : 1;
};
const extreme = (v, fine, last, before, scale, factors) => {
  const i = argmax(fine), value = between(v, fine, i);
  const least = fine[i] - (1 - K.near) * Math.max(Math.abs(value), 1e-3 * scale);
  const some = [], other = [], weights = [];
  for (let k = 0; k < v.n; k++) if (fine[k] >= least) { some.push(last[k]); other.push(before[k]); weights.push(v.weight[k]); }
  let change = Math.max(meanSquare(some, weights), K.earlier * meanSquare(other, weights));
  if (v.plane) change = Math.min(change, K.whole * meanSquare(last, v.weight));
  const told = v.bandFactor * v.raised * change;
  let band = Math.max(told, v.leastBand * doubt(v, factors) * scale) + K.floor * scale;
  if (v.rimSlope) band += K.rimShare * v.rimSlope * Math.abs(addPressure(v, v.rim, factors)[i]);
  return { value, band, at: i };
};
const fields = (v, factors) => {
  const stress = add(v, v.stress, factors), third = addPressure(v, v.pressure, factors).map((p) => -p);
  const [rawHigh, rawLow] = principal(v.n, stress);
  return { stress, third, rawHigh, rawLow, high: rawHigh.map((x, i) => Math.max(x, third[i])), low: rawLow.map((x, i) => Math.min(x, third[i])) };
};
const peaks = (v, factors) => {
  const f = fields(v, factors), one = minus(f.stress, add(v, v.step, factors)), two = minus(one, add(v, v.earlier, factors));
  const [oneHigh, oneLow] = principal(v.n, one), [twoHigh, twoLow] = principal(v.n, two);
  let scale = 0;
  for (let i = 0; i < v.n; i++) scale = Math.max(scale, Math.abs(f.high[i]), Math.abs(f.low[i]));
  const up = extreme(v, f.high, f.high.map((x, i) => x - Math.max(oneHigh[i], f.third[i])), minus(oneHigh, twoHigh), scale, factors);
  const down = extreme(v, f.low.map((x) => -x), f.low.map((x, i) => x - Math.min(oneLow[i], f.third[i])), minus(oneLow, twoLow), scale, factors);
  up.value = Math.max(up.value, 0);
  down.value = Math.max(down.value, 0);
  const tension = up.value >= (1 - EQUAL) * down.value, which = tension ? up : down;
  return { peak: tension ? up.value : -down.value, band: which.band + v.missed * which.value, at: which.at, fields: f };
};

// the drum turns: at one place the stress in a fixed direction is a + b cos(phi) + c sin(phi)
const reach = (abc) => Math.abs(abc[0]) + Math.hypot(abc[1], abc[2]);
const inDirection = (s, t) => {
  const c = Math.cos(t), d = Math.sin(t);
  return s.map((p) => c * c * p[0] + d * d * p[1] + 2 * d * c * p[2]);
};
const governing = (s, third) => {
  let width = Math.PI / DIRECTIONS, best = 0, top = -1;
  for (let k = 0; k < DIRECTIONS; k++) {
    const r = reach(inDirection(s, k * width));
    if (r > top) { top = r; best = k * width; }
  }
  for (let round = 0; round < TURNS; round++) {
    let found = best;
    top = -1;
    for (const step of STEPS) {
      const r = reach(inDirection(s, best + width * step));
      if (r > top) { top = r; found = best + width * step; }
    }
    best = found;
    width /= 3;
  }
  const abc = inDirection(s, best);
  return reach(third) > reach(abc) ? third : abc;
};
const angleOf = ([a, b, c], low) => {
  let phi = low ? Math.atan2(-c, -b) : Math.atan2(c, b);
  phi = ((phi % (2 * Math.PI)) + 2 * Math.PI) % (2 * Math.PI);
  return phi;
};
const stateAt = (vectors, phi) => vectors[0].map((f, i) => f + Math.cos(phi) * vectors[1][i] + Math.sin(phi) * vectors[2][i]);
const turningPlaces = (v, vectors) => {
  const stress = vectors.map((f) => add(v, v.stress, f)), third = vectors.map((f) => addPressure(v, v.pressure, f).map((p) => -p));
  const ends = stress.map((s) => principal(v.n, s)), most = new Float64Array(v.n);
  for (let i = 0; i < v.n; i++) {
    const size = ends.map(([h, l]) => Math.max(Math.abs(h[i]), Math.abs(l[i])));
    most[i] = Math.max((size[0] + Math.hypot(size[1], size[2])) * (1 + 1e-12), Math.abs(third[0][i]) + Math.hypot(third[1][i], third[2][i]));
  }
  const order = Array.from(most.keys()).sort((p, q) => most[q] - most[p]), found = [];
  let best = 0;
  for (const i of order) {
    if (most[i] < K.region * best) break;
    const abc = governing(stress.map((s) => [s[3 * i], s[3 * i + 1], s[3 * i + 2]]), third.map((t) => t[i]));
    best = Math.max(best, reach(abc));
    found.push({ i, abc, reach: reach(abc) });
  }
  return { found, best };
};
const worstAngle = ({ found, best }) => {
  let ends = found.filter((e) => e.reach >= (1 - EQUAL) * best);
  if (!ends.length || best === 0) return 0;
  const swing = (e) => Math.hypot(e.abc[1], e.abc[2]);
  const low = !ends.some((e) => e.abc[0] + swing(e) >= (1 - EQUAL) * best);
  ends = ends.filter((e) => (low ? swing(e) - e.abc[0] : e.abc[0] + swing(e)) >= (1 - EQUAL) * best);
  for (const e of ends) {
    e.phi = angleOf(e.abc, low);
    if (e.phi > 2 * Math.PI - EQUAL || swing(e) <= EQUAL * best) e.phi = 0;
  }
  const first = Math.min(...ends.map((e) => e.phi));
  const near = ends.filter((e) => e.phi <= first + 1e-3);
  return near.reduce((a, b) => (Math.abs(b.abc[0]) + swing(b) > Math.abs(a.abc[0]) + swing(a) ? b : a)).phi;
};
const regionTops = (v, f, into) => {
  for (let i = 0; i < v.n; i++) {
    const size = Math.max(f.high[i], -f.low[i]), r = v.region[i];
    if (!(r in into) || size > into[r].size) into[r] = { size, at: i };
  }
  for (const top of Object.values(into)) {
    const tension = f.high[top.at] >= (1 - EQUAL) * -f.low[top.at];
    top.sign = tension ? 1 : -1;
    top.size = between(v, tension ? f.high : f.low.map((x) => -x), top.at);
  }
  return into;
};

// all that a variant says of a mix: its peak as the package reads it, and the largest stress of every region of its edge
const solved = (v, mix, times) => {
  const own = v.mixes[mix];
  const vectors = own.rest.map((row, k) => row.map((rest, c) => own.loads.reduce((sum, load, n) => sum + times[n] * load[k][c], rest)));
  const turns = vectors[1].some(Boolean) || vectors[2].some(Boolean);
  if (!turns) {
    const p = peaks(v, vectors[0]);
    return { ...p, phi: 0, regions: regionTops(v, p.fields, {}), vectors };
  }
  const places = turningPlaces(v, vectors), phi = worstAngle(places), p = peaks(v, stateAt(vectors, phi));
  const regions = {};
  for (const e of places.found) if (!(v.region[e.i] in regions) || e.reach > regions[v.region[e.i]].reach) regions[v.region[e.i]] = e;
  for (const [r, e] of Object.entries(regions)) {
    const f = fields(v, stateAt(vectors, angleOf(e.abc, e.abc[0] < 0))), tension = e.abc[0] >= 0;
    const line = tension ? f.high : f.low.map((x) => -x);
    regions[r] = { at: e.i, sign: tension ? 1 : -1, size: between(v, line, e.i) };
  }
  return { ...p, phi, regions, vectors };
};
