// The tried state, its words, the controls, and the address that links it.
// ---- a tried state ------------------------------------------------------------------------------------------------
const start = () => ({ mix: data.first, times: {}, all: 1, speed: 1, number: data.variants[data.chosen].number, variant: data.variants[data.chosen] });
let tried = start();
const timesOf = (load, state = tried, mix = state.mix) => {
  const own = state.times[load.name] ?? (mix === undefined ? 1 : load.start);
  return own * state.all * (load.power ? state.speed ** load.power : 1);
};
const result = () => {
  const mix = data.mixes[tried.mix], said = [];
  for (const load of mix.loads) {
    const own = tried.times[load.name] ?? load.start;
    if (own < data.least[tried.mix] || own > data.most) said.push(`“${load.name}” at ${own} times leaves the range that the stored places were chosen for, ${data.least[tried.mix]} to ${data.most}`);
  }
  if (tried.all < 0 || tried.all > data.most) said.push(`“all loads” at ${tried.all} times leaves the range, 0 to ${data.most}`);
  if (tried.all !== 1 && mix.standing.length) said.push("loads that stand as they are cannot grow with all others");
  if (data.speed && (tried.speed < data.speed.least - 1e-9 || tried.speed > data.speed.most + 1e-9)) said.push(`the speed leaves the range in which the loads' formulas were tried, ${words(data.speed.rpm * data.speed.least)} to ${words(data.speed.rpm * data.speed.most)} rpm`);
  if (axis && !tried.variant) {
    if (!nodes.length) said.push(`${axis.name} ${tried.number} is none of the computed values, and they are too few to go between them`);
    else {
      const low = Math.exp(nodes[0].x), high = Math.exp(nodes[nodes.length - 1].x);
      if (tried.number < low * (1 - 1e-9) || tried.number > high * (1 + 1e-9)) said.push(`${axis.name} ${words(tried.number)} ${axis.unit} lies outside the computed range, ${words(low)} to ${words(high)} ${axis.unit}${axis.beyond ? `; ${axis.beyond}` : ""}: solve it`);
    }
  }
  if (said.length) return { peak: null, band: null, said };
  const times = mix.loads.map((load) => timesOf(load));
  const find = (v) => solved(v, tried.mix, times);
  let out;
  if (tried.variant) out = ofVariant(tried.variant, find(tried.variant));
  else {
    const found = {};
    for (const { k } of nodes) found[k] = find(data.variants[k]);
    out = betweenVariants(found, tried.number);
  }
  if (!out || Math.abs(out.peak) < 1e-12) return { peak: out ? 0 : null, band: 0, said: [out ? "no load acts" : "the peak moves to places that the computed variants do not share: solve this value"] };
  const named = {};
  for (const m of data.mixes) for (const load of m.loads) named[load.name] = timesOf(load, tried);
  out.life = lifeOf({ ...tried, common: !Object.values(tried.times).some((t) => t !== 1) && tried.speed === 1 }, named);
  out.said = [];
  out.times = times;
  return out;
};

// ---- words --------------------------------------------------------------------------------------------------------
const sign = (text) => (text.startsWith("-") ? `−${text.slice(1)}` : text);
const words = (x) => sign(String(Number(x.toPrecision(4))));
const pair = (value, band) => {
  if (!(band > 0) || !Number.isFinite(band)) return [String(Number(value.toPrecision(6))), ""];
  let e = Math.floor(Math.log10(band));
  if (band / 10 ** e < 1.95) e -= 1;
  const decimals = Math.max(0, -e), step = 10 ** e;
  return [(Math.round(value / step) * step).toFixed(decimals), (Math.ceil(band / step - 1e-9) * step).toFixed(decimals)];
};
const hours = (log) => {
  if (log === Infinity) return "endless";
  const h = 10 ** log;
  if (h > 1e7) return "over 10 million h";
  if (h < 1) return "below 1 h";
  return `${Number(h.toPrecision(2)).toLocaleString("en")} h`;
};
const lifeWords = (life) => {
  if (!life || life.log.some((x) => Number.isNaN(x))) return "no number: the stored life does not tell this one";
  const [low, high] = life.log.map(hours);
  return `${low === high ? low : `${low} to ${high}`}, ${life.place}${life.yields ? "; the elastic stress passes yield there: an estimate" : ""}`;
};

