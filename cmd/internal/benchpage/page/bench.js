// What the page does: it takes in what the program tells (server-sent events), shows it, and
// sends what was pressed. It decides nothing.

import { follow } from "./audio.js";
import { Chart } from "./chart.js";

const $ = id => document.getElementById(id);
const all = (selector, in_ = document) => [...in_.querySelectorAll(selector)];

let view = null, live = null, page = "", shownScreen = "", louder = null, refused = null;
const chart = new Chart($("chart"));

function make(name, properties = {}, ...children) {
  const e = Object.assign(document.createElement(name), properties);
  e.append(...children);
  return e;
}

const capital = s => s[0].toUpperCase() + s.slice(1);
const sentence = s => s ? capital(s) + "." : "";

// ---- sending

async function send(action, body = {}) {
  refused = null;
  let answer;
  try {
    answer = await fetch("/do/" + action, { method: "POST", headers: { "Content-Type": "application/json", "X-Page": page }, body: JSON.stringify(body) });
  } catch {
    return false; // the event source says that the program is gone
  }
  if (answer.ok) {
    trouble();
    return true;
  }
  const said = answer.status === 409 ? await answer.json() : { message: await answer.text(), hint: "" };
  if (said.code === "job-level") ask(said, body.level);
  else {
    refused = said;
    trouble();
    (wrongField() ?? $("trouble")).scrollIntoView({ block: "nearest" });
    wrongField()?.focus();
  }
  return false;
}

// wrongField is the field of the screen that has to be corrected.
const wrongField = () => refused?.field ? document.querySelector(`section:not([hidden]) [name="${refused.field}"]`) : null;

// beside shows what is wrong with a field below it, and nothing where there is none.
function beside(field, said) {
  $("wrong")?.remove();
  for (const e of all("[aria-invalid]")) {
    e.removeAttribute("aria-invalid");
    e.removeAttribute("aria-describedby");
  }
  if (!field) return;
  field.after(make("span", { id: "wrong" }, make("b", { textContent: sentence(said.message) }), " " + sentence(said.hint)));
  field.setAttribute("aria-invalid", "true");
  field.setAttribute("aria-describedby", "wrong");
}

// trouble shows why something was refused, or what went wrong last.
function trouble() {
  beside(wrongField(), refused);
  if (wrongField()) {
    $("trouble").hidden = true;
    return;
  }
  const said = refused ?? view?.problem;
  $("trouble").hidden = !said && !view?.unsaved;
  $("trouble-message").textContent = said ? sentence(said.message) : view?.unsaved ? `${view.unsaved} is not on the disk yet.` : "";
  $("trouble-hint").textContent = said ? sentence(said.hint) : "";
  $("save-again").hidden = !view?.unsaved;
}

function ask(said, level) {
  louder = level;
  $("ask-text").textContent = sentence(said.message);
  $("ask-hint").textContent = sentence(said.hint);
  $("ask").showModal();
  $("ask-no").focus();
}

$("ask-no").addEventListener("click", () => $("ask").close());
$("ask-yes").addEventListener("click", () => { $("ask").close(); send("level", { level: louder, sure: true }); });
$("save-again").addEventListener("click", () => send("save"));

const typed = form => Object.fromEntries(new FormData(form).entries());

$("bench-form").addEventListener("submit", e => { e.preventDefault(); send("bench", { typed: typed(e.target) }); });
$("driver-form").addEventListener("submit", e => {
  e.preventDefault();
  const body = { typed: {} };
  for (const [field, value] of Object.entries(typed(e.target)))
    if (field.startsWith("paper-")) (body.paper ??= {})[field.slice("paper-".length)] = value;
    else if (field === "name" || field === "sheet") body[field] = value;
    else body.typed[field] = value;
  if (body.sheet === "paper") body.sheet = "";
  else delete body.paper;
  send("driver", body);
});
$("driver-form").elements.sheet.addEventListener("change", showPaper);
$("mass-form").addEventListener("submit", e => { e.preventDefault(); send("mass", typed(e.target)); });
for (const kind of ["submit", "change"]) $("parts-form").addEventListener(kind, e => { e.preventDefault(); showRole(); });
$("cabinet-form").addEventListener("submit", e => e.preventDefault());
$("cabinet-form").addEventListener("change", e => send("cabinet", { box: typed(e.currentTarget) }));
for (const id of ["output", "input"]) $(id).addEventListener("change", () => send("devices", { output: $("output").value, input: $("input").value }));
for (const b of all("[data-do]")) b.addEventListener("click", () => send(view?.run === b.dataset.do ? "stop" : b.dataset.do));
for (const b of all("[data-screen]")) b.addEventListener("click", () => go(b.dataset.screen));
for (const b of all("[data-check]")) b.addEventListener("click", () => {
  const { ohm, ...rest } = typed($("bench-form"));
  send("check", { part: b.dataset.check, ohm, typed: rest });
});
addEventListener("keydown", e => { if (e.key === "Escape" && view?.run && !$("ask").open) send("stop"); });

