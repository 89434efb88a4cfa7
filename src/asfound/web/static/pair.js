// The picture carries the code behind the #, which no browser sends: it is taken from there, put
// into the form, and the address is cleared before the form goes.
export function pairByPicture() {
  const form = document.querySelector("form[data-pair]");
  const code = decodeURIComponent(window.location.hash.slice(1));
  if (!form || !code) return;
  window.history.replaceState(null, "", window.location.pathname);
  form.elements.code.value = code;
  form.requestSubmit();
}