// ---- the page -----------------------------------------------------------------------------------------------------
const root = document.getElementById("try");
const get = (id) => document.getElementById(`try-${id}`);
const made = (tag, given = {}, text = "") => {
  const node = document.createElement(tag);
  for (const [k, v] of Object.entries(given)) node.setAttribute(k, v);
  if (text) node.textContent = text;
  return node;
};
let serial = 0;
const slider = (label, note, least, most, value, step, change, snap = (x) => x) => {
  const id = `try-in-${serial++}`, row = made("div", { class: "try-row" });
  row.append(made("label", { for: id }, label));
  const range = made("input", { type: "range", id, min: least, max: most, step, value });
  const number = made("input", { type: "number", min: least, max: most, step: "any", value, "aria-label": `${label}, as a number` });
  const both = (from, to, near) => from.addEventListener("input", () => {
    if (from.value === "" || !Number.isFinite(Number(from.value))) return;
    const x = near(Number(from.value));
    to.value = Number(x.toPrecision(6));
    change(x);
  });
  both(range, number, snap);
  both(number, range, (x) => x);
  row.append(range, number);
  if (note) row.append(made("span", { class: "dim" }, note));
  return { row, set: (x) => { range.value = x; number.value = Number(Number(x).toPrecision(6)); } };
};
let axisSlider = null, speedSlider = null, allSlider = null, choice = null;
const pick = (number) => data.variants.find((v) => Math.abs(v.number - number) <= 1e-9 * Math.abs(number)) ?? null;

