// Forms with data-send are sent from here, so that what was typed stays when the connection is gone.
import { connection } from "./offline.js";
import { swap } from "./swap.js";

export function sendForms() {
  document.addEventListener("submit", async (event) => {
    const form = event.target;
    if (!form.matches("form[data-send]")) return;
    event.preventDefault();
    if (form.getAttribute("aria-busy") === "true") return;
    const typed = new FormData(form);
    const body = form.enctype === "multipart/form-data" ? typed : new URLSearchParams(typed);
    if (event.submitter?.name) body.set(event.submitter.name, event.submitter.value);
    form.setAttribute("aria-busy", "true");
    try {
      const answer = await fetch(form.action, { method: "POST", body, headers: { Accept: "text/html" } });
      const html = await answer.text();
      connection(true);
      swap(html, answer.redirected ? answer.url : window.location.href, answer.redirected);
      settle(answer.ok);
    } catch {
      connection(false);
    } finally {
      form.removeAttribute("aria-busy");
    }
  });
}

function settle(good) {
  const trouble = document.querySelector("#main [role=alert]");
  if (trouble) {
    trouble.focus();
    trouble.scrollIntoView({ block: "nearest" });
  } else if (good) {
    document.getElementById("main")?.focus({ preventScroll: true });
    window.scrollTo({ top: 0 });
  }
}
