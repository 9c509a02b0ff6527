// Tried values: the stored stress of unit loads is added up with the factors that the sliders give, component by component;
// principal stresses, the peak, its place and its band follow as in the package. Nothing is fetched and nothing is sent.
// This piece reads what the page carries.
const box = document.getElementById("try-data");
if (!box) return;
const data = JSON.parse(box.textContent);
const K = data.rules;
const EQUAL = 1e-6, DIRECTIONS = 180, TURNS = 14, STEPS = [0, -1, -2 / 3, -1 / 3, 1 / 3, 2 / 3, 1];

const bytes = (text) => Uint8Array.from(atob(text), (c) => c.charCodeAt(0)).buffer;
const view = (text, size, read) => {
  const d = new DataView(bytes(text)), out = new Float64Array(d.byteLength / size);
  for (let i = 0; i < out.length; i++) out[i] = d[read](i * size, true);
  return out;
};
const single = (text) => view(text, 4, "getFloat32");
const small = (text) => Int16Array.from(view(text, 2, "getInt16"));
const halfValue = (h) => {
  const e = (h >> 10) & 31, m = h & 1023, s = h & 32768 ? -1 : 1;
  return s * (e === 0 ? m * 2 ** -24 : (1 + m / 1024) * 2 ** (e - 15));
};
const half = (packed) => {
  const raw = view(packed.of, 2, "getUint16"), each = raw.length / packed.by.length;
  return raw.map((h, i) => halfValue(h) * packed.by[Math.floor(i / each)]);
};
for (const v of data.variants) {
  for (const name of ["slot", "s", "region", "left", "right", "above", "below", "name"]) v[name] = small(v[name]);
  for (const name of ["x", "y", "depth", "weight", "gapLeft", "gapRight", "gapAbove", "gapBelow", "stress", "pressure", "rim"]) v[name] = single(v[name]);
  v.step = half(v.step);
  v.earlier = half(v.earlier);
  v.n = v.slot.length;
}