const controls = () => {
  const home = get("axis");
  home.replaceChildren();
  axisSlider = speedSlider = allSlider = choice = null;
  if (axis) {
    if (nodes.length) {
      const low = Math.exp(nodes[0].x), high = Math.exp(nodes[nodes.length - 1].x), more = 0.1 * (high - low);
      const step = Number(((high - low) / 200).toPrecision(1));
      // a slider's step meets no computed value by itself
      const snap = (x) => data.variants.find((v) => Math.abs(v.number - x) <= 0.5 * step)?.number ?? x;
      axisSlider = slider(`${axis.name}${axis.unit ? `, ${axis.unit}` : ""}`, `computed range ${words(low)} to ${words(high)}`, Math.max(low - more, 0.5 * low).toPrecision(4), (high + more).toPrecision(4), tried.number, step, (x) => { tried.number = x; tried.variant = pick(x); show(); }, snap);
      home.append(axisSlider.row);
    }
    const row = made("div", { class: "try-row" });
    row.append(made("label", { for: "try-variant" }, `${axis.name}, computed`));
    choice = made("select", { id: "try-variant" });
    if (nodes.length) choice.append(made("option", { value: "" }, "between"));
    data.variants.forEach((v, k) => choice.append(made("option", { value: k }, v.label)));
    choice.addEventListener("change", () => {
      if (choice.value === "") return sync();
      tried.variant = data.variants[Number(choice.value)];
      tried.number = tried.variant.number;
      show();
    });
    row.append(choice);
    home.append(row);
  }
  const mix = data.mixes[tried.mix];
  if (data.mixes.length > 1) {
    const row = made("div", { class: "try-row" });
    row.append(made("label", { for: "try-mix" }, data.together ? "load" : "condition"));
    const select = made("select", { id: "try-mix" });
    data.mixes.forEach((m, k) => select.append(made("option", k === tried.mix ? { value: k, selected: "" } : { value: k }, m.name)));
    select.addEventListener("change", () => { tried.mix = Number(select.value); if (data.together) tried.times = {}; controls(); show(); document.getElementById("try-mix").focus(); });
    row.append(select);
    home.append(row);
  }
  const loads = get("loads");
  loads.replaceChildren();
  if (data.speed && mix.loads.some((l) => l.power)) {
    const rpm = data.speed.rpm, low = data.speed.least * rpm, high = data.speed.most * rpm, beyond = 0.05 * (high - low);
    const how = { "-1": "inversely", 1: "in proportion", 2: "with its square" };
    const follow = [2, 1, -1].map((p) => [p, mix.loads.filter((l) => l.power === p).map((l) => l.name)]).filter(([, n]) => n.length);
    const unknown = mix.loads.filter((l) => l.power === null).map((l) => l.name);
    speedSlider = slider("speed, rpm", `${follow.map(([p, n]) => `${n.join(", ")}: ${how[p]}`).join("; ")}${unknown.length ? `; not known, so as it is: ${unknown.join(", ")}` : ""}`, low - beyond, high + beyond, tried.speed * rpm, 5, (x) => { tried.speed = x / rpm; show(); });
    loads.append(speedSlider.row);
  }
  if (mix.loads.length > 1 && !mix.standing.length) {
    allSlider = slider("all loads, times", "", 0, data.most, tried.all, 0.02, (x) => { tried.all = x; show(); });
    loads.append(allSlider.row);
  }
  for (const load of mix.loads) {
    const s = slider(`${load.name}, times`, load.share === 1 ? "" : `${words(load.share)} times in this condition`, data.least[tried.mix], data.most, tried.times[load.name] ?? load.start, 0.02, (x) => { tried.times[load.name] = x; show(); });
    loads.append(s.row);
  }
  if (mix.standing.length) loads.append(made("p", { class: "dim" }, `Stand as they are: ${mix.standing.join(", ")}. How bars answer to them alone does not follow from what is stored.`));
};
const sync = () => {
  if (axisSlider) axisSlider.set(tried.number);
  if (choice) choice.value = tried.variant ? String(data.variants.indexOf(tried.variant)) : "";
  if (choice && choice.value === "" && !nodes.length) choice.selectedIndex = -1;
};
const draw = (r) => {
  const svg = get("edge"), outline = r.outline ?? data.variants[data.chosen].outline;
  const xs = outline.map((p) => p[0]), ys = outline.map((p) => p[1]), size = Math.max(...xs.map(Math.abs), ...ys.map(Math.abs)), pad = 0.25 * size;
  const w = 2 * Math.max(...xs.map(Math.abs)) + 2 * pad, h = 2 * Math.max(...ys.map(Math.abs)) + 2 * pad;
  svg.setAttribute("viewBox", `${-w / 2} ${-h / 2} ${w} ${h}`);
  get("outline").setAttribute("d", `M${outline.map(([x, y]) => `${x.toFixed(2)} ${(-y).toFixed(2)}`).join("L")}Z`);
  const mark = get("mark");
  mark.setAttribute("visibility", r.place ? "visible" : "hidden");
  if (r.place) {
    mark.setAttribute("cx", r.place.x);
    mark.setAttribute("cy", -r.place.y);
    mark.setAttribute("r", 0.055 * size);
    mark.setAttribute("stroke-width", 0.02 * size);
    svg.setAttribute("aria-label", `the slot's edge, unrolled, with the peak at the ${placeWords(r.place)}`);
  }
  get("outline").setAttribute("stroke-width", 0.014 * size);
};
const placeWords = (p) => {
  const own = data.names[p.name], slot = data.slots > 1 ? `slot ${p.slot}, ` : "", deep = data.plane ? "" : `, ${words(Math.round(10 * p.depth) / 10)} mm below the outer surface`;
  const n = (x) => sign(x.toFixed(1)).replace("−0.0", "0.0");
  return `${slot}${own ? `${own}, ` : ""}x ${n(p.x)}, y ${n(p.y)} mm${deep}`;
};
const show = () => {
  sync();
  const r = result();
  get("said").textContent = r.said.length ? `No number: ${r.said.join("; ")}.` : "";
  get("answer").hidden = r.said.length > 0;
  if (!r.said.length) {
    const [value, band] = pair(r.peak, r.band);
    get("peak").textContent = `${sign(value)}${band ? ` ± ${band}` : ""} MPa`;
    get("place").textContent = placeWords(r.place);
    get("how").textContent = r.computed ? "computed variant; loads added component by component" : `between computed variants; of the band, ${pair(r.off, Math.max(r.off, 1e-9))[1]} MPa is for that`;
    get("own").textContent = data.own[tried.mix];
    get("yield").textContent = data.yield && Math.abs(r.peak) > data.yield ? `Above the yield strength of ${data.yield} MPa: an elastic number, a measure only.` : "";
    if (data.life) get("life").textContent = lifeWords(r.life);
  }
  draw(r);
  remember();
  window.femdrumTry.last = r;
  return r;
};

