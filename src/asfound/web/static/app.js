// Everything works without a script; this makes it quicker and tells what is new.
import { keepLive } from "./live.js";
import { sendForms } from "./forms.js";
import { pairByPicture } from "./pair.js";

sendForms();
keepLive();
pairByPicture();

// A page that needs more names its module; it is fetched with that page only, and called again
// whenever the page's main part was put in anew.
function loadModules() {
  for (const part of document.querySelectorAll("[data-module]")) {
    import(`./${part.dataset.module}.js`).then((module) => module.start(part));
  }
}
loadModules();
document.addEventListener("swapped", loadModules);
