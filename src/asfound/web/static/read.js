// The page of photographs: takes them, shows how far each is, and what is new about the others.
import { RECORDING, Sender } from "./send.js";
import { showSending, takeFrom } from "./sending.js";

const SOON_MS = 700;
let sender = null;
let timer = 0;

export function start(part) {
  if (!sender) {
    sender = new Sender(show, () => document.querySelector("input[name=csrf]")?.value ?? "");
    sender.restore();
    document.addEventListener("task", (event) => told(event.detail));
  }
  const form = part.querySelector("form.shoot");
  takeFrom(form, (files) => sender.add(files, part.dataset.visit, part.dataset.left, part.dataset.by));
  show();
}

function show(item, arrived) {
  const part = page();
  if (!part) return;
  showSending(part, sender, (one) => one.left !== RECORDING);
  if (arrived) refresh();
}

function told(task) {
  if (task.kind !== "read" || !page()) return;
  const line = document.getElementById("task");
  if (line && task.state === "running") {
    line.hidden = false;
    const count = task.total ? ` ${Math.min(task.done + 1, task.total)}/${task.total}` : "";
    line.lastElementChild.textContent = page().dataset.wReading + count;
  }
  refresh();
}

function refresh() {
  window.clearTimeout(timer);
  timer = window.setTimeout(async () => {
    const answer = await fetch(window.location.href, { headers: { Accept: "text/html" } }).catch(() => null);
    if (!answer?.ok || !page()) return;
    const made = new DOMParser().parseFromString(await answer.text(), "text/html");
    const fresh = made.querySelector("[data-live=photos]");
    if (fresh) document.querySelector("[data-live=photos]")?.replaceWith(fresh);
    const head = made.querySelector("[data-head]")?.dataset.head;
    if (head && page()) page().dataset.head = head;
  }, SOON_MS);
}

function page() {
  return document.querySelector("[data-module=read]");
}
