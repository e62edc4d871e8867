// The phone's own store: what was entered and not sent yet, photos, and what the phone knows of the server.
// Runs in pages and in the service worker. Nothing counts as kept before its transaction has completed.
(() => {
  "use strict";
  const crew = (self.crew ??= {});
  const NAME = "ledgerboard-crew";
  let opened = null;

  function open() {
    opened ??= new Promise((resolve, reject) => {
      const asked = indexedDB.open(NAME, 1);
      asked.onupgradeneeded = () => {
        const db = asked.result;
        const acts = db.createObjectStore("acts", { keyPath: "order", autoIncrement: true });
        acts.createIndex("key", "key", { unique: true });
        acts.createIndex("person", "person");
        const photos = db.createObjectStore("photos", { keyPath: "order", autoIncrement: true });
        photos.createIndex("key", "key", { unique: true });
        photos.createIndex("person", "person");
        db.createObjectStore("known", { keyPath: "name" });
      };
      asked.onsuccess = () => {
        const db = asked.result;
        db.onclose = () => (opened = null);
        db.onversionchange = () => db.close();
        resolve(db);
      };
      asked.onerror = () => reject(asked.error);
    });
    opened.catch(() => (opened = null));
    return opened;
  }

  // Resolves with what `work` returned once everything is on the disk, not only in the browser's memory.
  async function write(stores, work) {
    const db = await open();
    return new Promise((resolve, reject) => {
      const change = db.transaction(stores, "readwrite", { durability: "strict" });
      let result;
      change.oncomplete = () => resolve(result instanceof IDBRequest ? result.result : result);
      change.onabort = () => reject(change.error || new Error("abort"));
      change.onerror = () => undefined; // reported by onabort
      result = work(...[].concat(stores).map((name) => change.objectStore(name)));
    });
  }

  async function read(store, work) {
    const db = await open();
    return new Promise((resolve, reject) => {
      const asked = work(db.transaction(store, "readonly").objectStore(store));
      asked.onsuccess = () => resolve(asked.result);
      asked.onerror = () => reject(asked.error);
    });
  }

  const of = (store, person) => read(store, (rows) => (person === undefined ? rows.getAll() : rows.index("person").getAll(person)));
  const one = (store, key) => read(store, (rows) => rows.index("key").get(key));

  // Changes one row by what it is now, in one transaction, so that two tabs do not undo each other.
  function change(store, key, how) {
    return write(store, (rows) => {
      const asked = rows.index("key").get(key);
      asked.onsuccess = () => {
        if (!asked.result) return;
        const now = how(asked.result);
        if (now) rows.put(now);
        else rows.delete(asked.result.order);
      };
    });
  }

  const known = async (name, otherwise = null) => (await read("known", (rows) => rows.get(name)))?.value ?? otherwise;
  const know = (name, value) => write("known", (rows) => void rows.put({ name, value }));

  crew.store = { open, write, read, of, one, change, known, know };
})();
