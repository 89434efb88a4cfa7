// Work on a stick: how far it is, asked for every second, and the page anew when it has ended.
import { swap } from "./swap.js";
import { draw } from "./work.js";

const EVERY_MS = 1000;
let timer = 0;

export function start(part) {
  window.clearTimeout(timer);
  timer = window.setTimeout(look, EVERY_MS, part);
}

async function look(part) {
  const shown = part.querySelector("[data-task]");
  if (!part.isConnected || !shown) return;
  const answer = await fetch(`/api/v1/tasks/${shown.dataset.task}`).catch(() => null);
  const task = answer?.ok ? await answer.json() : null;
  if (task && task.state !== "running") {
    const page = await fetch(window.location.href, { headers: { Accept: "text/html" } }).catch(() => null);
    if (page?.ok) return swap(await page.text(), window.location.href, false);
  } else if (task) {
    draw(shown, task);
  }
  start(part);
}
