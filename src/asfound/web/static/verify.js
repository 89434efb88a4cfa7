// Bags: how far verifying or copying is, asked for every second while one is under way.
import { beingTyped, swap } from "./swap.js";

const EVERY_MS = 1000;
let timer = null;

export function start(part) {
  clearTimeout(timer);
  if (part.querySelector("[data-task]")) timer = setTimeout(() => look(part), EVERY_MS);
}

async function look(part) {
  let ended = false;
  for (const shown of part.querySelectorAll("[data-task]")) {
    const answer = await fetch(`/api/v1/tasks/${shown.dataset.task}`).catch(() => null);
    if (!answer?.ok) continue;
    const task = await answer.json();
    ended ||= task.state !== "running";
    const bar = shown.querySelector("progress");
    if (task.total) {
      bar.max = task.total;
      bar.value = task.done;
    }
    shown.querySelector("[data-count]").textContent = `${task.done}/${task.total || "?"}`;
    shown.querySelector("[data-what]").textContent = task.what;
  }
  if (!part.isConnected) return;
  if (ended && !beingTyped(document.getElementById("main"))) await again();
  else timer = setTimeout(() => look(part), EVERY_MS);
}

async function again() {
  const answer = await fetch(window.location.href, { headers: { Accept: "text/html" } }).catch(() => null);
  if (answer?.ok) swap(await answer.text(), window.location.href, false);
}
