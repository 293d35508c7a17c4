// The chart of the impedance: both axes, a cursor that reads values, and zoom along the
// frequency. It draws into an SVG of its own; colours come from the style sheet.

const NS = "http://www.w3.org/2000/svg";

function node(name, attributes, parent) {
  const e = document.createElementNS(NS, name);
  for (const [k, v] of Object.entries(attributes)) e.setAttribute(k, v);
  parent?.append(e);
  return e;
}

const sizes = { wide: [800, 420], narrow: [360, 260] };
const margin = { left: 46, right: 12, top: 10, bottom: 34 };
const whole = [5, 20000];

// nice returns steps of 1, 2 or 5 that make about n parts of the range up to top.
function nice(top, n) {
  const raw = top / n, power = 10 ** Math.floor(Math.log10(raw));
  return [1, 2, 5, 10].map(k => k * power).find(s => s >= raw);
}

const hertz = f => f >= 1000 ? +(f / 1000).toPrecision(3) + " kHz" : +f.toPrecision(3) + " Hz";

export class Chart {
  constructor(place) {
    this.range = [...whole];
    this.now = this.other = this.tip = null;
    this.at = null; // Hz of the cursor
    place.classList.add("chart");
    this.reading = document.createElement("div");
    this.reading.className = "reading";
    this.reading.setAttribute("aria-live", "off");
    this.svg = node("svg", { tabindex: 0, role: "slider", "aria-label": "impedance over frequency; arrow keys move the cursor", "aria-valuemin": whole[0], "aria-valuemax": whole[1], "aria-valuenow": 100 });
    const tools = document.createElement("div");
    tools.className = "tools";
    for (const [text, label, act] of [
      ["+", "zoom in", () => this.zoom(0.5)], ["−", "zoom out", () => this.zoom(2)],
      ["Peak", "show the resonance", () => this.peak()], ["Whole", "show all frequencies", () => this.show(...whole)]]) {
      const b = document.createElement("button");
      b.type = "button";
      b.textContent = text;
      b.setAttribute("aria-label", label);
      b.addEventListener("click", act);
      tools.append(b);
    }
    place.append(this.reading, this.svg, tools);
    this.svg.addEventListener("keydown", e => this.key(e));
    this.svg.addEventListener("pointerdown", e => this.down(e));
    this.svg.addEventListener("pointermove", e => this.move(e));
    this.svg.addEventListener("pointerup", () => this.up());
    this.svg.addEventListener("pointerleave", () => { if (this.drag === undefined) { this.at = null; this.draw(); } });
    matchMedia("(max-width:640px)").addEventListener("change", () => this.draw());
    this.draw();
  }

  set({ now, other, tip = null }) {
    Object.assign(this, { now, other, tip });
    this.draw();
  }

  show(lo, hi) {
    lo = Math.max(whole[0], lo);
    hi = Math.min(whole[1], hi);
    if (hi / lo < 1.2) return;
    this.range = [lo, hi];
    this.draw();
  }

  zoom(by) {
    const [lo, hi] = this.range, middle = this.at ?? Math.sqrt(lo * hi), half = Math.sqrt(hi / lo) ** by;
    this.show(middle / half, middle * half);
  }

  // peak shows an octave and a half to both sides of the highest point below 500 Hz.
  peak() {
    const c = this.now ?? this.other;
    if (!c) return;
    let best = -1;
    c.f.forEach((f, i) => { if (f < 500 && (best < 0 || c.z[i] > c.z[best])) best = i; });
    if (best >= 0) this.show(c.f[best] / 2.8, c.f[best] * 2.8);
  }

  x(f) {
    const [lo, hi] = this.range;
    return margin.left + (this.w - margin.left - margin.right) * Math.log(f / lo) / Math.log(hi / lo);
  }

  f(x) {
    const [lo, hi] = this.range, part = (x - margin.left) / (this.w - margin.left - margin.right);
    return lo * (hi / lo) ** Math.min(1, Math.max(0, part));
  }

  y(z) { return this.h - margin.bottom - (this.h - margin.top - margin.bottom) * z / this.top; }

  // where is the frequency under a pointer.
  where(e) {
    const box = this.svg.getBoundingClientRect();
    return this.f((e.clientX - box.left) / box.width * this.w);
  }

  down(e) {
    this.at = this.where(e);
    if (e.pointerType === "mouse") this.drag = this.at;
    this.draw();
  }

  move(e) {
    this.at = this.where(e);
    this.draw();
  }

  up() {
    const from = this.drag;
    this.drag = undefined;
    if (from !== undefined && Math.abs(this.x(from) - this.x(this.at)) > 20) this.show(Math.min(from, this.at), Math.max(from, this.at));
    else this.draw();
  }

  key(e) {
    const [lo, hi] = this.range, step = (hi / lo) ** (e.shiftKey ? 0.05 : 0.005);
    const moves = { ArrowRight: f => f * step, ArrowLeft: f => f / step, Home: () => lo, End: () => hi };
    if (e.key === "+" || e.key === "-") this.zoom(e.key === "+" ? 0.5 : 2);
    else if (moves[e.key]) this.at = Math.min(hi, Math.max(lo, moves[e.key](this.at ?? Math.sqrt(lo * hi))));
    else return;
    e.preventDefault();
    this.draw();
  }

