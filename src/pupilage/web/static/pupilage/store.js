// This device's own database: events not sent yet, events refused, and what the phone knows of the day.

const DATABASE = "pupilage";
const VERSION = 2;

export function settled(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

// A private window may have no database at all: that too is a rejection, never an exception at the start.
export async function open() {
  const request = indexedDB.open(DATABASE, VERSION);
  request.onupgradeneeded = () => {
    const base = request.result;
    const make = (name, options) => base.objectStoreNames.contains(name) || base.createObjectStore(name, options);
    make("unsent", { keyPath: "id" });
    make("refused", { keyPath: "id" });
    make("device");
    make("days"); // by owner: today's plan, steps in words, decision tables
    make("sessions", { keyPath: "id" }); // sessions as they were last known
  };
  const base = await settled(request);
  base.onversionchange = () => base.close(); // an older page must not hold up a newer one
  return base;
}

// Does `work` in one transaction and resolves with what it gave once all of it is on the disk.
export async function written(base, stores, work) {
  const transaction = base.transaction(stores, "readwrite", { durability: "strict" });
  const done = new Promise((resolve, reject) => {
    transaction.oncomplete = resolve;
    transaction.onabort = () => reject(transaction.error);
    transaction.onerror = () => reject(transaction.error);
  });
  done.catch(() => {}); // reported below, once
  const [result] = await Promise.all([work((name) => transaction.objectStore(name)), done]);
  return result;
}
