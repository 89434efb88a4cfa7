// Thresholds are moved by dragging, by keys, or by their numbers; what they would have done follows.
const SVG = "http://www.w3.org/2000/svg";

export function start(form) {
  if (form.dataset.ready) return;
  form.dataset.ready = "yes";
  const grid = JSON.parse(form.elements.grid.value);
  const [left, right, top, bottom] = form.dataset.frame.split(" ").map(Number);
  const page = { form, grid, left, right, top, bottom, lowest: Number(form.dataset.lowest), highest: Number(form.dataset.highest) };
  for (const part of form.querySelectorAll("[data-without-script]")) part.hidden = true;
  for (const part of form.querySelectorAll("[data-with-script]")) part.hidden = false;
  for (const way of grid.directions) handle(page, way);
  form.addEventListener("input", () => draw(page));
  form.addEventListener("change", () => settle(page));
  form.addEventListener("submit", (event) => { event.preventDefault(); settle(page); });
  draw(page);
}

const field = (page, kind, way) => page.form.elements[`${kind}-${way.name}`];

// The step that a number stands for: the nearest that was counted.
function level(page, way) {
  const g = Number(field(page, "g", way).value.replace(",", "."));
  const steps = page.grid.thresholds_g;
  let best = 0;
  steps.forEach((step, n) => { if (Math.abs(step - g) < Math.abs(steps[best] - g)) best = n; });
  return best;
}

function across(page, g) {
  const steps = page.grid.thresholds_g;
  return page.left + (page.right - page.left) * g / steps[steps.length - 1];
}

function upward(page, value) {
  const clipped = Math.min(Math.max(value, page.lowest), page.highest);
  return page.bottom - (page.bottom - page.top) * Math.log(clipped / page.lowest) / Math.log(page.highest / page.lowest);
}

function say(page, name, text) {
  const out = page.form.querySelector(`[data-out="${name}"]`);
  if (out) out.textContent = text;
}

function draw(page) {
  const { grid } = page;
  const perDay = grid.hours_a_day / grid.hours;
  const any = new Uint8Array(grid.labels);
  let events = 0;
  for (const way of grid.directions) {
    const at = level(page, way);
    const d = field(page, "s", way).selectedIndex;
    const on = field(page, "on", way).checked;
    let caught = 0;
    way.best.forEach((row, n) => {
      if (row[d] <= at) return;
      caught += 1;
      if (on) any[n] = 1;
    });
    if (on) events += way.events[at][d];
    say(page, `day-${way.name}`, figure(way.events[at][d] * perDay));
    say(page, `caught-${way.name}`, caught);
    curve(page, way, at, d, on, perDay);
  }
  const caught = any.reduce((sum, one) => sum + one, 0);
  say(page, "day", figure(events * perDay));
  say(page, "most", figure(below(events) * perDay));
  say(page, "caught", caught);
  if (grid.labels) say(page, "share", Math.round(100 * caught / grid.labels));
}

function curve(page, way, at, d, on, perDay) {
  const part = page.form.querySelector(`[data-curve="${way.name}"]`);
  const g = page.grid.thresholds_g[at];
  const x = across(page, g);
  part.classList.toggle("off", !on);
  part.querySelector("polyline").setAttribute("points", page.grid.thresholds_g.map((step, n) => `${across(page, step).toFixed(1)},${upward(page, way.events[n][d] * perDay).toFixed(1)}`).join(" "));
  for (const end of ["x1", "x2"]) part.querySelector(".stands").setAttribute(end, x);
  const grip = part.querySelector("[role=slider]");
  grip.setAttribute("transform", `translate(${x.toFixed(1)} 0)`);
  grip.setAttribute("aria-valuenow", g);
  grip.setAttribute("aria-valuetext", `${g} g`);
}

// What takes hold of a threshold: wide enough for a finger, and in turn from top to bottom so that
// one does not lie on another.
function handle(page, way) {
  const part = page.form.querySelector(`[data-curve="${way.name}"]`);
  const row = page.grid.directions.indexOf(way);
  const y = page.top + 30 + row * 64;
  const grip = document.createElementNS(SVG, "g");
  const steps = page.grid.thresholds_g;
  const named = page.form.querySelector(`label[for="g-${way.name}"]`).textContent;
  const told = { role: "slider", tabindex: "0", "aria-label": named, "aria-valuemin": steps[0], "aria-valuemax": steps[steps.length - 1] };
  for (const [name, value] of Object.entries(told)) grip.setAttribute(name, value);
  grip.append(shape("rect", { class: "reach", x: -31, y: y - 31, width: 62, height: 62 }), shape("circle", { class: "hold", cx: 0, cy: y, r: 14 }), arrows(y));
  part.append(grip);
  page.form.querySelector("svg").removeAttribute("aria-hidden");
  grip.addEventListener("pointerdown", (event) => {
    event.preventDefault();
    grip.setPointerCapture(event.pointerId);
    grip.focus();
  });
  grip.addEventListener("pointermove", (event) => {
    if (grip.hasPointerCapture(event.pointerId)) put(page, way, nearest(page, event.clientX));
  });
  grip.addEventListener("keydown", (event) => {
    const by = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 5, PageDown: -5, Home: -steps.length, End: steps.length }[event.key];
    if (by === undefined) return;
    event.preventDefault();
    put(page, way, Math.min(Math.max(level(page, way) + by, 0), steps.length - 1));
  });
}

function shape(name, values) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(values)) made.setAttribute(key, value);
  return made;
}

function arrows(y) {
  const made = shape("text", { class: "hold-text", x: 0, y: y + 4, "text-anchor": "middle" });
  made.textContent = "↔";
  return made;
}

function nearest(page, clientX) {
  const box = page.form.querySelector("svg").getBoundingClientRect();
  const x = (clientX - box.left) * page.form.querySelector("svg").viewBox.baseVal.width / box.width;
  const steps = page.grid.thresholds_g;
  const g = (x - page.left) / (page.right - page.left) * steps[steps.length - 1];
  let best = 0;
  steps.forEach((step, n) => { if (Math.abs(step - g) < Math.abs(steps[best] - g)) best = n; });
  return best;
}

function put(page, way, at) {
  field(page, "g", way).value = page.grid.thresholds_g[at];
  draw(page);
}

// What was typed becomes the step that was counted.
function settle(page) {
  for (const way of page.grid.directions) field(page, "g", way).value = page.grid.thresholds_g[level(page, way)];
  draw(page);
}

// Three digits, large figures whole, as the server writes them.
function figure(value) {
  return value < 999.5 ? String(Number(value.toPrecision(3))) : String(Math.round(value));
}

// Mean of a Poisson count that is larger with a chance of 5 % only: half the chi-square quantile of
// 2 (events + 1) degrees, by Wilson and Hilferty (1931), within 1 %.
function below(events) {
  const a = events + 1;
  return a * (1 - 1 / (9 * a) + 1.644854 / (3 * Math.sqrt(a))) ** 3;
}
