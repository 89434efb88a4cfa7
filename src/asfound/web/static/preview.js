// The report's pages come after the page itself: making them takes a moment.
export async function start(part) {
  if (part.dataset.ready) return;
  part.dataset.ready = "yes";
  const making = part.querySelector("[data-making]");
  making.hidden = false;
  try {
    const answer = await fetch(part.dataset.from, { headers: { Accept: "text/html" } });
    const made = new DOMParser().parseFromString(await answer.text(), "text/html");
    const sheets = made.querySelector("[data-sheets]");
    if (answer.ok && sheets) part.replaceChildren(sheets);
    else making.hidden = true;
  } catch {
    // The link stays: it says what went wrong when it is followed.
    making.hidden = true;
  }
}
