// Photographs that are not sent yet, kept in the browser's own database, so that a closed page or
// an empty battery loses none. Where that is refused (a private window, a full phone) they stay in
// the page alone, and can be chosen again: the server knows what it has.
const NAME = "asfound";
const STORE = "photographs";

function open() {
  return new Promise((good, bad) => {
    const asked = window.indexedDB.open(NAME, 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore(STORE, { keyPath: "key" });
    asked.onsuccess = () => good(asked.result);
    asked.onerror = () => bad(asked.error);
    asked.onblocked = () => bad(new Error("blocked"));
  });
}

async function run(mode, act) {
  try {
    const base = await open();
    const result = await new Promise((good, bad) => {
      const work = base.transaction(STORE, mode);
      const asked = act(work.objectStore(STORE));
      work.oncomplete = () => good(asked.result);
      work.onabort = () => bad(work.error);
      work.onerror = () => bad(work.error);
    });
    base.close();
    return result;
  } catch {
    return undefined;
  }
}

export const keep = (item) => run("readwrite", (store) => store.put(item));
export const drop = (key) => run("readwrite", (store) => store.delete(key));
export const kept = async () => (await run("readonly", (store) => store.getAll())) ?? [];
