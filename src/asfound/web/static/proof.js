// The proof's page: how far looking is, and pictures opened large. Its words are in the page.
import { swap } from "./swap.js";

const ended = new Set(); // tasks whose end was told, perhaps while the page was being put in anew
let part = null;
let box = null;
let opened = null;

export function start(fresh) {
  if (!part) {
    document.addEventListener("task", (event) => told(event.detail));
    document.addEventListener("click", tapped);
  }
  part = fresh;
  if ([...part.querySelectorAll("[data-task]")].some((shown) => ended.has(shown.dataset.task))) again();
}

function told(task) {
  if (!["prove", "cover"].includes(task.kind)) return;
  if (task.state !== "running") ended.add(task.id);
  if (!part.isConnected) return;
  const shown = part.querySelector(`[data-task="${task.id}"]`);
  if (task.state === "running" && shown) {
    const bar = shown.querySelector("progress");
    if (task.total) {
      bar.max = task.total;
      bar.value = task.done;
    }
    shown.querySelector("[data-count]").textContent = `${task.done}/${task.total || "?"}`;
    shown.querySelector("[data-what]").textContent = task.what;
    return;
  }
  // One that began elsewhere, or has ended: the page is another one now.
  if (Boolean(shown) !== (task.state === "running")) again();
}

async function again() {
  const answer = await fetch(window.location.href, { headers: { Accept: "text/html" } }).catch(() => null);
  if (answer?.ok) swap(await answer.text(), window.location.href, false);
}

function pictures() {
  const all = [...part.querySelectorAll("a[data-picture]")];
  return all.filter((link) => link.getClientRects().length);
}

function tapped(event) {
  const link = event.target.closest?.("a[data-picture]");
  if (!link || !part.isConnected || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  show(link);
}

function show(link) {
  if (!box) box = made(part.dataset);
  if (!box.isConnected) {
    // The page was put in anew below it.
    box.removeAttribute("open");
    document.getElementById("main").append(box);
  }
  opened = link;
  const picture = box.querySelector("img");
  picture.src = link.getAttribute("href");
  picture.alt = link.querySelector("img")?.alt ?? link.getAttribute("aria-label");
  box.setAttribute("aria-label", picture.alt);
  if (!box.open) box.showModal();
}

function made(words) {
  const dialog = document.createElement("dialog");
  dialog.className = "picture";
  const turns = document.createElement("div");
  turns.className = "turns";
  turns.append(button(words.before, () => turn(-1)), button(words.further, () => turn(1)), button(words.shut, () => dialog.close()));
  dialog.append(document.createElement("img"), turns);
  dialog.addEventListener("keydown", (event) => {
    if (event.key === "ArrowLeft") turn(-1);
    if (event.key === "ArrowRight") turn(1);
  });
  dialog.addEventListener("click", (event) => {
    if (event.target === dialog) dialog.close();
  });
  return dialog;
}

function button(words, act) {
  const made = document.createElement("button");
  made.type = "button";
  made.textContent = words;
  made.addEventListener("click", act);
  return made;
}

function turn(by) {
  const all = pictures();
  const next = all[all.indexOf(opened) + by];
  if (next) show(next);
}
