// The page of photographs: takes them, shows how far each is, and what is new about the others.
import { Sender } from "./send.js";

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
  if (form && !form.classList.contains("scripted")) {
    form.classList.add("scripted");
    for (const field of form.querySelectorAll("input[type=file]")) {
      const take = () => {
        if (!field.files.length) return;
        sender.add([...field.files], part.dataset.visit, part.dataset.left, part.dataset.by);
        field.value = "";
      };
      field.addEventListener("change", take);
      // What was chosen before this script was there.
      take();
    }
  }
  show();
}

function show(item, arrived) {
  const part = page();
  const list = document.getElementById("sending");
  if (!part || !list) return;
  const words = { hash: part.dataset.wHash, queue: part.dataset.wQueue, send: part.dataset.wSend, wait: part.dataset.wWait, refused: part.dataset.wRefused };
  const mine = sender.items.filter((one) => one.visit === part.dataset.visit);
  list.replaceChildren(...mine.map((one) => row(one, words, part)));
  if (arrived) refresh();
}

function row(item, words, part) {
  const made = document.createElement("li");
  made.className = "photo";
  const what = document.createElement("strong");
  what.className = "break";
  what.textContent = item.name;
  const said = document.createElement("span");
  said.className = item.state === "refused" ? "chip bad" : item.state === "wait" ? "chip warn" : "chip now";
  said.textContent = words[item.state];
  made.append(what, said);
  if (item.state === "send") {
    const bar = document.createElement("progress");
    bar.max = item.file.size || 1;
    bar.value = item.done;
    bar.setAttribute("aria-label", item.name);
    made.append(bar);
  }
  if (item.state === "refused") {
    const why = document.createElement("p");
    why.className = "soft";
    why.lang = "en";
    why.textContent = item.why;
    const gone = document.createElement("button");
    gone.type = "button";
    gone.textContent = part.dataset.wDrop;
    gone.addEventListener("click", () => sender.forget(item));
    made.append(why, gone);
  }
  return made;
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
