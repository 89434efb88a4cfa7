// The re-key sheet: ticks count at once, are kept here until the laptop has them, and move on.
import { connection } from "./offline.js";
import { swap } from "./swap.js";

const RETRY_MS = 2000;
let sheet = null;
let queue = {};
let sending = false;
let lock = null;
let changes = 0; // ticks made here, and ticks that arrived: news from before one of them is old
let looks = 0;

export function start(part) {
  const first = sheet === null;
  if (sheet === part) return;
  sheet = part;
  queue = kept();
  for (const [mark, done] of Object.entries(queue)) draw(mark, done, done ? sheet.dataset.name : "");
  count();
  if (first) listen();
  send();
  stayAwake();
  if (oneAtATime() && document.activeElement?.matches("body, main")) button(current())?.focus({ preventScroll: true });
}

function listen() {
  document.addEventListener("submit", (event) => {
    if (!event.target.matches("form[data-tick]")) return;
    event.preventDefault();
    const row = event.submitter?.closest(".key-row");
    if (row) tick(row, event.submitter.name === "done");
  });
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[data-go]");
    if (!link || !sheet.isConnected) return;
    event.preventDefault();
    show(neighbour(Number(link.dataset.go)));
  });
  document.addEventListener("keydown", (event) => {
    if (!sheet.isConnected || event.target.matches("input, textarea, select")) return;
    const way = { ArrowDown: 1, ArrowRight: 1, ArrowUp: -1, ArrowLeft: -1 }[event.key];
    if (!way || !event.target.closest(".key-row")) return;
    event.preventDefault();
    show(neighbour(way, event.target.closest(".key-row")));
  });
  document.addEventListener("ticks", refresh);
  document.addEventListener("visibilitychange", stayAwake);
  window.addEventListener("online", send);
}

const rows = () => [...sheet.querySelectorAll(".key-row")];
const button = (row) => row?.querySelector(".tick-key");
const current = () => sheet.querySelector(".key-row[data-now]");
const oneAtATime = () => sheet.dataset.layout === "one";
const visit = () => sheet.closest("[data-visit]").dataset.visit;
const place = () => `asfound-ticks-${visit()}`;

function neighbour(way, from = current()) {
  const all = rows();
  const at = from ? all.indexOf(from) : all.length;
  return all[Math.min(Math.max(at + way, 0), all.length - 1)];
}

function show(row) {
  if (!row) return;
  sheet.querySelector("[data-all-done]").hidden = true;
  current()?.removeAttribute("data-now");
  row.setAttribute("data-now", "");
  button(row)?.focus({ preventScroll: true });
  if (!oneAtATime()) row.scrollIntoView({ block: "center" });
  else window.scrollTo({ top: Math.min(window.scrollY, sheet.offsetTop) });
}

function tick(row, done) {
  queue[row.dataset.mark] = done;
  changes += 1;
  keep();
  draw(row.dataset.mark, done, done ? sheet.dataset.name : "");
  count();
  send();
  if (!done) return;
  const all = rows();
  const at = all.indexOf(row);
  const next = [...all.slice(at + 1), ...all.slice(0, at)].find((item) => !item.classList.contains("ticked"));
  if (next) {
    show(next);
    return;
  }
  const end = sheet.querySelector("[data-all-done]");
  if (oneAtATime()) row.removeAttribute("data-now");
  end.hidden = false;
  end.focus();
}

function draw(mark, done, by) {
  const row = document.getElementById(`row-${mark}`);
  if (!row) return;
  row.classList.toggle("ticked", done);
  const press = button(row);
  if (press) press.name = done ? "undo" : "done";
  if (by || !done) row.querySelector("[data-by]").textContent = by;
}

// The same sum as on the laptop: what is left by key presses, pages with their opening and storing.
function count() {
  const done = rows().filter((row) => row.classList.contains("ticked")).length;
  let left = 0;
  for (const page of sheet.querySelectorAll(".key-page")) {
    const open = [...page.querySelectorAll(".key-row:not(.ticked)")];
    for (const row of open) left += Number(row.dataset.presses);
    if (open.length) left += Number(page.dataset.edges);
    page.querySelector("[data-page-done]").textContent = page.querySelectorAll(".key-row.ticked").length;
  }
  const all = Number(sheet.dataset.sheetPresses);
  const seconds = all ? (Number(sheet.dataset.sheetSeconds) * left) / all : 0;
  sheet.querySelector("[data-done]").textContent = done;
  sheet.querySelector("[data-bar]").value = done;
  sheet.querySelector("[data-minutes]").textContent = Math.ceil(seconds / 60);
}

async function send() {
  if (sending || !sheet.isConnected) return;
  sending = true;
  try {
    // Looked at anew each time: somebody goes on ticking while one is on its way.
    for (let mark = Object.keys(queue)[0]; mark; mark = Object.keys(queue)[0]) {
      const done = queue[mark];
      const answer = await fetch(`/api/v1/visits/${visit()}/ticks/${mark}`, {
        method: "PUT",
        headers: { "Content-Type": "application/json", "X-CSRF-Token": sheet.querySelector("[name=csrf]").value },
        body: JSON.stringify({ done }),
      });
      connection(true);
      if (answer.status >= 500) throw new Error("busy");
      changes += 1;
      if (queue[mark] === done) delete queue[mark];
      keep();
      // Refused: the plan changed, or the page is too old. The page as it is now says which.
      if (!answer.ok) await anew();
    }
  } catch {
    connection(false);
    window.setTimeout(send, RETRY_MS);
  } finally {
    sending = false;
  }
}

async function refresh(event) {
  if (!sheet?.isConnected || sheet.dataset.stamp === event.detail.stamp) return;
  looks += 1;
  const mine = looks;
  try {
    let news = null;
    let before = -1;
    while (before !== changes) {
      before = changes;
      const answer = await fetch(`/api/v1/visits/${visit()}/ticks`);
      if (!answer.ok) return;
      news = await answer.json();
      // A later look is on its way, and knows more.
      if (mine !== looks || !sheet.isConnected) return;
    }
    sheet.dataset.stamp = news.stamp;
    const by = new Map(news.ticks.map((item) => [item.mark, item.by]));
    for (const row of rows()) {
      const mark = row.dataset.mark;
      if (!(mark in queue)) draw(mark, by.has(mark), by.get(mark) ?? "");
    }
    count();
  } catch {
    connection(false);
  }
}

async function anew() {
  const answer = await fetch(window.location.href, { headers: { Accept: "text/html" } });
  if (answer.ok) swap(await answer.text(), window.location.href, false);
}

function kept() {
  try {
    return JSON.parse(window.localStorage.getItem(place()) ?? "{}");
  } catch {
    return {};
  }
}

function keep() {
  try {
    if (Object.keys(queue).length) window.localStorage.setItem(place(), JSON.stringify(queue));
    else window.localStorage.removeItem(place());
  } catch {
    // A browser that keeps nothing still sends what it can.
  }
}

async function stayAwake() {
  if (!sheet?.isConnected || document.visibilityState !== "visible" || !navigator.wakeLock) return;
  try {
    if (!lock || lock.released) lock = await navigator.wakeLock.request("screen");
    sheet.querySelector("[data-awake]").hidden = false;
  } catch {
    // The browser or its battery saver says no: the screen follows the device's own setting.
  }
}