const go = screen => screen === "parts" ? send("parts") : screen === "cabinet" ? send("cabinet", { box: view.box }) : screen === "verdict" ? send("judge") : screen === "mass" ? send("mass", { mass: "" }) : send("show", { screen });

// ---- levels

for (const place of all(".level")) {
  const button = (text, label, by) => {
    const b = make("button", { type: "button", textContent: text });
    b.setAttribute("aria-label", label);
    b.addEventListener("click", () => send("level", { level: view.level + by }));
    return b;
  };
  place.append(make("span", { textContent: "Output" }), button("−", "quieter by 2 dB", -2), make("output"), button("+", "louder by 2 dB", 2));
}

for (const place of all(".meters")) for (const channel of [1, 2]) {
  place.append(make("div", { className: "meter" }, make("span", { textContent: "Input " + channel }),
    make("div", { className: "bar" }, make("div", { className: "fill" })), make("b")));
}

function meters(peak) {
  for (const place of all(".meters")) {
    place.hidden = !peak;
    if (!peak) continue;
    all(".meter", place).forEach((m, c) => {
      const db = 20 * Math.log10(Math.max(peak[c], 1e-7));
      m.querySelector(".fill").style.width = Math.max(0, Math.min(100, (db + 60) / 60 * 100)) + "%";
      m.classList.toggle("loud", peak[c] > 0.98);
      m.querySelector("b").textContent = peak[c] > 0.98 ? "too loud" : db < -90 ? "silent" : db.toFixed(0).replace("-", "−") + " dB";
    });
  }
}

// ---- showing

// fill sets what the program knows into a form, and leaves the field that has the focus.
function fill(form, values) {
  for (const field of form.elements) {
    if (!field.name || field.name === "ohm" || field === document.activeElement || field.dataset.known === (values[field.name] ?? "")) continue;
    const value = values[field.name] ?? "";
    if (field.type === "checkbox") field.checked = value === "true";
    else if (value || field.dataset.known) field.value = value || (field.tagName === "SELECT" ? field.options[0]?.value ?? "" : "");
    field.dataset.known = value;
  }
}

function options(select, list) {
  const key = JSON.stringify(list);
  if (select.dataset.key === key) return;
  select.dataset.key = key;
  const chosen = select.value;
  select.replaceChildren(...list.map(([value, textContent]) => make("option", { value, textContent })));
  if (list.some(([value]) => value === chosen)) select.value = chosen;
}

// showPaper shows the fields for values of a data sheet where they are to be typed.
function showPaper() {
  $("paper").hidden = $("driver-form").elements.sheet.value !== "paper";
  if (!$("paper-values").childElementCount)
    $("paper-values").append(...view.blank.map(v => make("label", {}, v.title + " ", make("small", { textContent: v.usual }), make("input", { name: "paper-" + v.name, autocomplete: "off" }))));
}

function devices(select, list, chosen) {
  options(select, list?.length ? list.map(d => [d.Usual ? "" : d.ID, d.Name + (d.Loop ? " (hears an output, no bench)" : "")]) : [["", "none found"]]);
  select.value = chosen;
}

