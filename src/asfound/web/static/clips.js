// Recordings sent from this device, on the proof's page.
import { RECORDING, Sender } from "./send.js";
import { showSending, takeFrom } from "./sending.js";

const SOON_MS = 300;
let sender = null;
let timer = 0;

export function start(part) {
  if (!sender) {
    sender = new Sender(show, () => document.querySelector("input[name=csrf]")?.value ?? "");
    sender.restore();
  }
  takeFrom(part.querySelector("form.shoot"), (files) => sender.add(files, part.dataset.visit, RECORDING, part.dataset.by));
  show();
}

function show(item, arrived) {
  const part = page();
  if (!part) return;
  showSending(part, sender, (one) => one.left === RECORDING);
  if (arrived) refresh();
}

function refresh() {
  window.clearTimeout(timer);
  timer = window.setTimeout(async () => {
    const answer = await fetch(window.location.href, { headers: { Accept: "text/html" } }).catch(() => null);
    if (!answer?.ok || !page()) return;
    const made = new DOMParser().parseFromString(await answer.text(), "text/html");
    const fresh = made.querySelector("[data-live=sent]");
    if (fresh) page().querySelector("[data-live=sent]")?.replaceWith(fresh);
  }, SOON_MS);
}

function page() {
  return document.querySelector("[data-module=clips]");
}
