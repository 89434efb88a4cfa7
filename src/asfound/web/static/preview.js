// The report's pages come after the page itself: making them takes a moment, of a large report some.
import { draw } from "./work.js";

let part = null;

export function start(fresh) {
  if (!part) {
    document.addEventListener("task", (event) => told(event.detail));
    document.addEventListener("click", again);
  }
  if (fresh.dataset.ready) return;
  fresh.dataset.ready = "yes";
  part = fresh;
  const making = part.querySelector("[data-making]");
  if (making) making.hidden = false;
  load(part.dataset.from);
}

async function load(address) {
  const into = part;
  const making = into.querySelector("[data-making]");
  try {
    const answer = await fetch(address, { headers: { Accept: "text/html" } });
    const made = new DOMParser().parseFromString(await answer.text(), "text/html");
    const shown = made.querySelector("[data-sheets], [data-instead]");
    if (answer.ok && shown) into.replaceChildren(shown);
    else if (making) making.hidden = true;
    const task = into.querySelector("[data-task]")?.dataset.task;
    if (!task) return;
    // It may have ended before its bar was here to be told.
    const now = await (await fetch(`/api/v1/tasks/${task}`)).json();
    if (now.state !== "running" && into.querySelector("[data-task]")?.dataset.task === task) load(into.dataset.from);
  } catch {
    // The link stays: it says what went wrong when it is followed.
    if (making) making.hidden = true;
  }
}

function told(task) {
  if (!part.isConnected || task.kind !== "preview") return;
  const shown = part.querySelector(`[data-task="${task.id}"]`);
  if (task.state === "running" && shown) draw(shown, task);
  else if (shown) load(part.dataset.from);
}

// Asked for once more after it was stopped: here, and not on a page of its own.
function again(event) {
  const link = event.target.closest?.("[data-instead] a.button");
  if (!link || !part.isConnected || !part.contains(link)) return;
  event.preventDefault();
  load(link.getAttribute("href"));
}
