// Doubts by keyboard, while the question has the focus (WCAG 2.2, 2.1.4): 1 to 9, t, b, s, u.
const BLIND_MS = 300; // keys pressed before the question was seen are no answer to it
let asked = 0;
let source = null;

export function start(part) {
  const section = part.matches(".ask") ? part : part.querySelector(".ask");
  asked = performance.now();
  if (!part.querySelector("#main [role=alert], [role=alert]") && !document.querySelector("#main [role=alert]")) section?.focus({ preventScroll: true });
  if (section && !section.dataset.keys) {
    section.dataset.keys = "on";
    section.addEventListener("keydown", pressed);
  }
  watch(part);
}

function pressed(event) {
  if (event.ctrlKey || event.metaKey || event.altKey || event.repeat) return;
  if (event.target.matches("input, textarea, select")) {
    if (event.key === "Escape") event.currentTarget.focus();
    return;
  }
  if (performance.now() - asked < BLIND_MS) return;
  const key = event.key.toLowerCase();
  if (key === "t") {
    const field = document.getElementById("text");
    if (!field) return;
    event.preventDefault();
    field.focus();
    field.select();
    return;
  }
  const button = event.currentTarget.querySelector(`button[data-key="${CSS.escape(key)}"]`);
  if (!button) return;
  event.preventDefault();
  button.form.requestSubmit(button);
}

// A question never changes under somebody's finger: when it did, the page says so.
function watch(part) {
  source?.close();
  source = null;
  if (!part.dataset.watch) return;
  source = new EventSource(part.dataset.watch);
  source.addEventListener("journal", async (event) => {
    const head = JSON.parse(event.data).head;
    if (!part.isConnected || !head || head === part.dataset.head) return;
    const answer = await fetch(window.location.href, { headers: { Accept: "text/html" } }).catch(() => null);
    if (!answer?.ok || !part.isConnected) return;
    const made = new DOMParser().parseFromString(await answer.text(), "text/html");
    const now = made.querySelector("[data-stamp]");
    if (now?.dataset.stamp !== part.dataset.stamp) {
      document.getElementById("moved")?.removeAttribute("hidden");
      return;
    }
    part.dataset.head = now.dataset.head;
    for (const field of part.querySelectorAll("input[name=head]")) field.value = now.dataset.head;
  });
}