function show() {
  const measuring = ["sweep", "mass", "cabinet", "parts"].includes(view.screen);
  for (const [id, on] of [["bench", view.screen === "bench"], ["driver", view.screen === "driver"], ["sweep", measuring], ["verdict", view.screen === "verdict"]])
    $("screen-" + id).hidden = !on;
  for (const b of all("[data-screen]")) {
    b.disabled = !view.reached.includes(["cabinet", "parts"].includes(b.dataset.screen) ? "sweep" : b.dataset.screen) || ["sweep", "check"].includes(view.run);
    if (b.dataset.screen === view.screen) b.setAttribute("aria-current", "step");
    else b.removeAttribute("aria-current");
  }
  $("where").textContent = [view.name, view.sound.kind === "virtual" ? "virtual bench" : ""].filter(Boolean).join(" · ");
  $("sound-name").textContent = { native: "Sound: " + view.sound.name + " on this machine.", virtual: "The virtual bench: an invented driver, played and recorded as numbers. Nothing sounds.", browser: "Sound: this browser. Browsers record 16 bits, enough for 0.05 %; a sound server on the machine does better." }[view.sound.kind];
  for (const b of all("[data-check]")) b.disabled = view.run === "check";
  $("check-progress").hidden = view.run !== "check";
  $("check-found").replaceChildren(...(view.found ?? []).map(s => make("li", { textContent: sentence(s) })));
  $("corrected").hidden = !view.typed?.calibration;
  $("corrected").textContent = "Corrected by " + (view.typed?.calibration ?? "").split(/[\\/]/).at(-1) + ".";
  const known = view.typed?.resistor, waiting = view.waiting ?? [];
  $("same-bench").hidden = !known;
  $("same-words").textContent = [view.typed?.wiring ?? "resistor-first", view.typed?.resistor].join(", ");
  $("same-bench-on").classList.toggle("main", !waiting.length); // one main button: the likeliest
  $("bench-on").classList.toggle("main", !waiting.length && !known);
  $("waiting").hidden = !waiting.length;
  $("waiting-list").replaceChildren(...waiting.map((w, i) => {
    const b = make("button", { type: "button", textContent: "Go on", className: i ? "" : "main" });
    b.setAttribute("aria-label", "Go on: " + w.name);
    b.addEventListener("click", () => send("continue", { file: w.folder }));
    return make("li", {}, b, make("b", { textContent: w.name }), make("span", { className: "quiet", textContent: w.says }));
  }));
  fill($("bench-form"), view.typed ?? {});
  if (view.screen === "driver") { // the sheets to choose from are known there only
    options($("driver-form").elements.sheet, [["", "none"], ["paper", "type the values of a data sheet"], ...(view.sheets ?? []).map(s => [s.path, s.name])]);
    showPaper();
    fill($("driver-form"), { ...view.typed, name: view.name, sheet: view.sheet, ...Object.fromEntries(Object.entries(view.paper ?? {}).map(([name, value]) => ["paper-" + name, value])) });
  }
  fill($("mass-form"), { mass: view.mass || (view.sound.kind === "virtual" ? "20.0 g" : "") });
  devices($("output"), view.sound.outputs, view.sound.output);
  devices($("input"), view.sound.inputs, view.sound.input);
  for (const o of all(".level output")) o.textContent = view.level.toFixed(0).replace("-", "−") + " dB";
  for (const b of all("[data-do][aria-pressed]")) b.setAttribute("aria-pressed", view.run === b.dataset.do);
  if (!view.run) meters(null);
  trouble();
  if (measuring) showSweep();
  if (view.screen === "verdict") showAnswer();
  if (view.screen !== shownScreen) {
    if (shownScreen) {
      scrollTo(0, 0);
      document.querySelector("section:not([hidden]) h1").focus();
    }
    shownScreen = view.screen;
  }
}

// units writes units as a printer would.
const units = s => s.replace(/ ohm$/, " Ω").replace(/ T m$/, " T·m");

