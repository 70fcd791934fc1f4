// Scans on this phone that the server has not answered, or has refused, in the order of scanning.
let opened;

const open = () =>
  (opened ??= new Promise((done, fail) => {
    const asked = indexedDB.open("scans", 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore("kept", { keyPath: "place", autoIncrement: true });
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => fail(asked.error);
  }));

const work = async (mode, act) => {
  const store = (await open()).transaction("kept", mode).objectStore("kept");
  const asked = act(store);
  return new Promise((done, fail) => {
    store.transaction.oncomplete = () => done(asked.result);
    store.transaction.onabort = store.transaction.onerror = () => fail(store.transaction.error);
  });
};

/** All of them. */
export const all = () => work("readonly", (store) => store.getAll());
/** Keep one, new or changed. */
export const keep = (scan) => work("readwrite", (store) => store.put(scan));
/** Forget one. */
export const forget = (place) => work("readwrite", (store) => store.delete(place));
