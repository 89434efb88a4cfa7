// News about a visit: the page shows itself anew when its journal grew, unless somebody is typing.
import { connection } from "./offline.js";
import { beingTyped, swap } from "./swap.js";

let source = null;
let newest = null; // the journal's last news: it may have come while the page was being put in anew

export function keepLive() {
  listen();
  document.addEventListener("swapped", listen);
  window.addEventListener("online", () => connection(true));
  window.addEventListener("offline", () => connection(false));
  document.addEventListener("visibilitychange", returned);
  window.addEventListener("pageshow", (event) => event.persisted && returned());
}

function listen() {
  const part = document.querySelector("[data-events]");
  if (source && source.url !== part?.dataset.events) {
    source.stream.close();
    source = null;
  }
  if (source && newest && Number(part.dataset.entries ?? Infinity) < newest.entries) anew();
  if (!part || source) return;
  newest = null;
  const stream = new EventSource(part.dataset.events);
  source = { url: part.dataset.events, stream };
  stream.addEventListener("open", () => connection(true));
  stream.addEventListener("error", () => connection(false));
  stream.addEventListener("journal", (event) => moved(JSON.parse(event.data)));
  stream.addEventListener("holds", (event) => held(JSON.parse(event.data)));
  stream.addEventListener("ticks", (event) => {
    document.dispatchEvent(new CustomEvent("ticks", { detail: JSON.parse(event.data) }));
  });
  stream.addEventListener("task", (event) => {
    document.dispatchEvent(new CustomEvent("task", { detail: JSON.parse(event.data) }));
  });
}

async function moved(news) {
  const part = document.querySelector("[data-events]");
  newest = news;
  if (!part || !news.head || part.dataset.head === news.head) return;
  await anew();
}

// A hold locks steps at once: whoever stands at the recorder sees it without pressing anything.
async function held(news) {
  const part = document.querySelector("[data-holds]");
  if (part && part.dataset.holds !== news.stamp) await anew();
}

// A page without news of its own shows itself anew when somebody comes back to it.
async function returned() {
  if (document.visibilityState !== "visible" || document.querySelector("[data-events], [data-watch]")) return;
  await anew();
}

async function anew() {
  const main = document.getElementById("main");
  if (beingTyped(main) || main.querySelector("form[aria-busy=true]") || main.querySelector("[role=alert]")) {
    document.getElementById("moved")?.removeAttribute("hidden");
    return;
  }
  try {
    const answer = await fetch(window.location.href, { headers: { Accept: "text/html" } });
    connection(true);
    if (answer.ok && document.getElementById("main") === main && !beingTyped(main)) swap(await answer.text(), window.location.href, false);
  } catch {
    connection(false);
  }
}