function showSweep() {
  const playing = view.run === "sweep", mass = view.screen === "mass", box = view.screen === "cabinet", parts = view.screen === "parts";
  const here = (view.sweeps ?? []).filter(s => s.here && !s.aside), ready = !mass || view.mass;
  $("sweep-title").textContent = parts ? "Parts of the network" : box ? "In the cabinet, " + (view.box.phase === "cabinet-before" ? "before the work" : "after the work") : capital(view.phase) + " the repair, " + (mass ? view.mass ? view.mass.replaceAll(" ", "\u00a0") + " on the cone" : "with a mass on the cone" : "no mass on the cone");
  $("mass-form").hidden = !mass || playing;
  $("cabinet-form").hidden = !box || playing;
  $("parts-form").hidden = !parts || playing;
  $("parts-found").hidden = !parts || !view.parts?.lines?.length;
  $("chart").hidden = document.querySelector(".work .numbers").hidden = parts;
  if (box) fill($("cabinet-form"), view.box);
  $("playing").hidden = !playing;
  $("choices").hidden = playing;
  $("mishap").hidden = !view.mishaps;
  options($("mishap").querySelector("select"), (view.mishaps ?? []).map(m => [m, m.replace("-", " ")]));
  showValues(playing ? live?.values ?? [] : view.values ?? []);
  chart.names = box ? ["now", "before"] : [mass ? "with the mass" : view.phase, mass ? "without a mass" : "before"];
  chart.set(playing ? { now: live?.curve ?? null, other: view.other, tip: live?.tip } : { now: view.now, other: view.other });
  const sweep = kind => () => send("sweep", { kind, goesWrong: $("mishap").querySelector("select").value });
  const button = (text, act, main) => {
    const b = make("button", { type: "button", textContent: text, className: main ? "main" : "" });
    b.addEventListener("click", act);
    return b;
  };
  if (parts) return showParts(button, here, playing);
  buttons("sweep-buttons", !ready ? [] : here.length
    ? [button("Again, nothing touched", sweep("again")), button("Once more, taken off and put back", sweep("re-clamped"))]
    : [button("Start the sweep", sweep("first"), true)]);
  const used = (view.sweeps ?? []).filter(s => !s.aside && s.phase === view.phase);
  if (box) {
    $("no-values").hidden = true; // they come with the answer
    return showBox(button, here, playing);
  }
  const masses = used.some(s => s.mass), free = used.some(s => !s.mass);
  const on = [];
  if (free && !mass) on.push(["Put a mass on the cone", () => send("mass", { mass: "" }), !masses]);
  if (mass) on.push(["Take the mass off", () => send("show", { screen: "sweep" }), false]);
  if (free && view.phase === "before") on.push(["Repaired: sweep it after", () => send("repaired"), masses]);
  if (free) on.push([view.phase === "before" ? "Finish without a repair" : "Verdict", judge, view.phase === "after" && masses]);
  buttons("on-buttons", on.map(([text, act, main]) => button(text, act, main)));
  showSwept(button, here, playing);
}

// showBox is what can be done next with the driver in its cabinet.
function showBox(button, here, playing) {
  const swept = phase => (view.sweeps ?? []).some(s => !s.aside && s.phase === phase);
  const on = [];
  if (here.length && view.box.phase === "cabinet-before") on.push(["Work done: sweep it after", () => send("cabinet", { box: { ...view.box, phase: "cabinet-after" } }), false]);
  if (swept("cabinet-before") || swept("cabinet-after")) on.push(["What the box says", judgeCabinet, true]);
  buttons("on-buttons", on.map(([text, act, main]) => button(text, act, main)));
  showSwept(button, here, playing);
}

// showRole shows the fields of what is recorded.
function showRole() {
  for (const l of all("#parts-form [data-role]")) l.hidden = l.dataset.role !== $("parts-form").elements.role.value;
}

// showParts shows what the parts are, and what is recorded next.
function showParts(button, here, playing) {
  const key = JSON.stringify(view.part);
  if ($("parts-form").dataset.key !== key) { // it goes on after a recording
    $("parts-form").dataset.key = key;
    for (const field of $("parts-form").elements) field.value = view.part[field.name] ?? "";
    showRole();
  }
  $("mishap").hidden = true;
  buttons("sweep-buttons", [button("Record it", () => send("sweep", { of: typed($("parts-form")) }), true)]);
  buttons("on-buttons", view.parts?.lines?.length ? [button("All parts as a sheet", () => wait("judge-parts"))] : []);
  $("parts-table").tBodies[0].replaceChildren(...(view.parts?.lines ?? []).map(p => make("tr", { className: p.mark }, make("th", { scope: "row", textContent: p.name }),
    ...[p.what, units(p.value), units(p.loss), p.should, p.verdict].map(textContent => make("td", { textContent })))));
  $("parts-pairs").replaceChildren(...(view.parts?.pairs ?? []).map(textContent => make("li", { textContent })));
  $("parts-notes").replaceChildren(...(view.parts?.notes ?? []).map(n => make("li", { textContent: sentence(n) })));
  showSwept(button, here, playing);
}

// showSwept shows what was said of the last sweep, and the list of all.
function showSwept(button, here, playing) {
  const notes = playing ? live?.found ?? [] : here.at(-1)?.notes ?? (view.sweeps ?? []).filter(s => s.here).at(-1)?.notes ?? [];
  $("found").replaceChildren(...notes.map(n => make("li", {}, make("b", { textContent: sentence(n.message) }), " " + sentence(n.hint))));
  $("list-box").hidden = !view.sweeps?.length || playing;
  $("folder").textContent = view.folder;
  $("list").replaceChildren(...(view.sweeps ?? []).map(s => {
    const b = button(s.aside ? "Use it" : "Leave it out", () => send("aside", { file: s.file, aside: !s.aside }));
    b.setAttribute("aria-label", b.textContent + ": " + s.title);
    return make("li", {}, make("span", { className: "name" + (s.aside ? " aside" : ""), textContent: capital(s.title) }), b, make("span", { className: "quiet", textContent: s.file }));
  }));
}

