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
      if (answer.status === 401 || answer.status === 403) {
        await notKnown(form, html);
        return;
      }
      const elsewhere = typedElsewhere(form);
      swap(html, answer.redirected ? answer.url : window.location.href, answer.redirected);
      typedAgain(elsewhere);
      settle(answer.ok);
    } catch {
      connection(false);
    } finally {
      form.removeAttribute("aria-busy");
    }
  });
}

// Session or device are not known any more: what was typed stays, why is said, and the page's token
// is a new one where there is one, so that it can be sent again.
async function notKnown(form, html) {
  const said = document.createElement("p");
  said.className = "banner bad";
  said.setAttribute("role", "alert");
  said.tabIndex = -1;
  said.textContent = reason(html);
  form.querySelector("[role=alert]")?.remove();
  form.prepend(said);
  said.focus();
  const page = await fetch(window.location.href, { headers: { Accept: "text/html" } }).catch(() => null);
  if (!page?.ok || page.redirected) return;
  const made = new DOMParser().parseFromString(await page.text(), "text/html");
  const token = made.querySelector("input[name=csrf]")?.value;
  if (token) for (const field of document.querySelectorAll("input[name=csrf]")) field.value = token;
}

function reason(answer) {
  try {
    return JSON.parse(answer).detail;
  } catch {
    const made = new DOMParser().parseFromString(answer, "text/html");
    return made.querySelector("#main .line, #main [role=alert]")?.textContent ?? made.title;
  }
}

// What stands in the page's other forms and was not sent yet.
function typedElsewhere(form) {
  return [...document.querySelectorAll("#main textarea[id], #main input[id]")]
    .filter((field) => field.form !== form && ["textarea", "text"].includes(field.type) && field.value !== field.defaultValue)
    .map((field) => [field.id, field.value]);
}

function typedAgain(fields) {
  for (const [id, value] of fields) {
    const field = document.getElementById(id);
    if (field && "defaultValue" in field && field.value === field.defaultValue) field.value = value;
  }
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
