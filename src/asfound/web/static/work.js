// A page with work behind it: how far it is, and the page anew when it began or ended.
import { swap } from "./swap.js";

const ended = new Set(); // tasks whose end was told, perhaps while the page was being put in anew
let part = null;

export function start(fresh) {
  if (!part) document.addEventListener("task", (event) => told(event.detail));
  part = fresh;
  if ([...part.querySelectorAll("[data-task]")].some((shown) => ended.has(shown.dataset.task))) again();
}

function told(task) {
  if (task.kind !== part.dataset.kind) return;
  if (task.state !== "running") ended.add(task.id);
  if (!part.isConnected) return;
  const shown = part.querySelector(`[data-task="${task.id}"]`);
  if (task.state === "running" && shown) {
    draw(shown, task);
    return;
  }
  // One that began elsewhere, or has ended: the page is another one now.
  if (Boolean(shown) !== (task.state === "running")) again();
}

export function draw(shown, task) {
  const bar = shown.querySelector("progress");
  if (task.total) {
    bar.max = task.total;
    bar.value = task.done;
  }
  shown.querySelector("[data-count]").textContent = `${task.done}/${task.total || "?"}`;
  shown.querySelector("[data-what]").textContent = task.what;
}

async function again() {
  const answer = await fetch(window.location.href, { headers: { Accept: "text/html" } }).catch(() => null);
  if (answer?.ok) swap(await answer.text(), window.location.href, false);
}
