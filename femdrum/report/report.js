"use strict";
// Charts that can be read off: the nearest data point under the pointer, or step by step with the keys.
(() => {
  const REACH = 48; // pixels from the pointer within which a point answers

  for (const plot of document.querySelectorAll(".plot")) {
    const kept = plot.querySelector("script[type='application/json']");
    const picture = plot.querySelector("img");
    if (!kept || !picture) continue;
    const told = JSON.parse(kept.textContent);
    const points = told.points.map(([x, y, text]) => ({ x, y, text })).sort((a, b) => a.x - b.x || a.y - b.y);
    if (!points.length) continue;

    const mark = document.createElement("span");
    mark.className = "mark";
    mark.hidden = true;
    const words = document.createElement("output");
    words.className = "reading";
    words.hidden = true;
    plot.append(mark, words);
    plot.classList.add("readable");
    plot.tabIndex = 0;
    plot.setAttribute("role", "group");
    plot.setAttribute("aria-label", `Chart with ${points.length} values; the arrow keys step through them`);
    let at = -1;

    const show = (n) => {
      at = n;
      const gone = n < 0;
      mark.hidden = words.hidden = gone;
      if (gone) return;
      const { x, y, text } = points[n];
      const wide = picture.offsetWidth / told.width, high = picture.offsetHeight / told.height;
      const left = picture.offsetLeft + x * wide, top = picture.offsetTop + y * high;
      mark.style.left = `${left}px`;
      mark.style.top = `${top}px`;
      words.textContent = text;
      const room = plot.clientWidth - words.offsetWidth;
      words.style.left = `${Math.max(0, Math.min(room, left - words.offsetWidth / 2))}px`;
      const above = top - words.offsetHeight - 12;
      words.style.top = `${above < 0 ? top + 12 : above}px`;
    };

    const nearest = (event) => {
      const box = picture.getBoundingClientRect();
      const wide = box.width / told.width, high = box.height / told.height;
      let best = -1, least = REACH * REACH;
      points.forEach((p, n) => {
        const dx = event.clientX - box.left - p.x * wide, dy = event.clientY - box.top - p.y * high;
        const d = dx * dx + dy * dy;
        if (d < least) [least, best] = [d, n];
      });
      return best;
    };

    plot.addEventListener("pointermove", (event) => show(nearest(event)));
    plot.addEventListener("pointerdown", (event) => show(nearest(event)));
    plot.addEventListener("pointerleave", (event) => { if (event.pointerType === "mouse") show(-1); });
    plot.addEventListener("focus", () => { if (at < 0 && plot.matches(":focus-visible")) show(0); });
    plot.addEventListener("blur", () => show(-1));
    plot.addEventListener("keydown", (event) => {
      const last = points.length - 1;
      const next = {
        ArrowRight: Math.min(last, at + 1), ArrowLeft: Math.max(0, at - 1), Home: 0, End: last, Escape: -1,
      }[event.key];
      if (next === undefined) return;
      event.preventDefault();
      show(next);
    });
  }

  // What scrolls sideways can be reached by the keys.
  const reachable = () => {
    for (const box of document.querySelectorAll(".wide, pre")) {
      if (box.scrollWidth > box.clientWidth + 1) {
        box.tabIndex = 0;
        box.setAttribute("role", "group");
        const own = box.querySelector("caption") || box.closest("section")?.querySelector("h2");
        box.setAttribute("aria-label", `${own ? own.textContent.trim() : "Table"}, scrolls sideways`);
      } else {
        for (const name of ["tabindex", "role", "aria-label"]) box.removeAttribute(name);
      }
    }
  };
  reachable();
  addEventListener("resize", reachable);
})();

