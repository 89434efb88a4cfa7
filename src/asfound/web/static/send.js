// Sends photographs and recordings one after the other, in pieces; goes on where a break left it.
import { drop, keep, kept } from "./keep.js";
import { connection } from "./offline.js";
import { Sha256 } from "./sha256.js";

export const RECORDING = "recording";
const PIECE = 512 * 1024;
const FIRST_WAIT_MS = 1000;
const LONGEST_WAIT_MS = 30000;

class Refused extends Error {
  // A device or session that is not known may be known again: then it is sent by itself.
  constructor(why, status) {
    super(why);
    this.lasting = status !== 401 && status !== 403;
  }
}
class Away extends Error {}

export class Sender {
  items = [];
  #busy = false;
  #wake = null;
  #changed;
  #token;

  constructor(changed, token) {
    this.#changed = changed;
    this.#token = token;
    window.addEventListener("online", () => this.#wake?.());
  }

  async restore() {
    for (const item of await kept()) {
      if (!this.items.some((known) => known.key === item.key)) this.items.push({ ...item, state: item.why ? "refused" : "queue", done: 0 });
    }
    this.#pump();
  }

  again(item) {
    delete item.why;
    this.#tell(item, "queue", 0);
    this.#pump();
  }

  add(files, visit, left, by) {
    for (const file of files) {
      const key = `${visit} ${left} ${file.name} ${file.size} ${file.lastModified}`;
      if (this.items.some((item) => item.key === key && item.state !== "refused")) continue;
      this.items = this.items.filter((item) => item.key !== key);
      const item = { key, visit, left, by, name: file.name, file };
      this.items.push({ ...item, state: "queue", done: 0 });
      keep(item);
    }
    this.#pump();
  }

  forget(item) {
    this.items = this.items.filter((other) => other !== item);
    drop(item.key);
    this.#changed();
  }

  #tell(item, state, done = item.done) {
    item.state = state;
    item.done = done;
    this.#changed(item);
  }

  async #pump() {
    this.#changed();
    if (this.#busy) return;
    this.#busy = true;
    let wait = FIRST_WAIT_MS;
    for (let item = this.#next(); item; item = this.#next()) {
      try {
        await this.#send(item);
        this.items = this.items.filter((other) => other !== item);
        drop(item.key);
        this.#changed(item, true);
        connection(true);
        wait = FIRST_WAIT_MS;
      } catch (error) {
        if (error instanceof Refused || !(error instanceof Away)) {
          // Kept until somebody puts it aside: a picture taken in the page is nowhere else.
          item.why = error.message;
          const { state, done, ...lasting } = item;
          if (error.lasting) keep(lasting);
          this.#tell(item, "refused");
          continue;
        }
        this.#tell(item, "wait");
        await this.#pause(wait);
        wait = Math.min(wait * 2, LONGEST_WAIT_MS);
      }
    }
    this.#busy = false;
  }

  #next() {
    return this.items.find((item) => item.state !== "refused");
  }

  #pause(ms) {
    return new Promise((on) => {
      const timer = window.setTimeout(on, ms);
      this.#wake = () => {
        window.clearTimeout(timer);
        on();
      };
    });
  }

  async #send(item) {
    if (!item.sha256) {
      this.#tell(item, "hash");
      item.sha256 = await digest(item.file);
    }
    this.#tell(item, "send");
    const told = { name: item.name, size: item.file.size, sha256: item.sha256, by: item.by, as_left: item.left === "left", recording: item.left === RECORDING };
    const begun = await this.#ask(`/api/v1/visits/${item.visit}/uploads`, "POST", JSON.stringify(told), { "Content-Type": "application/json" });
    const path = begun.headers.get("Location");
    let offset = Number(begun.headers.get("Upload-Offset"));
    while (offset < item.file.size) {
      this.#tell(item, "send", offset);
      const piece = item.file.slice(offset, offset + PIECE);
      const headers = { "Content-Type": "application/offset+octet-stream", "Upload-Offset": String(offset), "Tus-Resumable": "1.0.0" };
      const answer = await this.#ask(path, "PATCH", piece, headers);
      offset = answer.status === 409 ? (await answer.json()).offset : Number(answer.headers.get("Upload-Offset"));
    }
    this.#tell(item, "send", item.file.size);
  }

  async #ask(path, method, body, headers) {
    let answer;
    try {
      answer = await fetch(path, { method, body, headers: { ...headers, "X-CSRF-Token": this.#token() } });
    } catch {
      throw new Away();
    }
    if (answer.ok) return answer;
    if (answer.status >= 500) throw new Away();
    const problem = await answer.clone().json().catch(() => ({}));
    if (answer.status === 409 && Number.isInteger(problem.offset)) return answer;
    throw new Refused(problem.detail ?? String(answer.status), answer.status);
  }
}

async function digest(file) {
  const hash = new Sha256();
  for (let at = 0; at < file.size; at += PIECE) {
    hash.update(new Uint8Array(await file.slice(at, at + PIECE).arrayBuffer()));
  }
  return hash.hex();
}