  // value reads a curve at f, between its points along the logarithm of frequency.
  static value(c, f) {
    if (!c || !c.f.length || f < c.f[0] || f > c.f.at(-1)) return null;
    let i = c.f.findIndex(g => g >= f);
    if (i <= 0) return { z: c.z[0], p: c.p[0] };
    const part = Math.log(f / c.f[i - 1]) / Math.log(c.f[i] / c.f[i - 1]), mix = k => c[k][i - 1] + part * (c[k][i] - c[k][i - 1]);
    return { z: mix("z"), p: mix("p") };
  }

  path(c) {
    let d = "", pen = false;
    for (let i = 0; i < c.f.length; i++) {
      const x = this.x(c.f[i]);
      if (x < margin.left - 30 || x > this.w + 30) { pen = false; continue; }
      d += (pen ? "L" : "M") + x.toFixed(1) + " " + this.y(c.z[i]).toFixed(1);
      pen = true;
    }
    return d;
  }

  draw() {
    [this.w, this.h] = sizes[matchMedia("(max-width:640px)").matches ? "narrow" : "wide"];
    const { svg, w, h } = this, [lo, hi] = this.range;
    svg.setAttribute("viewBox", `0 0 ${w} ${h}`);
    let highest = 10;
    for (const c of [this.now, this.other]) c?.z.forEach((z, i) => { if (c.f[i] >= lo && c.f[i] <= hi) highest = Math.max(highest, z); });
    const step = nice(highest * 1.05, 5);
    this.top = step * Math.ceil(highest * 1.05 / step);
    svg.replaceChildren();
    const defs = node("defs", {}, svg), clip = node("clipPath", { id: "chart-clip" }, defs);
    node("rect", { x: margin.left, y: margin.top, width: w - margin.left - margin.right, height: h - margin.top - margin.bottom }, clip);
    for (let z = 0; z <= this.top * 1.001; z += step) {
      node("path", { class: "grid", d: `M${margin.left} ${this.y(z)}H${w - margin.right}` }, svg);
      if (this.y(z) > 30) node("text", { x: margin.left - 6, y: this.y(z) + 5, "text-anchor": "end" }, svg).textContent = z;
    }
    node("text", { x: margin.left - 6, y: 18, "text-anchor": "end" }, svg).textContent = "Ω";
    const few = w < 500, narrow = hi / lo < 30;
    for (let decade = 1; decade <= 1e4; decade *= 10) for (const k of [1, 2, 3, 4, 5, 6, 7, 8, 9]) {
      const f = k * decade;
      if (f < lo * 0.999 || f > hi * 1.001) continue;
      const x = this.x(f);
      node("path", { class: "grid", d: `M${x} ${margin.top}V${h - margin.bottom}` }, svg);
      if (k === 1 || narrow && (!few || k % 2 === 0) || k === 2 && !few || k === 5 && !few) {
        const anchor = x > w - 30 ? "end" : "middle";
        node("text", { x, y: h - 12, "text-anchor": anchor }, svg).textContent = f >= 1000 ? f / 1000 + "k" : f;
      }
    }
    node("rect", { class: "frame", x: margin.left, y: margin.top, width: w - margin.left - margin.right, height: h - margin.top - margin.bottom }, svg);
    const inside = node("g", { "clip-path": "url(#chart-clip)" }, svg);
    if (this.other) node("path", { class: "other", d: this.path(this.other) }, inside);
    if (this.now) node("path", { class: "now", d: this.path(this.now) }, inside);
    if (this.tip) node("circle", { class: "tip", r: 8, cx: this.x(this.tip[0]), cy: this.y(this.tip[1]) }, inside);
    if (this.drag !== undefined) {
      const [a, b] = [this.x(this.drag), this.x(this.at)].sort((p, q) => p - q);
      node("rect", { class: "select", x: a, y: margin.top, width: b - a, height: h - margin.top - margin.bottom }, inside);
    }
    this.read(inside);
  }

  // read draws the cursor and says what is under it.
  read(inside) {
    const now = Chart.value(this.now, this.at), other = Chart.value(this.other, this.at);
    const parts = [];
    if (this.at !== null) {
      node("path", { class: "cursor", d: `M${this.x(this.at)} ${margin.top}V${this.h - margin.bottom}` }, inside);
      if (now) node("circle", { class: "dot", r: 5, cx: this.x(this.at), cy: this.y(now.z) }, inside);
      parts.push([null, hertz(this.at)]);
      this.svg.setAttribute("aria-valuenow", this.at.toPrecision(4));
    }
    const say = v => v ? `${v.z.toPrecision(4)} Ω, ${v.p.toFixed(0).replace("-", "−")}°` : "";
    if (this.now) parts.push(["key", this.at === null ? this.names?.[0] ?? "now" : say(now)]);
    if (this.other) parts.push(["key was", this.at === null ? this.names?.[1] ?? "before" : say(other)]);
    this.svg.setAttribute("aria-valuetext", this.at === null ? "no cursor" : parts.map(p => p[1]).join("; "));
    this.reading.replaceChildren(...parts.filter(p => p[1]).map(([key, text]) => {
      const s = document.createElement("span");
      if (key) {
        const k = document.createElement("span");
        k.className = key;
        s.append(k);
      }
      s.append(text);
      return s;
    }));
  }
}