// ---- a tried state can be linked: #try=value:7.5;case:running;speed:1100;all:1.1;times.drive:1.2 --------------------
const name = encodeURIComponent;
const address = () => {
  const parts = [];
  if (axis) parts.push(`value:${tried.variant ? name(tried.variant.label) : Number(tried.number.toPrecision(8))}`);
  parts.push(`case:${name(data.mixes[tried.mix].name)}`);
  if (data.speed && tried.speed !== 1) parts.push(`speed:${Number((tried.speed * data.speed.rpm).toPrecision(8))}`);
  if (tried.all !== 1) parts.push(`all:${tried.all}`);
  for (const [load, t] of Object.entries(tried.times)) parts.push(`times.${name(load)}:${t}`);
  return `#try=${parts.join(";")}`;
};
let touched = false;
const remember = () => {
  if (!touched) return;
  try { history.replaceState(null, "", address()); } catch { /* some browsers keep the address of files as it is */ }
};
const set = (wanted) => {
  if ("case" in wanted) {
    const k = data.mixes.findIndex((m) => m.name === wanted.case);
    if (k >= 0) tried.mix = k;
  }
  if ("value" in wanted) {
    const found = data.variants.find((v) => v.label === String(wanted.value)) ?? pick(Number(wanted.value));
    // what is no value at all leaves the state as it is
    if (found || Number(wanted.value) > 0) [tried.variant, tried.number] = [found, found ? found.number : Number(wanted.value)];
  }
  if ("speed" in wanted && data.speed) tried.speed = wanted.speed / data.speed.rpm;
  if ("all" in wanted) tried.all = wanted.all;
  const known = new Set(data.mixes.flatMap((m) => m.loads.map((l) => l.name)));
  for (const [load, times] of Object.entries(wanted.times ?? {})) if (known.has(load)) tried.times[load] = times;
  controls();
  return show();
};
const fromAddress = () => {
  if (!location.hash.startsWith("#try=")) return false;
  const wanted = { times: {} };
  for (const part of location.hash.slice(5).split(";")) {
    const cut = part.indexOf(":");
    if (cut < 0) continue;
    let key, text;
    try { [key, text] = [part.slice(0, cut), part.slice(cut + 1)].map(decodeURIComponent); } catch { continue; }
    const number = Number(text);
    if (key === "case" || key === "value") wanted[key] = text;
    else if (!Number.isFinite(number)) continue;
    else if (key.startsWith("times.")) wanted.times[key.slice(6)] = number;
    else wanted[key] = number;
  }
  tried = start();
  touched = true;
  set(wanted);
  return true;
};
const reset = () => { tried = start(); controls(); return show(); };
window.femdrumTry = { set, reset, last: null, address };
get("page").hidden = false;
root.addEventListener("input", () => { touched = true; }, true);
get("reset").addEventListener("click", () => { touched = true; reset(); });
window.addEventListener("hashchange", fromAddress);
if (fromAddress()) root.scrollIntoView();
else reset();