// The body in space: unpacked and drawn when somebody asks to turn it.
(() => {
  const whole = document.getElementById("turn");
  const button = whole?.querySelector("button");
  if (!button || typeof DecompressionStream === "undefined") return;
  button.hidden = false;

  const bytes = (text) => Uint8Array.from(atob(text.trim()), (letter) => letter.charCodeAt(0));
  const floats = (text) => new Float32Array(bytes(text).buffer);
  const counts = (text) => new Uint32Array(bytes(text).buffer);

  const load = async () => {
    const packed = whole.querySelector(".body-script").textContent;
    const stream = new Blob([bytes(packed)]).stream().pipeThrough(new DecompressionStream("gzip"));
    const script = document.createElement("script");
    script.textContent = await new Response(stream).text();
    document.head.append(script);
    return window.Plotly;
  };

  const copyOf = (points, m) => {
    const count = points.length / 3;
    const x = new Float32Array(count), y = new Float32Array(count), z = new Float32Array(count);
    for (let n = 0; n < count; n++) {
      const a = points[3 * n], b = points[3 * n + 1], c = points[3 * n + 2];
      x[n] = m[0] * a + m[1] * b + m[2] * c + m[3];
      y[n] = m[4] * a + m[5] * b + m[6] * c + m[7];
      z[n] = m[8] * a + m[9] * b + m[10] * c + m[11];
    }
    return { x, y, z };
  };

  const traces = (told) => {
    const points = floats(told.points), values = floats(told.values);
    const corners = counts(told.triangles), rims = counts(told.rims);
    const third = (k) => Uint32Array.from({ length: corners.length / 3 }, (_, n) => corners[3 * n + k]);
    const ijk = [third(0), third(1), third(2)];
    const said = Array.from(values, (v) => `${v.toFixed(v > -10 && v < 10 ? 1 : 0).replace("-", "\u2212")} MPa`);
    const out = [];
    told.copies.forEach((matrix, n) => {
      const place = copyOf(points, matrix);
      out.push({
        type: "mesh3d", ...place, i: ijk[0], j: ijk[1], k: ijk[2], intensity: values, text: said, hoverinfo: "text",
        colorscale: told.colours, cmin: told.least, cmax: told.most, showscale: n === 0, flatshading: false,
        lighting: { ambient: 0.85, diffuse: 0.25, specular: 0.02, roughness: 1, fresnel: 0 },
        colorbar: { title: { text: "principal stress, MPa", side: "right" }, thickness: 12, len: 0.8, outlinewidth: 0 },
      });
      const line = { x: [], y: [], z: [] };
      for (let r = 0; r < rims.length; r += 2) {
        for (const axis of "xyz") line[axis].push(place[axis][rims[r]], place[axis][rims[r + 1]], null);
      }
      out.push({ type: "scatter3d", mode: "lines", ...line, line: { color: told.ink, width: 2 }, hoverinfo: "skip", showlegend: false });
    });
    return out;
  };

  const start = async () => {
    button.disabled = true;
    button.textContent = "Unpacking …";
    const told = JSON.parse(whole.querySelector(".body-data").textContent);
    const space = whole.querySelector(".space");
    try {
      const library = await load();
      space.hidden = false;
      const hidden = { visible: false, showspikes: false };
      const long = Math.hypot(...told.eyes[0]);
      const from = ([x, y, z], away) => ({ x: (away * x) / long, y: (away * y) / long, z: (away * z) / long });
      let eye = from(told.eyes[0], 2.3);
      await library.newPlot(space, traces(told), {
        margin: { l: 0, r: 0, t: 0, b: 0 }, paper_bgcolor: "#ffffff", font: { color: told.ink, size: 12 },
        scene: {
          annotations: told.marks.map((m, n) => ({
            x: m.at[0], y: m.at[1], z: m.at[2], text: m.text, ax: n ? 190 : -190, ay: n ? -130 : 110, arrowhead: 0, arrowwidth: 1,
            arrowcolor: told.ink, bgcolor: "rgba(255,255,255,0.85)", font: { size: 12, color: told.ink }, captureevents: false,
          })),
          xaxis: hidden, yaxis: hidden, zaxis: hidden, aspectmode: "data", dragmode: "orbit",
          camera: { eye, up: { x: 0, y: 0, z: 1 }, projection: { type: "perspective" } },
        },
      }, { displayModeBar: false, displaylogo: false, responsive: true, scrollZoom: false, showTips: false });
      const look = (where) => {
        eye = where;
        return library.relayout(space, { "scene.camera.eye": where, "scene.camera.up": { x: 0, y: 0, z: 1 } });
      };
      space.on("plotly_relayout", (change) => { if (change["scene.camera"]) eye = change["scene.camera"].eye; });
      space.addEventListener("keydown", (event) => {
        const r = Math.hypot(eye.x, eye.y, eye.z);
        let around = Math.atan2(eye.y, eye.x), above = Math.asin(eye.z / r), away = r;
        const step = Math.PI / 18;
        if (event.key === "ArrowLeft") around -= step;
        else if (event.key === "ArrowRight") around += step;
        else if (event.key === "ArrowUp") above = Math.min(1.5, above + step);
        else if (event.key === "ArrowDown") above = Math.max(-1.5, above - step);
        else if (event.key === "+") away *= 0.85;
        else if (event.key === "-") away /= 0.85;
        else return;
        event.preventDefault();
        look({ x: away * Math.cos(above) * Math.cos(around), y: away * Math.cos(above) * Math.sin(around), z: away * Math.sin(above) });
      });
      const buttons = [["From outside", 0], ["From the bore", 1]].map(([text, n]) => {
        const one = document.createElement("button");
        one.type = "button";
        one.textContent = text;
        one.addEventListener("click", () => look(from(told.eyes[n], 2.3)));
        return one;
      });
      button.replaceWith(...buttons);
      whole.dataset.ready = "yes";
      space.focus({ preventScroll: true });
    } catch (error) {
      space.hidden = true;
      button.disabled = false;
      button.textContent = "Turn the body with the mouse";
      button.insertAdjacentText("afterend", ` This browser could not draw it: ${error.message}. `);
      whole.dataset.ready = "no";
    }
  };
  button.addEventListener("click", start);
})();
