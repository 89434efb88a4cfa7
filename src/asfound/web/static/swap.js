// Puts the main part of another page in place of this one's, without a flash.
export function swap(html, address, push) {
  const made = new DOMParser().parseFromString(html, "text/html");
  const fresh = made.getElementById("main");
  const old = document.getElementById("main");
  if (!fresh || !old) {
    window.location.assign(address);
    return;
  }
  old.replaceWith(fresh);
  document.title = made.title;
  for (const sheet of made.head.querySelectorAll("link[rel=stylesheet]")) {
    if (![...document.styleSheets].some((known) => known.href === sheet.href)) document.head.append(sheet);
  }
  const top = made.querySelector("header.top");
  if (top) document.querySelector("header.top").replaceWith(top);
  for (const name of ["lang", "data-theme"]) {
    document.documentElement.setAttribute(name, made.documentElement.getAttribute(name));
  }
  if (push && address !== window.location.href) window.history.pushState(null, "", address);
  document.dispatchEvent(new CustomEvent("swapped"));
}

// What somebody is typing is never taken away.
export function beingTyped(part) {
  if (part.querySelector("[data-drawn]")) return true;
  return [...part.querySelectorAll("input, textarea, select")].some((field) => {
    if (field.type === "hidden" || field.disabled) return false;
    if (field.tagName === "SELECT") return [...field.options].some((o) => o.selected !== o.defaultSelected && !(o.index === 0 && o.selected && ![...field.options].some((p) => p.defaultSelected)));
    if (field.type === "checkbox" || field.type === "radio") return field.checked !== field.defaultChecked;
    return field.value !== field.defaultValue;
  });
}

window.addEventListener("popstate", () => window.location.reload());