// buttons replaces a row of buttons only when it changes, so that one that has the focus keeps it.
function buttons(id, list) {
  const key = list.map(b => b.textContent + b.className).join("|");
  if ($(id).dataset.key === key) return;
  $(id).dataset.key = key;
  $(id).replaceChildren(...list);
}

$("keep-in-book").addEventListener("click", async e => {
  e.target.disabled = true;
  await send("book");
  e.target.disabled = false;
  e.target.focus({ preventScroll: true }); // a disabled button loses it
});

const judge = () => wait("judge"), judgeCabinet = () => wait("judge-cabinet");

// wait keeps the last button from being pressed again while what it asks for is worked out.
async function wait(action) {
  const b = all("#on-buttons button").at(-1);
  b.disabled = true;
  await send(action);
  b.disabled = false;
}

function showValues(values) {
  $("no-values").hidden = values.length > 0;
  $("values").replaceChildren(...values.map(v => make("div", {},
    make("dt", { textContent: v.symbol, title: v.name }), make("dd", { className: "value", textContent: units(v.value) }),
    make("dd", { className: "interval" }, units(v.interval), ...(v.before ? [make("br"), make("b", { textContent: "before " + units(v.before) })] : [])))));
}

function showAnswer() {
  const a = view.answer;
  if (!a) return;
  $("answer-title").textContent = view.name;
  $("answer").className = a.mark;
  $("headline").textContent = a.headline || (a.cabinet ? "Measured in the cabinet" : "Measured; no spec sheet to judge by");
  $("body").replaceChildren(...(a.body ?? []).map(textContent => make("p", { textContent })));
  $("figures").innerHTML = a.figures.join("");
  $("steps-next").hidden = !a.next?.length;
  $("answer-next").replaceChildren(...(a.next ?? []).map(s => make("li", { textContent: capital(s.do) + (s.gain ? ": " + s.gain : "") })));
  $("answer-cautions").hidden = !a.cautions?.length;
  $("answer-cautions").querySelector("ul").replaceChildren(...(a.cautions ?? []).map(textContent => make("li", { textContent })));
  $("answer-notes").hidden = !a.warnings?.length;
  $("answer-notes").querySelector("ul").replaceChildren(...(a.warnings ?? []).map(w => make("li", { textContent: sentence(w.message) + " " + sentence(w.hint) })));
  const before = (view.values ?? []).some(v => v.before);
  $("answer-values").hidden = !view.values?.length;
  $("answer-values").classList.toggle("two", before);
  for (const th of all("#answer-values .was")) th.hidden = !before;
  $("answer-values").tBodies[0].replaceChildren(...(view.values ?? []).map(v => make("tr", {},
    make("th", { scope: "row", textContent: v.symbol, title: v.name }), make("td", { textContent: units(v.value) }), make("td", { textContent: units(v.interval) }), ...(before ? [make("td", { textContent: units(v.before) })] : []))));
  $("book-place").textContent = view.book;
  $("kept-says").textContent = sentence(a.kept?.says ?? "");
  $("kept-sheet").hidden = !a.kept;
  $("kept-more").replaceChildren(...(a.kept?.more ?? []).map(c => make("li", {}, make("code", { textContent: c }))));
  $("answer-folder").textContent = view.folder;
  $("answer-command").textContent = a.command;
}

function showLive() {
  if (!view?.run || !live) return;
  meters(live.peak);
  $("check-progress").value = Math.max(0, live.part);
  if (view.run !== "sweep" || !["sweep", "mass", "cabinet", "parts"].includes(view.screen)) return;
  $("progress").value = Math.max(0, live.part);
  $("passing").textContent = live.passing ? live.passing.toFixed(live.passing < 100 ? 1 : 0) + " Hz" : "waiting for the sweep to come back";
  showSweep();
}

// ---- listening

const source = new EventSource("/events");
source.addEventListener("page", e => { page = JSON.parse(e.data); $("lost").hidden = true; });
source.addEventListener("view", e => {
  const before = view?.run;
  view = JSON.parse(e.data);
  if (view.run !== before) live = null;
  follow(view.session, view.level);
  show();
});
source.addEventListener("live", e => { live = JSON.parse(e.data); showLive(); });
source.addEventListener("error", () => {
  follow(null);
  $("lost").hidden = false;
  meters(null);
});
