// Life with the loads as moved.
// every stress of the stored duty so many times as large: log life over log factor, straight between stored points
const lifeAt = (life, factor) => {
  const q = Math.log10(factor), s = life.scale;
  if (!(q >= s[0] && q <= s[s.length - 1])) return null;
  let i = 0;
  while (i < s.length - 2 && q > s[i + 1]) i++;
  const [a, b] = [life.log[i], life.log[i + 1]];
  if (a === null || b === null) return Infinity;
  return a + ((b - a) * (q - s[i])) / (s[i + 1] - s[i]) + life.shift;
};
// damage in 1,000 h at a place: peaks meet valleys in the worst order, each cycle against the S-N curve
const damage = (count, place, times, speed) => {
  const states = place.states.map((loads) => [0, 1].map((own) => [0, 1, 2].map((k) => loads.reduce((sum, load) => sum + (times[load.name] ?? 1) * load.by[own][k], 0))));
  const level = (end, own, sign) => {
    const [a, b, c] = [0, 1, 2].map((k) => end.reduce((sum, share, n) => sum + share * states[n][own][k], 0));
    return a + sign * Math.hypot(b, c);
  };
  const events = count.count.map((n, k) => {
    const ends = [count.first[k], count.second[k]];
    return {
      n: n * (count.turns[k] ? speed : 1),
      high: Math.max(...ends.map((e) => level(e, 0, 1))), low: Math.min(...ends.map((e) => level(e, 0, -1))),
      open: place.shear ? Math.max(...ends.map((e) => level(e, 1, 1))) : 0,
    };
  });
  const peaks = [...events].sort((a, b) => b.high - a.high), valleys = [...events].sort((a, b) => a.low - b.low);
  const limit = count.yield ?? Infinity;
  let sum = 0, i = 0, j = 0, up = peaks[0].n, down = valleys[0].n;
  while (i < peaks.length && j < valleys.length) {
    const n = Math.min(up, down), top = peaks[i].high, bottom = Math.min(top, valleys[j].low);
    let a = 0.5 * (top - bottom), room = Math.max(limit - a, 0), mean = Math.max(-room, Math.min(room, 0.5 * (top + bottom)));
    if (place.shear) {
      a *= (1 + count.opening * Math.max(0, Math.min(limit, Math.max(peaks[i].open, valleys[j].open)))) / K.shearRatio;
      mean = 0;
    }
    if (n > 0 && a > 0) {
      const r = count.residual;
      const left = count.yield === null ? r : r >= 0 ? Math.min(Math.max(limit - (mean + a), 0), r) : -Math.min(Math.max(limit + (mean - a), 0), -r);
      let equal = 0;
      for (const { ultimate, m } of count.metals) {
        const x = Math.max(-1, Math.min(3, (mean + left) / a));
        const factor = x <= 1 ? 1 / (1 + m * x) : (1 + m / 3) / ((1 + m) * (1 + (m / 3) * x));
        equal = Math.max(equal, mean + left >= ultimate ? Infinity : a / factor);
      }
      const ratio = equal / place.knee;
      sum += n / (count.kneeCycles * ratio ** -(ratio > 1 ? count.slopes[0] : count.slopes[1]));
    }
    up -= n;
    down -= n;
    if (up <= 1e-12 * peaks[i].n) up = ++i < peaks.length ? peaks[i].n : 0;
    if (down <= 1e-12 * valleys[j].n) down = ++j < valleys.length ? valleys[j].n : 0;
  }
  const most = Math.max(...events.map((e) => Math.max(Math.abs(e.high), Math.abs(e.low), Math.abs(e.open))));
  return { sum, yields: most > limit };
};
const lifeOf = (state, times) => {
  if (!data.life) return null;
  const one = ({ life }) => {
    if (!life.count) return { log: state.common ? lifeAt(life, state.all) : null, place: life.place, yields: false };
    const each = life.count.places.map((place) => {
      const now = damage(life.count, place, times, state.speed), before = damage(life.count, place, {}, 1);
      const log = now.sum === 0 ? Infinity : place.own === null ? 3 - Math.log10(now.sum) : place.own + Math.log10(before.sum / now.sum);
      return { log, place: place.name, yields: now.yields };
    });
    return each.reduce((a, b) => (b.log < a.log - 1e-6 ? b : a)); // of equal places the first
  };
  if (state.variant) {
    const own = one(state.variant);
    return own.log === null ? null : { ...own, log: [own.log, own.log] };
  }
  const each = nodes.map(({ k }) => one(data.variants[k])), x = Math.log(state.number), xs = nodes.map((n) => n.x);
  if (each.some((e) => e.log === null || !Number.isFinite(e.log))) return null;
  const s = smooth(xs, each.map((e) => e.log), x), near = each[x - xs[s.i] < xs[s.i + 1] - x ? s.i : s.i + 1];
  return { ...near, log: [s.value - s.off, s.value + s.off], yields: each[s.i].yields || each[s.i + 1].yields };
};
