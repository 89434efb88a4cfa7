// One banner says that the laptop cannot be reached; its words are in the page.
export function connection(there) {
  const banner = document.getElementById("offline");
  if (banner) banner.hidden = there;
}
