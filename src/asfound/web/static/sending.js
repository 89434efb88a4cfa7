// Files on their way from this device: chosen, drawn with how far each is, put aside.
export function takeFrom(form, add) {
  if (!form || form.classList.contains("scripted")) return;
  form.classList.add("scripted");
  for (const field of form.querySelectorAll("input[type=file]")) {
    const take = () => {
      if (!field.files.length) return;
      add([...field.files]);
      field.value = "";
    };
    field.addEventListener("change", take);
    // What was chosen before this script was there.
    take();
  }
}

export function showSending(part, sender, mine) {
  const list = part.querySelector("#sending");
  if (!list) return;
  const words = { hash: part.dataset.wHash, queue: part.dataset.wQueue, send: part.dataset.wSend, wait: part.dataset.wWait, refused: part.dataset.wRefused };
  const shown = sender.items.filter((one) => one.visit === part.dataset.visit && mine(one));
  list.replaceChildren(...shown.map((one) => row(one, words, part, sender)));
}

function row(item, words, part, sender) {
  const made = document.createElement("li");
  made.className = "photo";
  const what = document.createElement("strong");
  what.className = "break";
  what.textContent = item.name;
  const said = document.createElement("span");
  said.className = item.state === "refused" ? "chip bad" : item.state === "wait" ? "chip warn" : "chip now";
  said.textContent = words[item.state];
  made.append(what, said);
  if (item.state === "send") {
    const bar = document.createElement("progress");
    bar.max = item.file.size || 1;
    bar.value = item.done;
    bar.setAttribute("aria-label", item.name);
    made.append(bar);
  }
  if (item.state === "refused") {
    const why = document.createElement("p");
    why.className = "soft";
    why.lang = "en";
    why.textContent = item.why;
    const gone = document.createElement("button");
    gone.type = "button";
    gone.textContent = part.dataset.wDrop;
    gone.addEventListener("click", () => sender.forget(item));
    const again = document.createElement("button");
    again.type = "button";
    again.textContent = part.dataset.wAgain;
    again.addEventListener("click", () => sender.again(item));
    made.append(why, again, gone);
  }
  return made;
}
