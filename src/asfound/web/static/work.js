// A page with work behind it: how far it is, and the page anew when it began or ended.
import { swap } from "./swap.js";

let part = null;

export function start(fresh) {
  if (!part) document.addEventListener("task", (event) => told(event.detail));
  part = fresh;
}

function told(task) {
  if (!part.isConnected || task.kind !== part.dataset.kind) return;
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
